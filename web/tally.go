package web

import (
	"cmp"
	"math"
	"slices"

	"stopledger/events"
	"stopledger/metrics/stats"
	"stopledger/replay"
)

// tally is what the Board counts of one player in one kind. Trials are
// (chance, defender, kind) once, each with weight one over the number of his
// trials in that chance; a stop is as the definition ball-won says.
type tally struct {
	Games   int     `json:"games"`
	Chances float64 `json:"chances"` // summed weights
	Trials  int     `json:"trials"`
	Actions int     `json:"actions"`
	Stops   float64 `json:"stops"` // summed weights
	Held    int     `json:"held"`
	Even    int     `json:"even"`
	Broken  int     `json:"broken"`
	Unclear int     `json:"unclear"`
}

func (t *tally) add(u tally) {
	t.Games += u.Games
	t.Chances += u.Chances
	t.Trials += u.Trials
	t.Actions += u.Actions
	t.Stops += u.Stops
	t.Held += u.Held
	t.Even += u.Even
	t.Broken += u.Broken
	t.Unclear += u.Unclear
}

type cell struct {
	player events.Token
	kind   events.Kind
}

// tallyGame counts the chart of record of a game.
func tallyGame(g *replay.Game) map[cell]tally {
	out := make(map[cell]tally)
	c := g.OfRecord()
	if c == nil {
		return out
	}
	for i := range c.Chances {
		ch := &c.Chances[i]
		if ch.Opportunity() && !ch.Heave && !decided(c, ch) {
			tallyChance(out, ch, c.Actions[ch.First:ch.First+ch.Actions])
		}
	}
	for k, t := range out {
		t.Games = 1
		out[k] = t
	}
	return out
}

func tallyChance(out map[cell]tally, ch *replay.Chance, actions []replay.Action) {
	trials := make(map[events.Token]int)
	seen := make(map[cell]bool)
	for _, a := range actions {
		k := cell{a.Defender, a.Kind}
		if a.Defender == "" {
			continue
		}
		if !seen[k] {
			seen[k] = true
			trials[a.Defender]++
		}
		t := out[k]
		t.Actions++
		switch a.Reading {
		case events.Held:
			t.Held++
		case events.Even:
			t.Even++
		case events.Broken:
			t.Broken++
		case events.Unclear:
			t.Unclear++
		}
		out[k] = t
	}
	for k := range seen {
		t, weight := out[k], 1/float64(trials[k.player])
		t.Trials++
		t.Chances += weight
		if stopped(k.kind, ch) {
			t.Stops += weight
		}
		out[k] = t
	}
}

// stopped is the rule of ball-won: the defence has the ball and nothing was
// scored; a contest answers for the points alone, a box-out for the ball alone.
func stopped(k events.Kind, ch *replay.Chance) bool {
	switch k {
	case events.Contest:
		return ch.Points == 0
	case events.BoxOut:
		return ch.Ball == events.Defence
	}
	return ch.Points == 0 && ch.Ball == events.Defence
}

// decided leaves out what is played when the game is over: the last five
// minutes with more than twenty points between the teams.
func decided(c *replay.Chart, ch *replay.Chance) bool {
	if ch.Margin == nil || ch.When.Clock == nil || !c.Info.Rules.Last(ch.When.Period) {
		return false
	}
	return c.Info.Rules.Left(ch.When.Period, *ch.When.Clock) < 300 && math.Abs(float64(*ch.Margin)) > 20
}

// boardRow is one line of the Board. Rate and its interval are absent where
// there is no trial.
type boardRow struct {
	Player events.Token `json:"player"`
	Kind   events.Kind  `json:"kind"`
	tally
	Rate   *float64    `json:"stop_rate,omitempty"`
	Wilson *[2]float64 `json:"wilson,omitempty"`
}

func rowOf(k cell, t tally) boardRow {
	row := boardRow{Player: k.player, Kind: k.kind, tally: t}
	if t.Chances > 0 {
		rate := t.Stops / t.Chances
		lo, hi := stats.Wilson(t.Stops, t.Chances, 0.95)
		row.Rate, row.Wilson = &rate, &[2]float64{lo, hi}
	}
	return row
}

func sortRows(rows []boardRow) {
	slices.SortFunc(rows, func(a, b boardRow) int {
		return cmp.Or(cmp.Compare(a.Player, b.Player), cmp.Compare(a.Kind, b.Kind))
	})
}
