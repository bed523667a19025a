package definition

import (
	"fmt"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// A dimension is what a table is grouped by: one field, or the two that make a
// scheme. Fields may be named as expressions name them, or by the short words
// below.
type dimension struct {
	name   string
	fields []*fieldRef
}

// Dimensions lists the short words that groups may be made by, beside every
// field's own name.
var Dimensions = []struct {
	Name   string
	Fields []string
}{
	{"defender", []string{"defender.id"}},
	{"opponent", []string{"opponent.id"}},
	{"kind", []string{"action.kind"}},
	{"outcome", []string{"action.outcome"}},
	{"reading", []string{"action.reading"}},
	{"came_by", []string{"action.came_by"}},
	{"role", []string{"opponent.role"}}, // the role he faced
	{"own_role", []string{"defender.role"}},
	{"team", []string{"defender.team"}},
	{"scheme", []string{"chance.base", "chance.principle"}},
	{"game", []string{"game.id"}},
	{"competition", []string{"game.competition"}},
}

// dimensionsOf finds the dimensions a table is asked for.
func dimensionsOf(by []string) ([]dimension, error) {
	list := make([]dimension, len(by))
	for i, name := range by {
		d, err := dimensionOf(name)
		if err != nil {
			return nil, err
		}
		for k := range i {
			if list[k].name == name {
				return nil, fmt.Errorf("group by %s stands twice", name)
			}
		}
		list[i] = d
	}
	return list, nil
}

func dimensionOf(name string) (dimension, error) {
	var names []string
	for _, d := range Dimensions {
		if d.Name == name {
			fields := make([]*fieldRef, len(d.Fields))
			for i, f := range d.Fields {
				fields[i] = fieldsByName[f]
			}
			return dimension{name, fields}, nil
		}
		names = append(names, d.Name)
	}
	f, ok := fieldsByName[name]
	switch {
	case ok && f.field.Shape == replay.Real:
		return dimension{}, fmt.Errorf("cannot group by %s: it is a measured number", name)
	case ok && f.name == decidedField:
		return dimension{}, fmt.Errorf("cannot group by %s: it is the definition's own", name)
	case ok:
		return dimension{name, []*fieldRef{f}}, nil
	}
	for _, f := range fieldRefs {
		names = append(names, f.name)
	}
	if near := events.Nearest(name, names); near != "" {
		return dimension{}, fmt.Errorf("cannot group by %q; did you mean %q?", name, near)
	}
	return dimension{}, fmt.Errorf("cannot group by %q; use %s, or a field such as chance.tempo", name, strings.Join(names[:len(Dimensions)], ", "))
}
