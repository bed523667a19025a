package replay

import (
	"slices"
	"sort"

	"stopledger/events"
)

// Fact is an original event of a chart with what its corrections made of it:
// for whoever corrects further, and must say which revision was looked at.
type Fact struct {
	Event    events.Event // the original, as it was charted
	Body     events.Body  // what stands
	When     events.When
	Voided   bool
	Revision events.ID // the correction that stands, or the event's own id
}

// Facts works out what stands of every original among the events of one chart,
// sorted by id. Corrections that wait for something are passed over; the fold
// reports them.
func Facts(chart []events.Event) []Fact {
	list := slices.Clone(chart)
	sort.SliceStable(list, func(i, j int) bool { return list[i].ID < list[j].ID })
	list = slices.CompactFunc(list, func(a, b events.Event) bool { return a.ID == b.ID })
	standings, _ := settle(list)
	out := make([]Fact, len(standings))
	for i, s := range standings {
		out[i] = Fact{s.event, s.body, s.when, s.voided, s.revision}
	}
	return out
}
