package outline

import (
	"slices"

	"stopledger/events"
)

// settleTeams finds who plays for whom, and the team of rows that name only a
// player.
func (f *Feed) settleTeams() {
	if f.Teams[1] == "" {
		f.Teams[1] = "b"
		if f.Teams[0] == "b" {
			f.Teams[1] = "a"
		}
	}
	if f.Teams[0] == "" {
		f.Teams[0] = "a"
	}
	slices.Sort(f.Teams[:])
	votes := make(map[events.Token]*[2]int)
	var order []events.Token
	vote := func(player, team events.Token) {
		if player == "" {
			return
		}
		if votes[player] == nil {
			votes[player] = new([2]int)
			order = append(order, player)
		}
		if i := slices.Index(f.Teams[:], team); i >= 0 {
			votes[player][i]++
		}
	}
	for _, r := range f.rows {
		vote(r.player, r.team)
		switch {
		case r.play == substitution:
			vote(r.by, r.team)
		case r.shot() || r.play == turnover:
			vote(r.by, f.other(r.team))
		}
	}
	teamOf := make(map[events.Token]events.Token)
	for _, p := range order {
		v := votes[p]
		if v[0]+v[1] == 0 {
			continue
		}
		team := f.Teams[0]
		if v[1] > v[0] {
			team = f.Teams[1]
		}
		teamOf[p] = team
		f.Players = append(f.Players, events.Player{ID: p, Team: team})
		if v[0] > 0 && v[1] > 0 {
			f.remarks = append(f.remarks, Remark{0, "player " + string(p) + " stands in rows of both teams; the roster has him with " + string(team)})
		}
	}
	for i := range f.rows {
		if r := &f.rows[i]; r.team == "" && r.player != "" {
			r.team = teamOf[r.player]
		}
	}
}

// other is the other team, or "" for none.
func (f *Feed) other(team events.Token) events.Token {
	switch team {
	case f.Teams[0]:
		return f.Teams[1]
	case f.Teams[1]:
		return f.Teams[0]
	}
	return ""
}
