package replay

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"

	"stopledger/events"
)

// A segment is one game's columns as bytes, for a cache beside the ledger:
//
//	"stopcols"            8 bytes
//	checksum              CRC-32C of everything behind it, 4 bytes little-endian
//	versions              uvarint vocabulary, uvarint fold
//	stamp                 a string: which stored events were folded
//	ids, digests, links   strings and number lists, see encode
//	four tables           rows, then each column: dictionary and values
//
// Strings and lists are a uvarint length and their content. A segment that
// does not fit is no error worth telling: the game is folded again.

// ErrNoSegment is returned for bytes that are no segment of this version.
var ErrNoSegment = errors.New("no segment of this version")

const segmentMagic = "stopcols"

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// EncodeSegment writes a game's columns. The stamp says from which stored
// events [GameColumns] made them; it means nothing here.
func EncodeSegment(c *Columns, stamp string) []byte {
	w := &segmentWriter{}
	w.uint(events.VocabularyVersion)
	w.uint(Version)
	w.string(stamp)
	w.strings(asStrings(c.GameIDs))
	w.strings(c.Digests)
	w.strings(asStrings(c.ChanceIDs))
	w.strings(asStrings(c.ActionIDs))
	for _, links := range [][]uint32{c.ChanceGame, c.ActionChance, c.ActionDefender, c.ActionOpponent} {
		w.links(links)
	}
	for _, t := range c.tables() {
		w.table(t)
	}
	out := make([]byte, 0, w.Len()+12)
	out = append(out, segmentMagic...)
	out = binary.LittleEndian.AppendUint32(out, crc32.Checksum(w.Bytes(), castagnoli))
	return append(out, w.Bytes()...)
}

// DecodeSegment reads a game's columns and their stamp.
func DecodeSegment(text []byte) (*Columns, string, error) {
	if len(text) < 12 || string(text[:8]) != segmentMagic ||
		binary.LittleEndian.Uint32(text[8:]) != crc32.Checksum(text[12:], castagnoli) {
		return nil, "", ErrNoSegment
	}
	r := &segmentReader{rest: text[12:]}
	if r.uint() != events.VocabularyVersion || r.uint() != Version {
		return nil, "", ErrNoSegment
	}
	stamp := string(r.take(r.count()))
	c := &Columns{Games: newTable(OfGame), Chances: newTable(OfChance), Actions: newTable(OfAction), Players: newTable(OfPlayer)}
	c.GameIDs = fromStrings[events.Token](r.strings())
	c.Digests = r.strings()
	c.ChanceIDs = fromStrings[events.ID](r.strings())
	c.ActionIDs = fromStrings[events.ID](r.strings())
	for _, links := range []*[]uint32{&c.ChanceGame, &c.ActionChance, &c.ActionDefender, &c.ActionOpponent} {
		*links = r.links()
	}
	for _, t := range c.tables() {
		r.table(t)
	}
	if r.err != nil || len(r.rest) > 0 {
		return nil, "", fmt.Errorf("%w: %w", ErrNoSegment, cmp.Or(r.err, errTooLong))
	}
	return c, stamp, nil
}

func (c *Columns) tables() []*Table { return []*Table{&c.Games, &c.Chances, &c.Actions, &c.Players} }

func asStrings[S ~string](list []S) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = string(s)
	}
	return out
}

func fromStrings[S ~string](list []string) []S {
	out := make([]S, len(list))
	for i, s := range list {
		out[i] = S(s)
	}
	return out
}

type segmentWriter struct{ bytes.Buffer }

func (w *segmentWriter) uint(n int) {
	w.Write(binary.AppendUvarint(nil, uint64(n)))
}

func (w *segmentWriter) string(s string) {
	w.uint(len(s))
	w.WriteString(s)
}

func (w *segmentWriter) strings(list []string) {
	w.uint(len(list))
	for _, s := range list {
		w.string(s)
	}
}

func (w *segmentWriter) links(list []uint32) {
	w.uint(len(list))
	for _, n := range list {
		w.uint(int(n))
	}
}

func (w *segmentWriter) table(t *Table) {
	w.uint(t.Rows)
	for _, c := range t.Columns {
		switch c.Field.Shape {
		case Real:
			w.uint(len(c.Reals))
			for _, v := range c.Reals {
				w.Write(binary.LittleEndian.AppendUint32(nil, math.Float32bits(v)))
			}
			continue
		case Number, Truth:
			w.uint(len(c.Numbers) - 1)
			for _, v := range c.Numbers[1:] {
				w.Write(binary.LittleEndian.AppendUint64(nil, math.Float64bits(v)))
			}
		case Words:
			w.uint(len(c.Lists) - 1)
			for _, list := range c.Lists[1:] {
				w.strings(list)
			}
		default:
			w.strings(c.Words[1:])
		}
		w.uint(c.Codes.Len())
		for i := range c.Codes.Len() {
			w.uint(int(c.Codes.At(i)))
		}
	}
}

type segmentReader struct {
	rest []byte
	err  error
}

var (
	errShort   = errors.New("it ends too early")
	errTooLong = errors.New("it goes on behind its end")
)

func (r *segmentReader) uint() int {
	n, size := binary.Uvarint(r.rest)
	if size <= 0 || n > math.MaxInt32 {
		r.err = errShort
		return 0
	}
	r.rest = r.rest[size:]
	return int(n)
}

// count reads a length that cannot be larger than what is left to read.
func (r *segmentReader) count() int {
	n := r.uint()
	if n > len(r.rest) {
		r.err = errShort
		return 0
	}
	return n
}

func (r *segmentReader) take(n int) []byte {
	if n > len(r.rest) {
		r.err = errShort
		return make([]byte, n)
	}
	out := r.rest[:n]
	r.rest = r.rest[n:]
	return out
}

func (r *segmentReader) strings() []string {
	list := make([]string, r.count())
	for i := range list {
		list[i] = string(r.take(r.count()))
	}
	return list
}

func (r *segmentReader) links() []uint32 {
	list := make([]uint32, r.count())
	for i := range list {
		list[i] = uint32(r.uint())
	}
	return list
}

func (r *segmentReader) table(t *Table) {
	t.Rows = r.uint()
	for _, c := range t.Columns {
		switch c.Field.Shape {
		case Real:
			for range r.count() {
				c.Reals = append(c.Reals, math.Float32frombits(binary.LittleEndian.Uint32(r.take(4))))
			}
			c.built()
			continue
		case Number, Truth:
			for range r.count() {
				c.Numbers = append(c.Numbers, math.Float64frombits(binary.LittleEndian.Uint64(r.take(8))))
			}
		case Words:
			for range r.count() {
				c.listCode(r.strings())
			}
		default:
			c.Words = append(c.Words, r.strings()...)
		}
		for range r.count() {
			code := r.uint()
			if code >= c.Cardinality() {
				r.err = errors.New("a code without a word")
				code = 0
			}
			c.Codes.append(code)
		}
		c.built()
		if n := c.Codes.Len(); n != 0 && n != t.Rows {
			r.err = errors.New("a column of another length")
		}
		if r.err != nil {
			return
		}
	}
}
