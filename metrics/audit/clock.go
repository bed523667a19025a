package audit

import (
	"fmt"

	"stopledger/events"
	"stopledger/replay"
)

// gap is a stretch of game clock that no chance covers.
type gap struct {
	place     Place // where it begins
	high, low float64
}

func (g gap) seconds() float64 { return g.high - g.low }

// periods is how many periods the game had, as far as it was charted.
func (r *review) periods() int {
	last := 0
	for _, c := range r.game.Charts {
		for i := range c.Chances {
			last = max(last, c.Chances[i].When.Period)
		}
	}
	if r.chart.Closed {
		last = max(last, r.chart.Info.Rules.Periods)
	}
	return last
}

// reached is the last period this chart has come to.
func (r *review) reached() int {
	last := 0
	for i := range r.chart.Chances {
		last = max(last, r.chart.Chances[i].When.Period)
	}
	if r.chart.Closed {
		last = max(last, r.periods())
	}
	return last
}

// over reports whether nothing more of a period is expected.
func (r *review) over(period int) bool { return r.chart.Closed || period < r.reached() }

// inPeriod lists the chances in scope of a period, in the order of play.
func (r *review) inPeriod(period int) []*replay.Chance {
	var out []*replay.Chance
	for i := range r.chart.Chances {
		if ch := &r.chart.Chances[i]; ch.When.Period == period && r.scope.holds(ch) {
			out = append(out, ch)
		}
	}
	return out
}

func (r *review) checkPeriods() {
	for p := 1; p <= r.reached(); p++ {
		_, _, asked := r.scope.period(p, r.chart.Info.Rules.Length(p))
		// A prospect may sit out a whole period.
		if asked && r.scope.focus == "" && r.over(p) && len(r.inPeriod(p)) == 0 {
			r.find(PeriodEmpty, Place{Period: p}, "nothing is charted in period %d", p)
		}
	}
	for i := range r.chart.Chances {
		ch := &r.chart.Chances[i]
		if !r.scope.holds(ch) {
			r.find(OutsideScope, placeAt(ch.When, ch.ID, ch.ID), "a chance of %s; the chart set out to hold %s", ch.Offence, r.scope)
		}
	}
	score, last := r.chart.Now.Score, r.reached()
	home, away := r.chart.Info.Home.ID, r.chart.Info.Away.ID
	if r.chart.Closed && r.scope.whole() && len(r.chart.Chances) > 0 && score[home] == score[away] {
		r.find(EndedLevel, Place{Period: last}, "the game is closed at %d-%d after period %d", score[home], score[away], last)
	}
}

// checkClock looks for time that no chance covers and for chances at once. Of a
// one-player chart it asks no cover: he may sit on the bench.
func (r *review) checkClock() {
	for p := 1; p <= r.reached(); p++ {
		list := r.inPeriod(p)
		for i, ch := range list {
			r.checkLength(ch)
			if i > 0 {
				r.checkAtOnce(list[i-1], ch)
			}
		}
		if r.scope.focus == "" && len(list) > 0 {
			r.findGaps(p, list)
		}
	}
	for _, g := range r.gaps {
		r.find(ClockUncovered, g.place, "no chance covers the clock from %s to %s", clockText(g.high), clockText(g.low))
	}
}

func (r *review) checkLength(ch *replay.Chance) {
	if ch.When.Clock == nil || ch.Finish.Clock == nil {
		return
	}
	at := placeAt(ch.When, ch.ID, ch.ID)
	switch took := *ch.When.Clock - *ch.Finish.Clock; {
	case ch.Finish.Period != ch.When.Period:
		r.find(ChanceBackwards, at, "begins in period %d and ends in period %d", ch.When.Period, ch.Finish.Period)
	case took < 0:
		r.find(ChanceBackwards, at, "begins at %s and ends at %s", clockText(*ch.When.Clock), clockText(*ch.Finish.Clock))
	case took > r.limits.Long:
		r.find(ChanceLong, at, "lasts %.0f seconds", took)
	}
}

// checkAtOnce compares neighbours of different offences; the fold has done so
// for those of one.
func (r *review) checkAtOnce(before, ch *replay.Chance) {
	if before.Offence == ch.Offence || before.Finish.Clock == nil || ch.When.Clock == nil {
		return
	}
	if over := *ch.When.Clock - *before.Finish.Clock; over > r.limits.Overlap {
		r.find(ChancesAtOnce, placeAt(ch.When, ch.ID, ch.ID), "%s begin at %s while the chance of %s runs until %s",
			ch.Offence, clockText(*ch.When.Clock), before.Offence, clockText(*before.Finish.Clock))
	}
}

func (r *review) findGaps(period int, list []*replay.Chance) {
	limit := r.limits.Gap
	if !r.scope.both() {
		limit = r.limits.GapOneEnd
	}
	high, low, _ := r.scope.period(period, r.chart.Info.Rules.Length(period))
	known := r.chart.Info.Rules.Periods > 0
	add := func(high, low float64, ch *replay.Chance) {
		if high-low > limit {
			r.gaps = append(r.gaps, gap{Place{Period: period, Clock: &high, Chance: ch.ID, Event: ch.ID}, high, low})
		}
	}
	if first := list[0]; known && first.When.Clock != nil {
		add(high, *first.When.Clock, first)
	}
	for i := 1; i < len(list); i++ {
		if end := ended(list[i-1]); end != nil && list[i].When.Clock != nil {
			add(*end, *list[i].When.Clock, list[i])
		}
	}
	if end := ended(list[len(list)-1]); known && end != nil && r.over(period) {
		add(*end, low, list[len(list)-1])
	}
}

// ended is the clock a chance ended at, or nil.
func ended(ch *replay.Chance) *float64 {
	if !ch.Ended || ch.Finish.Period != ch.When.Period {
		return nil
	}
	return ch.Finish.Clock
}

// heldBy says what a chance was, in a few words: "made-2 by hbr-3".
func heldBy(ch *replay.Chance) string {
	text := string(ch.End)
	switch {
	case !ch.Ended:
		return "open"
	case ch.End == events.TurnoverEnd && ch.Turnover != "":
		text += " (" + string(ch.Turnover) + ")"
	case ch.End == events.FreeThrowEnd:
		text = fmt.Sprintf("%d of %d free throws", ch.Made, ch.Attempted)
	case ch.Attempted > 0:
		text += freeThrows(ch.Made, ch.Attempted)
	}
	if ch.Shooter != "" {
		text += " by " + string(ch.Shooter)
	}
	return text
}
