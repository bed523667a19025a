package replay

import (
	"fmt"
	"math"
	"sort"

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

func (p place) before(q place) bool {
	switch {
	case p.period != q.period:
		return p.period < q.period
	case p.clock != q.clock:
		return p.clock > q.clock
	case p.pad != q.pad:
		return p.pad < q.pad
	case p.n != q.n:
		return p.n < q.n
	}
	return p.id < q.id
}

// placed is a standing fact with its place.
type placed struct {
	standing
	place
}

// inOrder sorts what stands into the order of play and drops what is voided.
// An event without a clock takes that of its pad's previous one; an event with
// "after" stands right behind the one it names.
func inOrder(list []standing, all []events.Event, rules events.Rules) ([]placed, []Finding) {
	clocks := clocksOf(list, all, rules)
	var row []placed
	behind := make(map[events.ID][]placed)
	here := make(map[events.ID]bool, len(list))
	for _, s := range list {
		here[s.event.ID] = true
	}
	var findings []Finding
	for _, s := range list {
		p := placed{s, clocks[s.event.ID]}
		after := s.event.After
		switch {
		case after == "":
			row = append(row, p)
		case !here[after]:
			findings = append(findings, found(AfterUnknown, s.event.ID, fmt.Sprintf("event %s stands behind %s, which is not here; its own clock places it", s.event.ID, after)))
			row = append(row, p)
		default:
			behind[after] = append(behind[after], p)
		}
	}
	return weave(row, behind, len(list)), findings
}

// weave puts the events that follow another right behind it. A circle of
// followers, which nothing leads into, is placed by its clocks.
func weave(row []placed, behind map[events.ID][]placed, size int) []placed {
	byPlace := func(list []placed) {
		sort.Slice(list, func(i, j int) bool { return list[i].place.before(list[j].place) })
	}
	byPlace(row)
	out := make([]placed, 0, size)
	var put func(p placed)
	put = func(p placed) {
		if !p.voided {
			out = append(out, p)
		}
		followers := behind[p.event.ID]
		delete(behind, p.event.ID)
		byPlace(followers)
		for _, f := range followers {
			f.place.period, f.place.clock = p.place.period, p.place.clock
			put(f)
		}
	}
	for _, p := range row {
		put(p)
	}
	if len(behind) > 0 {
		var circle []placed
		for _, list := range behind {
			circle = append(circle, list...)
		}
		byPlace(circle)
		for _, p := range circle {
			if !p.voided {
				out = append(out, p)
			}
		}
		byPlace(out)
	}
	return out
}

// clocksOf gives every event a period and a clock, pad by pad.
func clocksOf(list []standing, all []events.Event, rules events.Rules) map[events.ID]place {
	when := make(map[events.ID]events.When, len(list))
	for _, s := range list {
		when[s.event.ID] = s.when
	}
	type step struct {
		n  int64
		id events.ID
		w  events.When
	}
	pads := make(map[events.Token][]step)
	for _, e := range all {
		w, ok := when[e.ID]
		if !ok {
			w = e.When
		}
		pads[e.Pad] = append(pads[e.Pad], step{e.N, e.ID, w})
	}
	places := make(map[events.ID]place, len(all))
	for pad, steps := range pads {
		sort.Slice(steps, func(i, j int) bool {
			if steps[i].n != steps[j].n {
				return steps[i].n < steps[j].n
			}
			return steps[i].id < steps[j].id
		})
		period, clock := 0, math.Inf(1)
		for _, s := range steps {
			switch {
			case s.w.Period > 0 && s.w.Clock != nil:
				period, clock = s.w.Period, *s.w.Clock
			case s.w.Period > 0 && s.w.Period != period:
				period, clock = s.w.Period, rules.Length(s.w.Period)
			case s.w.Period == 0 && s.w.Clock != nil:
				clock = *s.w.Clock
			}
			places[s.id] = place{period, clock, pad, s.n, s.id}
		}
	}
	return places
}
