package replay

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"stopledger/events"
)

// place is where an event stands in the order of play.
type place struct {
	period int
	clock  float64 // seconds left
	pad    events.Token
	n      int64
	id     events.ID
}

func (p *place) compare(q *place) int {
	switch {
	case p.period != q.period:
		return cmp.Compare(p.period, q.period)
	case p.clock != q.clock:
		return cmp.Compare(q.clock, p.clock)
	case p.pad != q.pad:
		return strings.Compare(string(p.pad), string(q.pad))
	case p.n != q.n:
		return cmp.Compare(p.n, q.n)
	}
	return strings.Compare(string(p.id), string(q.id))
}

func (p place) before(q place) bool { return p.compare(&q) < 0 }

// placed is a standing fact with its place.
type placed struct {
	standing
	place
}

// inOrder sorts what stands into the order of play and drops what is voided.
// An event without a clock takes that of its pad's previous one; an event with
// "after" stands right behind the one it names.
func inOrder(list []standing, all []*events.Event, rules events.Rules) ([]*placed, []Finding) {
	places := placesOf(list, all, rules)
	row := make([]*placed, len(list))
	backing := make([]placed, len(list))
	following := false
	for i, s := range list {
		backing[i] = placed{s, places[s.at]}
		row[i] = &backing[i]
		following = following || s.event.After != ""
	}
	if following {
		return weave(row)
	}
	sortPlaced(row)
	return slices.DeleteFunc(row, func(p *placed) bool { return p.voided }), nil
}

func sortPlaced(list []*placed) {
	slices.SortFunc(list, func(a, b *placed) int { return a.place.compare(&b.place) })
}

// weave puts the events that follow another right behind it, and the rest into
// the order of their clocks. An event whose leader is not here, or that runs
// in a circle of followers, is placed by its own clock.
func weave(list []*placed) ([]*placed, []Finding) {
	byID := make(map[events.ID]*placed, len(list))
	for _, p := range list {
		byID[p.event.ID] = p
	}
	var row []*placed
	var findings []Finding
	behind := make(map[events.ID][]*placed)
	for _, p := range list {
		after := p.event.After
		switch {
		case after == "" || circles(p, byID):
			row = append(row, p)
		case byID[after] == nil:
			findings = append(findings, found(AfterUnknown, p.event.ID, fmt.Sprintf("event %s stands behind %s, which is not here; its own clock places it", p.event.ID, after)))
			row = append(row, p)
		default:
			behind[after] = append(behind[after], p)
		}
	}
	out := make([]*placed, 0, len(list))
	var put func(p *placed)
	put = func(p *placed) {
		if !p.voided {
			out = append(out, p)
		}
		followers := behind[p.event.ID]
		sortPlaced(followers)
		for _, f := range followers {
			f.place.period, f.place.clock = p.place.period, p.place.clock
			put(f)
		}
	}
	sortPlaced(row)
	for _, p := range row {
		put(p)
	}
	return out, findings
}

// circles reports whether following an event's leaders comes back to it or
// never ends.
func circles(p *placed, byID map[events.ID]*placed) bool {
	at := p
	for range len(byID) {
		at = byID[at.event.After]
		if at == nil || at.event.After == "" {
			return false
		}
	}
	return true
}

// placesOf gives every event of a chart a period and a clock, pad by pad, and
// returns them in the order of the events.
func placesOf(list []standing, all []*events.Event, rules events.Rules) []place {
	when := make([]events.When, len(all))
	for i, e := range all {
		when[i] = e.When
	}
	for _, s := range list {
		when[s.at] = s.when
	}
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		a, b := all[i], all[j]
		return cmp.Or(strings.Compare(string(a.Pad), string(b.Pad)), cmp.Compare(a.N, b.N), cmp.Compare(i, j))
	})
	places := make([]place, len(all))
	pad, period, clock := events.Token(""), 0, math.Inf(1)
	for _, i := range order {
		e, w := all[i], when[i]
		if e.Pad != pad {
			pad, period, clock = e.Pad, 0, math.Inf(1)
		}
		switch {
		case w.Period > 0 && w.Clock != nil:
			period, clock = w.Period, *w.Clock
		case w.Period > 0 && w.Period != period:
			period, clock = w.Period, rules.Length(w.Period)
		case w.Period == 0 && w.Clock != nil:
			clock = *w.Clock
		}
		places[i] = place{period, clock, pad, e.N, e.ID}
	}
	return places
}
