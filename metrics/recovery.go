package metrics

import (
	"fmt"

	"stopledger/events"
	"stopledger/metrics/definition"
)

// Recovery is what a player did after he was broken.
type Recovery struct {
	Broken  int `json:"broken"`        // chances in which one of his actions read broken
	Seconds int `json:"second_effort"` // of these, with a later action of his
	// Held and Even say how the last of those later actions read.
	Held  int    `json:"held"`
	Even  int    `json:"even"`
	Stops int    `json:"stops"` // of the second efforts, chances without points in which the ball was won
	Text  string `json:"text"`
}

// Breaks is how often a player was the first of a chance to be broken, and what
// those chances cost.
type Breaks struct {
	Chances int         `json:"chances"` // that he had a part in
	First   int         `json:"first"`
	Points  float64     `json:"points"`   // that those chances cost, whoever answers for them
	Kinds   []KindCount `json:"kinds"`    // of the first breaks, most first
	ByOther int         `json:"by_other"` // chances in which another broke first
	Text    string      `json:"text"`
}

// KindCount is how many there are of a kind.
type KindCount struct {
	Kind  events.Kind `json:"kind"`
	Count int         `json:"count"`
}

// Streaks counts a player's stops in a row: chances that he had a part in, one
// after the other within a game, in which every trial of his was a stop.
type Streaks struct {
	Threes  int    `json:"three_straight"` // three in a row, not overlapping
	Longest int    `json:"longest"`
	Text    string `json:"text"`
}

// turns calls f with the rows of each chance that a player had a part in.
func (s *Study) turns(p int, f func(rows []row)) {
	of := s.film.of[p]
	for i := 0; i < len(of); {
		first := of[i]
		n := 0
		var rows []row
		for i+n < len(of) && s.film.rows[of[i+n]].chance == s.film.rows[first].chance {
			rows = append(rows, s.film.rows[of[i+n]])
			n++
		}
		f(rows)
		i += n
	}
}

// Recovery counts what a player did after he was broken.
func (s *Study) recovery(p int) Recovery {
	points, ball := s.Columns.Chances.Column("chance.points"), s.Columns.Chances.Column("chance.ball")
	var out Recovery
	s.turns(p, func(rows []row) {
		broken := -1
		for i := range rows {
			if rows[i].reading == isBroken {
				broken = i
				break
			}
		}
		if broken < 0 {
			return
		}
		out.Broken++
		if broken == len(rows)-1 {
			return
		}
		out.Seconds++
		switch rows[len(rows)-1].reading {
		case isHeld:
			out.Held++
		case isEven:
			out.Even++
		}
		c := int(rows[0].chance)
		if points.Numbers[points.Code(c)] == 0 && wordOf(ball, ball.Code(c)) == string(events.Defence) {
			out.Stops++
		}
	})
	switch {
	case out.Broken == 0:
		out.Text = "never broken on this film"
	case out.Seconds == 0:
		out.Text = fmt.Sprintf("broken in %s, and no second effort charted", chances(out.Broken))
	default:
		out.Text = fmt.Sprintf("broken in %s; a second effort in %d of them, which held in %d and ended in a stop in %d", chances(out.Broken), out.Seconds, out.Held, out.Stops)
	}
	return out
}

// breaks counts a player's first breaks.
func (s *Study) breaks(p int) Breaks {
	first, points := s.Columns.Actions.Column("action.first_break"), s.Columns.Chances.Column("chance.points")
	var out Breaks
	kinds := make([]int, len(events.Kinds))
	s.turns(p, func(rows []row) {
		out.Chances++
		for i := range rows {
			if code := first.Code(rows[i].action); code == 0 || first.Numbers[code] == 0 {
				continue
			}
			out.First++
			kinds[rows[i].kind]++
			out.Points += points.Numbers[points.Code(int(rows[i].chance))]
			return
		}
	})
	out.ByOther = s.brokenBefore(p)
	for k, n := range kinds {
		if n > 0 {
			out.Kinds = append(out.Kinds, KindCount{events.Kinds[k].Kind, n})
		}
	}
	sortKinds(out.Kinds)
	switch {
	case out.Chances == 0:
		out.Text = "no film"
	case out.First == 0:
		out.Text = fmt.Sprintf("never the first to break in %s", chances(out.Chances))
	default:
		out.Text = fmt.Sprintf("first to break in %d of %s, %.2f points each", out.First, chances(out.Chances), out.Points/float64(out.First))
	}
	return out
}

// brokenBefore counts the chances of a player in which somebody else broke first.
func (s *Study) brokenBefore(p int) int {
	breaks := s.Columns.Chances.Column("chance.breaks")
	first := s.Columns.Actions.Column("action.first_break")
	n := 0
	s.turns(p, func(rows []row) {
		code := breaks.Code(int(rows[0].chance))
		if code == 0 || breaks.Numbers[code] == 0 {
			return
		}
		for i := range rows {
			if code := first.Code(rows[i].action); code != 0 && first.Numbers[code] != 0 {
				return
			}
		}
		n++
	})
	return n
}

// streaks counts a player's stops in a row.
func (s *Study) streaks(p int) Streaks {
	var out Streaks
	run, game := 0, noChance
	s.turns(p, func(rows []row) {
		if rows[0].game != game {
			game, run = rows[0].game, 0
		}
		stop, decided := true, false
		for i := range rows {
			if rows[i].trial > 0 {
				decided = true
				stop = stop && rows[i].stop == definition.Yes
			}
		}
		if !decided || !stop {
			run = 0
			return
		}
		run++
		out.Longest = max(out.Longest, run)
		if run%3 == 0 {
			out.Threes++
		}
	})
	out.Text = fmt.Sprintf("three straight stops %s; the longest run is %d", plural(out.Threes, "time", "times"), out.Longest)
	return out
}
