package audit

import (
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Basis says how the number of chances played is known.
type Basis string

// The bases, surest first.
const (
	FromOutline  Basis = "outline"  // counted in the official play-by-play
	FromTotals   Basis = "totals"   // FGA + 0.44 FTA + turnovers of the official totals
	FromLineups  Basis = "line-ups" // of a one-player chart: another chart's line-ups
	FromEstimate Basis = "estimate" // the clock that no chance covers, at this chart's own pace
	BasisUnknown Basis = "unknown"
)

// Coverage is how much of what was played a chart holds, within its scope.
type Coverage struct {
	Held     int      `json:"held"`     // chances held, with their end
	Defended int      `json:"defended"` // of them, with the defence charted: an action, or a word about the prospect
	Played   float64  `json:"played"`   // chances played; 0 where unknown
	Basis    Basis    `json:"basis"`
	Share    *float64 `json:"share"`          // Held / Played; absent where unknown
	Charted  *float64 `json:"charted"`        // Defended / Played; absent where unknown
	Note     string   `json:"note,omitempty"` // what the basis does not know
}

func (r *review) coverage() Coverage {
	var c Coverage
	r.eachScoped(func(ch *replay.Chance) {
		if !ch.Opportunity() {
			return
		}
		c.Held++
		defended := ch.Actions > 0
		if r.scope.focus != "" {
			defended = r.ofProspect(ch) > 0 || ch.Focus != ""
		}
		if defended {
			c.Defended++
		}
	})
	c.Basis = BasisUnknown
	for _, ask := range []func() (float64, Basis, string){r.byOutline, r.byTotals, r.byLineups, r.byPace} {
		played, basis, note := ask()
		if note != "" {
			c.Note = note
		}
		if played > 0 {
			c.Played, c.Basis, c.Note = played, basis, note
			break
		}
	}
	if c.Played > 0 {
		share, charted := float64(c.Held)/c.Played, float64(c.Defended)/c.Played
		c.Share, c.Charted = &share, &charted
	}
	return c
}

// byOutline counts the chances of a chart made from the official play-by-play.
func (r *review) byOutline() (float64, Basis, string) {
	for _, c := range r.game.Charts {
		if !c.BothEnds() || !fromPlays(c) {
			continue
		}
		n := 0
		for i := range c.Chances {
			ch := &c.Chances[i]
			if !ch.Opportunity() || !r.scope.holds(ch) {
				continue
			}
			if r.scope.focus != "" && len(ch.OnFloor) != 5 {
				return 0, BasisUnknown, "the outline does not say who was on the floor"
			}
			if r.scope.focus == "" || slices.Contains(ch.OnFloor, r.scope.focus) {
				n++
			}
		}
		return float64(n), FromOutline, ""
	}
	return 0, BasisUnknown, ""
}

// fromPlays reports whether most chances came from the official play-by-play.
func fromPlays(c *replay.Chart) bool {
	n := 0
	for i := range c.Chances {
		if c.Chances[i].When.From == "outline" {
			n++
		}
	}
	return n > 0 && 2*n > len(c.Chances)
}

// official is the totals of this chart, else of another chart of the game.
func (r *review) official() *events.TotalsEntered {
	if r.chart.Official != nil {
		return r.chart.Official
	}
	for _, c := range r.game.Charts {
		if c.Official != nil {
			return c.Official
		}
	}
	return nil
}

func (r *review) byTotals() (float64, Basis, string) {
	official := r.official()
	if official == nil || r.scope.focus != "" {
		return 0, BasisUnknown, ""
	}
	played := 0.0
	for _, defence := range r.scope.teams {
		t, known := official.Teams[opponentOf(r.chart.Info, defence)]
		if !known {
			return 0, BasisUnknown, "the official totals lack a team"
		}
		played += Plays(t)
	}
	if r.scope.windowed {
		share, ok := r.windowShare()
		if !ok {
			return 0, BasisUnknown, "how much of the game the window is cannot be told without the rules"
		}
		return played * share, FromTotals, fmt.Sprintf("the official totals cover the whole game; taken by the clock, %.0f %% of it", 100*share)
	}
	return played, FromTotals, "trips to the line are estimated at 0.44 for each free throw"
}

func opponentOf(info events.GameOpened, team events.Token) events.Token {
	if team == info.Home.ID {
		return info.Away.ID
	}
	return info.Home.ID
}

// windowShare is the share of the game's clock that the window holds.
func (r *review) windowShare() (float64, bool) {
	in, all := 0.0, 0.0
	for p := 1; p <= max(r.periods(), r.chart.Info.Rules.Periods); p++ {
		length := r.chart.Info.Rules.Length(p)
		all += length
		if high, low, any := r.scope.period(p, length); any {
			in += high - low
		}
	}
	return in / max(all, 1), all > 0
}

// byLineups counts the chances that another chart saw with the prospect on the
// floor.
func (r *review) byLineups() (float64, Basis, string) {
	if r.scope.focus == "" {
		return 0, BasisUnknown, ""
	}
	for _, c := range r.game.Charts {
		if c == r.chart || c.Scope.Focus != "" || !scopeOf(c).defends(r.scope.teams[0]) {
			continue
		}
		n := 0
		for i := range c.Chances {
			ch := &c.Chances[i]
			if ch.Opportunity() && r.scope.holds(ch) && slices.Contains(ch.OnFloor, r.scope.focus) {
				n++
			}
		}
		if n > 0 {
			return float64(n), FromLineups, fmt.Sprintf("by the line-ups of chart %s", c.Name)
		}
	}
	return 0, BasisUnknown, "no line-ups say how long he played: load an outline, or chart the line-ups"
}

// byPace adds to the chances held those that would fit into the clock no chance
// covers, at the chart's own mean time from one chance's end to the next's.
func (r *review) byPace() (float64, Basis, string) {
	if r.scope.focus != "" {
		return 0, BasisUnknown, ""
	}
	uncovered := 0.0
	for _, g := range r.gaps {
		uncovered += g.seconds()
	}
	held, cycles, seconds := 0, 0, 0.0
	for p := 1; p <= r.reached(); p++ {
		list := r.inPeriod(p)
		if _, _, asked := r.scope.period(p, r.chart.Info.Rules.Length(p)); len(list) == 0 && asked {
			uncovered += r.chart.Info.Rules.Length(p)
		}
		for i, ch := range list {
			if ch.Opportunity() {
				held++
			}
			if i > 0 && ended(ch) != nil && ended(list[i-1]) != nil && !r.gapBefore(ch) {
				cycles++
				seconds += *ended(list[i-1]) - *ended(ch)
			}
		}
	}
	if cycles < 5 || seconds <= 0 {
		return 0, BasisUnknown, "too few clocks to estimate how many chances were played"
	}
	return float64(held) + uncovered*float64(cycles)/seconds, FromEstimate,
		fmt.Sprintf("%.0f seconds of clock are covered by no chance, at %.1f seconds for one", uncovered, seconds/float64(cycles))
}

func (r *review) gapBefore(ch *replay.Chance) bool {
	for _, g := range r.gaps {
		if g.place.Chance == ch.ID {
			return true
		}
	}
	return false
}
