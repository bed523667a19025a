package access

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"stopledger/events"
)

// Pass is what somebody was granted.
type Pass struct {
	ID      string         `json:"id"`
	Role    Role           `json:"role"`
	Who     string         `json:"who"`             // the name in the trail
	Games   []events.Token `json:"games,omitempty"` // none: every game
	Devices int            `json:"devices"`         // how many its link opens
	Key     string         `json:"key_sha256"`
	Opened  []Device       `json:"opened,omitempty"`
	Granted time.Time      `json:"granted"`
	By      string         `json:"by"`
	Expires time.Time      `json:"expires"`
	Revoked time.Time      `json:"revoked,omitzero"`
}

// Device is one browser that was let in.
type Device struct {
	Token string    `json:"token_sha256"`
	Since time.Time `json:"since"`
}

// Live reports whether the pass opens anything now.
func (p *Pass) Live(now time.Time) bool {
	return p.Role > Nobody && p.Revoked.IsZero() && now.Before(p.Expires)
}

// Sees reports whether a game is within the pass.
func (p *Pass) Sees(game events.Token) bool {
	return len(p.Games) == 0 || slices.Contains(p.Games, game)
}

// State says for a person how the pass stands.
func (p *Pass) State(now time.Time) string {
	switch {
	case !p.Revoked.IsZero():
		return "revoked"
	case !now.Before(p.Expires):
		return "expired"
	case len(p.Opened) == 0:
		return "not opened yet"
	case len(p.Opened) < p.Devices:
		return "open, link not spent"
	}
	return "open"
}

func (p *Pass) opened(secret string) bool {
	sum := hash(secret)
	return slices.ContainsFunc(p.Opened, func(d Device) bool { return same(d.Token, sum) })
}

// Keys and tokens are "<id of the pass>.<secret>": the id finds the pass
// without a search, the secret proves it.
const secretBytes = 32

func newSecret() string {
	b := make([]byte, secretBytes)
	rand.Read(b) // never fails: crypto/rand ends the program rather
	return base64.RawURLEncoding.EncodeToString(b)
}

func newID() string {
	b := make([]byte, 4)
	rand.Read(b)
	return hex.EncodeToString(b)
}

func split(token string) (id, secret string, ok bool) {
	id, secret, ok = strings.Cut(token, ".")
	return id, secret, ok && validID(id) && len(secret) == base64.RawURLEncoding.EncodedLen(secretBytes)
}

func validID(id string) bool {
	_, err := hex.DecodeString(id)
	return len(id) == 8 && err == nil
}

func hash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
