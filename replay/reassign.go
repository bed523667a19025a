package replay

import (
	"maps"
	"slices"

	"stopledger/events"
)

// reassign returns a copy of a body in which one player stands for another.
func reassign(body events.Body, from, to events.Token) (events.Body, bool) {
	changed := false
	swap := func(at *events.Token) {
		if *at == from {
			*at, changed = to, true
		}
	}
	switch b := body.(type) {
	case *events.Action:
		a := *b
		swap(&a.Defender)
		swap(&a.Opponent)
		a.Details = reassignDetails(a.Kind, a.Details, from, to, &changed)
		return &a, changed
	case *events.ChanceEnded:
		c := *b
		for _, at := range []*events.Token{&c.Shooter, &c.LostBy, &c.BlockedBy, &c.StealBy, &c.ReboundBy} {
			swap(at)
		}
		return &c, changed
	case *events.ShotsTaken:
		s := *b
		swap(&s.Shooter)
		swap(&s.ReboundBy)
		return &s, changed
	case *events.PenaltyShots:
		p := *b
		swap(&p.Shooter)
		return &p, changed
	case *events.Substituted:
		s := *b
		swap(&s.In)
		swap(&s.Out)
		return &s, changed
	case *events.LineupSet:
		l := *b
		l.Players = slices.Clone(l.Players)
		for i := range l.Players {
			swap(&l.Players[i])
		}
		return &l, changed
	}
	return body, false
}

func reassignDetails(kind events.Kind, d events.Details, from, to events.Token, changed *bool) events.Details {
	for name, values := range d {
		row, ok := events.Detail(kind, name)
		if !ok || row.Holds != events.HoldsPlayer || !slices.Contains(values, string(from)) {
			continue
		}
		d = maps.Clone(d)
		values = slices.Clone(values)
		for i := range values {
			if values[i] == string(from) {
				values[i] = string(to)
			}
		}
		d[name] = values
		*changed = true
	}
	return d
}
