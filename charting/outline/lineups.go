package outline

import (
	"fmt"
	"slices"

	"stopledger/events"
)

// starters lists, for each team, who must have been on the floor when a
// period began: whoever appears in it before he is sent in. One who played it
// through without appearing in any row cannot be known, so it may be fewer
// than five.
func (rd *reading) starters(period []row) map[events.Token][]events.Token {
	s := &seating{
		rd: rd, teams: make(map[events.Token]events.Token),
		known: make(map[events.Token]bool), on: make(map[events.Token][]events.Token), sentIn: make(map[events.Token]float64),
	}
	for _, p := range rd.feed.Players {
		s.teams[p.ID] = p.Team
	}
	for i := len(period) - 1; i >= 0; i-- { // backward: the first time he is sent in
		if r := &period[i]; r.play == substitution && r.by != "" {
			s.sentIn[r.by] = r.clock
		}
	}
	for i := range period {
		s.appear(&period[i])
	}
	for team, players := range s.on {
		if len(players) > 5 {
			rd.remark(period[0].line, fmt.Sprintf("period %d: %d of %s appear before they are sent in; the first five are taken as its line-up", period[0].period, len(players), team))
			s.on[team] = players[:5]
		}
	}
	return s.on
}

type seating struct {
	rd     *reading
	teams  map[events.Token]events.Token // by player
	known  map[events.Token]bool         // settled: a starter, or sent in since
	on     map[events.Token][]events.Token
	sentIn map[events.Token]float64 // clock of being sent in first
}

func (s *seating) appear(r *row) {
	switch r.play {
	case substitution:
		s.start(r.player, r.team, r.clock)
		s.known[r.by] = true
	case foul:
		if r.note != noteTechnical { // the bench can have a technical
			s.start(r.player, r.team, r.clock)
		}
	case shot2, shot3, turnover:
		s.start(r.player, r.team, r.clock)
		if r.by != "" {
			s.start(r.by, s.rd.feed.other(r.team), r.clock)
		}
	default:
		s.start(r.player, r.team, r.clock)
	}
}

// start counts a player as one of those who began the period. Who appears in
// the moment he is sent in may have been told too early; of him nothing is
// certain.
func (s *seating) start(player, team events.Token, clock float64) {
	if player == "" || team == "" || s.known[player] || s.teams[player] != team {
		return
	}
	s.known[player] = true
	if in, ok := s.sentIn[player]; ok && in == clock {
		return
	}
	if !slices.Contains(s.on[team], player) {
		s.on[team] = append(s.on[team], player)
	}
}
