package replay

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"stopledger/events"
)

// skew is how far a device's clock may jump back before it is a finding.
const skew = 2 * time.Minute

// checkPads looks for gaps and repeats in every pad's own count, and for
// clocks that ran backwards.
func (d *draft) checkPads() {
	pads := make(map[events.Token][]*events.Event)
	for _, e := range d.all {
		pads[e.Pad] = append(pads[e.Pad], e)
		if !e.ID.TimeOrdered() {
			d.find(NotTimeOrdered, e.ID, "id %s is not of version 7; corrections of this event may sort oddly", e.ID)
		}
	}
	names := make([]events.Token, 0, len(pads))
	for pad := range pads {
		names = append(names, pad)
	}
	slices.Sort(names)
	for _, pad := range names {
		list := pads[pad]
		sort.Slice(list, func(i, j int) bool { return list[i].N < list[j].N || list[i].N == list[j].N && list[i].ID < list[j].ID })
		d.checkPad(pad, list)
	}
}

func (d *draft) checkPad(pad events.Token, list []*events.Event) {
	last := new(events.Event)
	for _, e := range list {
		switch {
		case e.N == last.N:
			d.find(NumberTwice, e.ID, "pad %s used n %d twice, for %s and %s", pad, e.N, last.ID, e.ID)
		case e.N > last.N+1:
			d.find(NumberGap, e.ID, "pad %s: %s missing before this event", pad, missing(last.N+1, e.N-1))
		}
		if !last.Recorded.IsZero() && !e.Recorded.IsZero() && last.Recorded.Sub(e.Recorded) > skew {
			d.find(ClockSkew, e.ID, "pad %s: the device's clock went back by %s", pad, last.Recorded.Sub(e.Recorded).Round(time.Second))
		}
		last = e
	}
}

func missing(from, to int64) string {
	if from == to {
		return fmt.Sprintf("n %d is", from)
	}
	return fmt.Sprintf("n %d to %d are", from, to)
}

// checkChances looks for sequences that cannot be.
func (d *draft) checkChances() {
	c := d.chart
	for i := range c.Chances {
		ch := &c.Chances[i]
		d.checkMoment(ch)
		if !ch.Ended && (i+1 < len(c.Chances) || c.Closed) {
			d.find(ChanceOpen, ch.ID, "the chance has no end; it is not counted")
		}
		if i > 0 {
			d.checkAgainst(&c.Chances[i-1], ch)
		}
		for _, a := range c.Actions[ch.First : ch.First+ch.Actions] {
			d.checkAction(ch, &a)
		}
	}
}

func (d *draft) checkMoment(ch *Chance) {
	rules := d.chart.Info.Rules
	switch {
	case ch.When.Period == 0:
		d.find(NoPeriod, ch.ID, "the chance has no period, and no earlier event of its pad has one")
	case ch.When.Clock != nil && rules.Periods > 0 && *ch.When.Clock > rules.Length(ch.When.Period):
		d.find(ClockTooLong, ch.ID, "%g seconds left in period %d, which has %g", *ch.When.Clock, ch.When.Period, rules.Length(ch.When.Period))
	}
}

func (d *draft) checkAgainst(before, ch *Chance) {
	c := d.chart
	if before.Offence != ch.Offence || before.When.Period != ch.When.Period {
		return
	}
	over := before.Finish.Clock != nil && ch.When.Clock != nil && *ch.When.Clock > *before.Finish.Clock
	switch {
	case over:
		d.find(ChancesOverlap, ch.ID, "a chance of %s begins at %g while the one before it ends at %g; one of them may be the same chance", ch.Offence, *ch.When.Clock, *before.Finish.Clock)
	case c.BothEnds() && before.Ball == events.Defence && !d.givenBack(before, ch):
		d.find(OffenceTwice, ch.ID, "%s have the ball again, though the chance before it gave it away; a chance may be missing", ch.Offence)
	}
}

// givenBack reports whether shots outside any chance, between the two, left the
// ball with the offence.
func (d *draft) givenBack(before, ch *Chance) bool {
	for _, p := range d.order {
		b, ok := p.body.(*events.PenaltyShots)
		if ok && b.BallAfter == ch.Offence && d.start[before.ID].before(p.place) && p.place.before(d.start[ch.ID]) {
			return true
		}
	}
	return false
}

func (d *draft) checkAction(ch *Chance, a *Action) {
	roster := len(d.teamOf) > 0
	if a.Defender != "" {
		team, known := d.teamOf[a.Defender]
		switch {
		case known && ch.Defence != "" && team != ch.Defence:
			d.find(WrongSide, a.ID, "%s is charted as a defender while his own team has the ball", a.Defender)
		case !known && roster:
			d.find(NotInRoster, a.ID, "defender %s is in no roster of this game", a.Defender)
		case len(ch.OnFloor) == 5 && !slices.Contains(ch.OnFloor, a.Defender):
			d.find(NotOnFloor, a.ID, "%s is charted as a defender and is not in the line-up", a.Defender)
		}
	}
	if a.Opponent != "" {
		team, known := d.teamOf[a.Opponent]
		switch {
		case known && ch.Offence != "" && team != ch.Offence:
			d.find(WrongSide, a.ID, "%s is charted as an opponent while his own team defends", a.Opponent)
		case !known && roster:
			d.find(NotInRoster, a.ID, "opponent %s is in no roster of this game", a.Opponent)
		}
	}
}
