package audit

import (
	"cmp"
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// lines is the two teams' ten lines, home first: what a correction changes.
type lines [20]int16

func (l lines) plus(m lines) lines {
	for i := range l {
		l[i] += m[i]
	}
	return l
}

func (l lines) minus(m lines) lines {
	for i := range l {
		l[i] -= m[i]
	}
	return l
}

// tally is the part of a chance that a box score counts.
type tally struct {
	end       events.End // "" for a chance that is not there
	made      int
	attempted int
	rebound   events.Side
	team      bool // the rebound is the team's
}

func tallyOf(ch *replay.Chance) tally {
	if !ch.Ended {
		return tally{}
	}
	return tally{ch.End, ch.Made, ch.Attempted, ch.Rebound, ch.TeamBoard}
}

// lines counts a tally for an offence: side 0 is the home team.
func (t tally) lines(rules events.Rules, offence int) (out lines) {
	mine, theirs := out[offence*10:offence*10+10], out[(1-offence)*10:(1-offence)*10+10]
	if t.end == "" {
		return out
	}
	mine[0] = int16(rules.Points(t.end, t.made))
	if t.end.Shot() {
		mine[1] = 1
		if !t.end.Missed() {
			mine[2] = 1
		}
		if t.end.Three() {
			mine[3], mine[4] = 1, mine[2]
		}
	}
	mine[5], mine[6] = int16(t.attempted), int16(t.made)
	if !t.team {
		switch t.rebound {
		case events.Offence:
			mine[7] = 1
		case events.Defence:
			theirs[8] = 1
		}
	}
	if t.end == events.TurnoverEnd {
		mine[9] = 1
	}
	return out
}

// slip is one way to have charted a chance wrongly, seen from what was charted:
// how to put it right, and how unlikely it is. The costs are judgements: what a
// charter in a hurry gets wrong, from common practice, no source.
type slip struct {
	text  string
	right func(t tally) (tally, bool)
	cost  float64
}

func swapEnd(from, to events.End) func(tally) (tally, bool) {
	return func(t tally) (tally, bool) {
		ok := t.end == from
		t.end = to
		return t, ok
	}
}

// reboundTo changes who got the rebound of a miss.
func reboundTo(from, to events.Side, wasTeam, isTeam bool) func(tally) (tally, bool) {
	return func(t tally) (tally, bool) {
		ok := t.rebound == from && t.team == wasTeam && (t.end.Missed() || t.made < t.attempted)
		t.rebound, t.team = to, isTeam
		return t, ok
	}
}

func shots(made, attempted int) func(tally) (tally, bool) {
	return func(t tally) (tally, bool) {
		ok := t.attempted > 0 || t.end == events.FreeThrowEnd || t.end == events.Made2 && attempted == 1 || t.end == events.Made3 && attempted == 1
		t.made, t.attempted = t.made+made, t.attempted+attempted
		return t, ok && t.made >= 0 && t.made <= t.attempted && t.attempted <= 3
	}
}

// missing turns a made shot into a miss with its rebound.
func toMiss(from, to events.End, rebound events.Side, team bool) func(tally) (tally, bool) {
	return func(t tally) (tally, bool) {
		ok := t.end == from && t.attempted == 0
		return tally{end: to, rebound: rebound, team: team}, ok
	}
}

func toMade(from, to events.End) func(tally) (tally, bool) {
	return func(t tally) (tally, bool) { return tally{end: to}, t.end == from }
}

var slips = []slip{
	{"made three charted as two", swapEnd(events.Made2, events.Made3), 1},
	{"made two charted as three", swapEnd(events.Made3, events.Made2), 1},
	{"missed three charted as two", swapEnd(events.Missed2, events.Missed3), 1},
	{"missed two charted as three", swapEnd(events.Missed3, events.Missed2), 1},
	{"made free throw charted as missed", shots(1, 0), 1.2},
	{"missed free throw charted as made", shots(-1, 0), 1.2},
	{"made free throw not charted", shots(1, 1), 1},
	{"missed free throw not charted", shots(0, 1), 1},
	{"made free throw too many", shots(-1, -1), 1.5},
	{"missed free throw too many", shots(0, -1), 1.5},
	{"defensive rebound charted as the team's", reboundTo(events.Defence, events.Defence, true, false), 1},
	{"team's rebound charted as a defensive rebound", reboundTo(events.Defence, events.Defence, false, true), 1},
	{"offensive rebound charted as the team's", reboundTo(events.Offence, events.Offence, true, false), 1},
	{"team's rebound charted as an offensive rebound", reboundTo(events.Offence, events.Offence, false, true), 1},
	{"offensive rebound charted as defensive", reboundTo(events.Defence, events.Offence, false, false), 1.6},
	{"defensive rebound charted as offensive", reboundTo(events.Offence, events.Defence, false, false), 1.6},
	{"defensive rebound not charted", reboundTo("", events.Defence, false, false), 1},
	{"offensive rebound not charted", reboundTo("", events.Offence, false, false), 1},
	{"defensive rebound charted as a dead ball", reboundTo(events.Dead, events.Defence, false, false), 1},
	{"offensive rebound charted as a dead ball", reboundTo(events.Dead, events.Offence, false, false), 1},
	{"made two charted as a miss", toMade(events.Missed2, events.Made2), 2.2},
	{"made three charted as a miss", toMade(events.Missed3, events.Made3), 2.2},
	{"missed two with a defensive rebound charted as made", toMiss(events.Made2, events.Missed2, events.Defence, false), 2.2},
	{"missed three with a defensive rebound charted as made", toMiss(events.Made3, events.Missed3, events.Defence, false), 2.2},
	{"missed two with an offensive rebound charted as made", toMiss(events.Made2, events.Missed2, events.Offence, false), 2.6},
	{"missed three with an offensive rebound charted as made", toMiss(events.Made3, events.Missed3, events.Offence, false), 2.6},
	{"turnover charted as a jump ball", swapEnd(events.JumpBallEnd, events.TurnoverEnd), 1.3},
	{"jump ball charted as a turnover", swapEnd(events.TurnoverEnd, events.JumpBallEnd), 1.3},
	{"turnover charted as the period's end", swapEnd(events.PeriodEnd, events.TurnoverEnd), 1.6},
}

// absent are chances as they may be missing from a chart.
var absent = []struct {
	text string
	tally
	cost float64
}{
	{"turnover", tally{end: events.TurnoverEnd}, 2},
	{"made two", tally{end: events.Made2}, 2},
	{"made three", tally{end: events.Made3}, 2},
	{"missed two with a defensive rebound", tally{end: events.Missed2, rebound: events.Defence}, 2},
	{"missed three with a defensive rebound", tally{end: events.Missed3, rebound: events.Defence}, 2},
	{"missed two with an offensive rebound", tally{end: events.Missed2, rebound: events.Offence}, 2},
	{"missed three with an offensive rebound", tally{end: events.Missed3, rebound: events.Offence}, 2.2},
	{"missed two without a rebound", tally{end: events.Missed2}, 2.2},
	{"missed three without a rebound", tally{end: events.Missed3}, 2.2},
	{"trip of two free throws, both made", tally{end: events.FreeThrowEnd, made: 2, attempted: 2}, 2.2},
	{"trip of two free throws, one made", tally{end: events.FreeThrowEnd, made: 1, attempted: 2}, 2.4},
	{"made two with its free throw made", tally{end: events.Made2, made: 1, attempted: 1}, 2.4},
}

// extra are shots that no chance answers for and that may be missing.
var extra = []struct {
	text            string
	made, attempted int
	cost            float64
}{
	{"technical's free throw, made, not charted", 1, 1, 1.8},
	{"technical's free throw, missed, not charted", 0, 1, 2},
	{"two penalty shots, both made, not charted", 2, 2, 2.4},
	{"two penalty shots, one made, not charted", 1, 2, 2.6},
}

// Suspect is a place where a slip may have happened, and what speaks for it.
type Suspect struct {
	Place    Place  `json:"place"`
	Text     string `json:"text"` // what is charted there
	Evidence string `json:"evidence,omitempty"`
	weight   float64
}

// fix is one correction with all the places it could be made.
type fix struct {
	text     string
	team     events.Token
	delta    lines
	cost     float64
	suspects []Suspect
}

// fixes lists every single-chance correction that the chart allows, one for
// each way and team.
func (r *review) fixes(official *events.TotalsEntered) []fix {
	byText := map[string]*fix{}
	var order []string
	add := func(text string, side int, delta lines, cost float64, s ...Suspect) {
		delta = r.asked(delta)
		if delta == (lines{}) {
			return
		}
		// One slip may change lines differently from chance to chance.
		key := fmt.Sprint(text, side, delta)
		f := byText[key]
		if f == nil {
			f = &fix{text: text, team: r.side(side), delta: delta, cost: cost}
			byText[key] = f
			order = append(order, key)
		}
		f.suspects = append(f.suspects, s...)
	}
	rules := r.chart.Info.Rules
	for i := range r.chart.Chances {
		ch := &r.chart.Chances[i]
		if !r.scope.holds(ch) {
			continue
		}
		side := r.sideOf(ch.Offence)
		was := tallyOf(ch)
		now := was.lines(rules, side)
		for _, s := range slips {
			if right, ok := s.right(was); ok {
				delta := right.lines(rules, side).minus(now)
				suspect := r.suspect(ch, delta, official)
				if was.rebound != right.rebound && r.lastInPeriod(i) {
					suspect.weight -= 3 // the horn leaves a miss without a rebound
				}
				add(s.text, side, delta, s.cost, suspect)
			}
		}
		if was.end == "" {
			for _, m := range absent {
				add("chance left open that was a "+m.text, side, m.lines(rules, side), 1, r.suspect(ch, lines{}, official))
			}
			continue
		}
		add("chance charted twice", side, lines{}.minus(now), 2.6, r.doubtful(ch))
		add("chance charted for the wrong team", 1-side, was.lines(rules, 1-side).minus(now), 2.8, r.suspect(ch, lines{}, official))
	}
	for side := range 2 {
		for _, m := range absent {
			add("chance not charted: "+m.text, side, m.lines(rules, side), m.cost, r.missingAt(side)...)
		}
		for _, e := range extra {
			var l lines
			l[side*10], l[side*10+5], l[side*10+6] = int16(e.made), int16(e.attempted), int16(e.made)
			add(e.text, side, l, e.cost)
		}
	}
	out := make([]fix, len(order))
	for i, key := range order {
		out[i] = *byText[key]
		slices.SortStableFunc(out[i].suspects, func(a, b Suspect) int {
			return cmp.Or(cmp.Compare(b.weight, a.weight), inPlay(a.Place, b.Place))
		})
	}
	return out
}

func (r *review) lastInPeriod(i int) bool {
	list := r.chart.Chances
	return i+1 == len(list) || list[i+1].When.Period != list[i].When.Period
}

func (r *review) side(i int) events.Token {
	if i == 0 {
		return r.chart.Info.Home.ID
	}
	return r.chart.Info.Away.ID
}

func (r *review) sideOf(team events.Token) int {
	if team == r.chart.Info.Home.ID {
		return 0
	}
	return 1
}

// asked blanks the lines that the chart did not set out to hold.
func (r *review) asked(l lines) lines {
	for i := range l {
		if !r.asksLine(r.side(i/10), lineNames[i%10]) {
			l[i] = 0
		}
	}
	return l
}

var lineNames = func() (names [10]string) {
	for i, l := range replay.Lines(events.Totals{}) {
		names[i] = l.Name
	}
	return names
}()
