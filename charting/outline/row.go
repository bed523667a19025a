package outline

import "stopledger/events"

// row is one line of the feed.
type row struct {
	line   int // in the file, the header being 1
	period int
	clock  float64 // seconds left in the period
	team   events.Token
	play   string
	made   bool
	k, n   int // free throw k of n; 0 when not said
	player events.Token
	by     events.Token
	note   string
}

const (
	periodStart  = "period-start"
	periodEnd    = "period-end"
	jumpBall     = "jump-ball"
	shot2        = "shot-2"
	shot3        = "shot-3"
	freeThrow    = "free-throw"
	rebound      = "rebound"
	turnover     = "turnover"
	foul         = "foul"
	violation    = "violation"
	substitution = "substitution"
	timeout      = "timeout"
)

var plays = []string{periodStart, periodEnd, jumpBall, shot2, shot3, freeThrow, rebound, turnover, foul, violation, substitution, timeout}

const (
	noteTeam      = "team"
	noteOffensive = "offensive"
	noteTechnical = "technical"
)

// notes are those this reader gives a meaning or knows to have none for it.
var notes = []string{"", "block", "steal", noteTeam, "shooting", "personal", "loose-ball", noteOffensive, noteTechnical, "flagrant", "clear-path", "take-foul", "away-from-play", "other"}

func (r *row) shot() bool { return r.play == shot2 || r.play == shot3 }

// teamRebound reports whether the row is a team's rebound, which official
// totals do not count: it says so, or names nobody.
func (r *row) teamRebound() bool {
	return r.play == rebound && (r.note == noteTeam || r.player == "")
}

// whistle reports whether play had stopped at this row.
func (r *row) whistle() bool {
	switch r.play {
	case foul, violation, timeout, jumpBall, substitution:
		return true
	}
	return false
}

// penaltyWhy is what a note says of shots that no chance answers for, or "".
func penaltyWhy(note string) events.PenaltyWhy {
	switch note {
	case noteTechnical, "flagrant", "clear-path", "take-foul":
		return events.PenaltyWhy(note)
	}
	return ""
}
