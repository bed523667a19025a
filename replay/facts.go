package replay

import (
	"slices"
	"strings"

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
	list := make([]*events.Event, len(chart))
	for i := range chart {
		list[i] = &chart[i]
	}
	slices.SortStableFunc(list, func(a, b *events.Event) int { return strings.Compare(string(a.ID), string(b.ID)) })
	list = slices.CompactFunc(list, func(a, b *events.Event) bool { return a.ID == b.ID })
	standings, _ := settle(list)
	out := make([]Fact, len(standings))
	for i, s := range standings {
		out[i] = Fact{*s.event, s.body, s.when, s.voided, s.revision}
	}
	return out
}
