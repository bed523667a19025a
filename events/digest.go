package events

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"iter"
	"sort"
)

// Sum is the SHA-256 of an event's stored bytes.
type Sum [sha256.Size]byte

// Sum returns the SHA-256 of the stored bytes.
func (e *Event) Sum() Sum { return sha256.Sum256(e.Raw) }

// Digest is the identity of a set of events: the SHA-256 over its (id, sum)
// pairs, in hexadecimal. The pairs come sorted by id, each once, so that it
// does not depend on the order of arrival, nor on how often an event arrived.
func Digest(sorted iter.Seq2[ID, Sum]) string {
	h := sha256.New()
	for id, sum := range sorted {
		io.WriteString(h, string(id))
		h.Write(sum[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Digests combines the digests of several games, given by game id, into one
// for the whole ledger.
func Digests(games map[Token]string) string {
	ids := make([]string, 0, len(games))
	for id := range games {
		ids = append(ids, string(id))
	}
	sort.Strings(ids)
	h := sha256.New()
	for _, id := range ids {
		h.Write([]byte(id + " " + games[Token(id)] + "\n"))
	}
	return hex.EncodeToString(h.Sum(nil))
}
