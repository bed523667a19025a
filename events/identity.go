package events

import (
	"time"

	"github.com/google/uuid"
)

const (
	tokenSchema = `^[a-z0-9][a-z0-9-]{0,62}$`
	idSchema    = `^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$`
)

// Valid reports whether the token may be a subject token and a file name.
func (t Token) Valid() bool {
	if len(t) == 0 || len(t) > 63 || t[0] == '-' {
		return false
	}
	for i := 0; i < len(t); i++ {
		c := t[i]
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return true
}

// Valid reports whether the id is a UUID in lower case.
func (id ID) Valid() bool {
	if len(id) != 36 {
		return false
	}
	for i := 0; i < len(id); i++ {
		c := id[i]
		switch i {
		case 8, 13, 18, 23:
			if c != '-' {
				return false
			}
		default:
			if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
				return false
			}
		}
	}
	return true
}

// TimeOrdered reports whether the id is of version 7, whose ids sort by the
// time they were minted. Others are kept, and are a finding.
func (id ID) TimeOrdered() bool { return len(id) == 36 && id[14] == '7' }

// Minted is the time inside a version 7 id, to the millisecond.
func (id ID) Minted() (time.Time, bool) {
	u, err := uuid.Parse(string(id))
	if err != nil || u.Version() != 7 {
		return time.Time{}, false
	}
	var ms int64
	for _, b := range u[:6] {
		ms = ms<<8 | int64(b)
	}
	return time.UnixMilli(ms).UTC(), true
}
