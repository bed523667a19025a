package access

import (
	"fmt"
	"slices"
	"strings"
)

// Role is what somebody may do; each may do what those before it may.
type Role int

// A coach reads; a charter also charts; an analyst also changes definitions and
// says which chart is of record; an owner also lets people in.
const (
	Nobody Role = iota
	Coach
	Charter
	Analyst
	Owner
)

var roleNames = []string{"nobody", "coach", "charter", "analyst", "owner"}

// Roles lists the roles that can be granted.
func Roles() []string { return slices.Clone(roleNames[1:]) }

func (r Role) String() string {
	if r < 0 || int(r) >= len(roleNames) {
		return "nobody"
	}
	return roleNames[r]
}

// ParseRole reads a role that can be granted.
func ParseRole(name string) (Role, error) {
	if i := slices.Index(roleNames, name); i > 0 {
		return Role(i), nil
	}
	return Nobody, fmt.Errorf("role %q: want one of %s", name, strings.Join(Roles(), ", "))
}

// MarshalText writes the role's name.
func (r Role) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads it. A role that this program does not know is nobody's:
// a newer program's pass must not open more here than it means.
func (r *Role) UnmarshalText(text []byte) error {
	*r = Role(max(0, slices.Index(roleNames, string(text))))
	return nil
}
