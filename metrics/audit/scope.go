package audit

import (
	"fmt"
	"math"

	"stopledger/events"
	"stopledger/replay"
)

// scope is what one chart set out to hold, or what several did in common.
type scope struct {
	teams    []events.Token // whose defence, one or both
	focus    events.Token   // the one player charted, or ""
	from, to moment
	windowed bool
}

// moment is a place in the order of play; down is the clock, negated.
type moment struct {
	period int
	down   float64
}

func (m moment) before(n moment) bool {
	return m.period < n.period || m.period == n.period && m.down < n.down
}

var (
	tipOff = moment{0, math.Inf(-1)}
	theEnd = moment{math.MaxInt, math.Inf(1)}
)

// momentOf is a When in the order of play, unknown clocks standing for the
// period's edge that is given.
func momentOf(w events.When, edge float64) moment {
	if w.Clock == nil {
		return moment{w.Period, edge}
	}
	return moment{w.Period, -*w.Clock}
}

func scopeOf(c *replay.Chart) scope {
	s := scope{focus: c.Scope.Focus, from: tipOff, to: theEnd}
	switch {
	case c.BothEnds():
		s.teams = []events.Token{c.Info.Home.ID, c.Info.Away.ID}
	case c.Scope.Team != "":
		s.teams = []events.Token{c.Scope.Team}
	default:
		s.teams = []events.Token{teamOf(c.Info, s.focus)}
	}
	if w := c.Scope.From; w.Period > 0 {
		s.from, s.windowed = momentOf(w, math.Inf(-1)), true
	}
	if w := c.Scope.To; w.Period > 0 {
		s.to, s.windowed = momentOf(w, math.Inf(1)), true
	}
	return s
}

func teamOf(info events.GameOpened, player events.Token) events.Token {
	for _, p := range info.Players {
		if p.ID == player {
			return p.Team
		}
	}
	return ""
}

// defends reports whether the team's defence is in scope.
func (s scope) defends(team events.Token) bool {
	for _, t := range s.teams {
		if t == team {
			return true
		}
	}
	return false
}

// during reports whether a moment is in the window. One without a period is:
// nothing says otherwise.
func (s scope) during(w events.When) bool {
	if w.Period == 0 {
		return true
	}
	return !momentOf(w, math.Inf(1)).before(s.from) && !s.to.before(momentOf(w, math.Inf(-1)))
}

// holds reports whether the chance is one that the scope asks for.
func (s scope) holds(c *replay.Chance) bool { return s.defends(c.Defence) && s.during(c.When) }

// period reports whether any of the period is in the window, and which clocks.
func (s scope) period(p int, length float64) (high, low float64, any bool) {
	high, low = length, 0
	if s.from.period == p {
		high = min(high, -s.from.down)
	}
	if s.to.period == p {
		low = max(low, -s.to.down)
	}
	return high, low, s.from.period <= p && p <= s.to.period && high > low
}

func (s scope) both() bool  { return len(s.teams) == 2 && s.focus == "" }
func (s scope) whole() bool { return s.both() && !s.windowed }

// String says the scope in words.
func (s scope) String() string {
	text := "both ends"
	switch {
	case s.focus != "":
		text = fmt.Sprintf("%s on defence", s.focus)
	case len(s.teams) == 1:
		text = fmt.Sprintf("the defence of %s", s.teams[0])
	}
	if s.windowed {
		text += s.window()
	}
	return text
}

func (s scope) window() string {
	text := ""
	if s.from != tipOff {
		text += " from " + s.from.String()
	}
	if s.to != theEnd {
		text += " to " + s.to.String()
	}
	return text
}

func (m moment) String() string {
	if math.IsInf(m.down, 0) {
		return fmt.Sprintf("period %d", m.period)
	}
	return fmt.Sprintf("period %d, %s", m.period, clockText(-m.down))
}

// common is what both scopes ask for, and why there is nothing if so.
func common(a, b scope) (scope, string) {
	out := scope{focus: a.focus, from: a.from, to: a.to, windowed: a.windowed || b.windowed}
	for _, t := range a.teams {
		if b.defends(t) {
			out.teams = append(out.teams, t)
		}
	}
	if out.from.before(b.from) {
		out.from = b.from
	}
	if b.to.before(out.to) {
		out.to = b.to
	}
	if out.focus == "" {
		out.focus = b.focus
	}
	switch {
	case a.focus != "" && b.focus != "" && a.focus != b.focus:
		return out, fmt.Sprintf("nothing in common: one chart watched %s, the other %s", a.focus, b.focus)
	case len(out.teams) == 0:
		return out, fmt.Sprintf("nothing in common: one chart holds %s, the other %s", a, b)
	case out.to.before(out.from):
		return out, fmt.Sprintf("nothing in common: one chart runs%s, the other%s", a.window(), b.window())
	}
	return out, ""
}
