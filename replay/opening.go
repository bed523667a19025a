package replay

import (
	"slices"

	"stopledger/events"
)

// openingOf adds up the openings of one chart in the order they were minted:
// players are united, other facts are the latest's.
func openingOf(list []standing) (events.GameOpened, bool) {
	var sum events.GameOpened
	any := false
	for _, s := range list {
		g, ok := s.body.(*events.GameOpened)
		if !ok || s.voided {
			continue
		}
		players := unite(g.Players, sum.Players)
		sum, any = *g, true
		sum.Players = players
	}
	return sum, any
}

// unitedOpening is the game as all its charts together know it.
func unitedOpening(drafts []*draft) events.GameOpened {
	var sum events.GameOpened
	for _, d := range drafts {
		g, ok := openingOf(d.facts)
		if !ok {
			continue
		}
		players := unite(sum.Players, g.Players)
		if sum.Home.ID == "" {
			sum = g
		}
		sum.Players = players
	}
	return sum
}

// unite merges two rosters by id, sorted; what the first says of a player
// stands.
func unite(first, second []events.Player) []events.Player {
	out := slices.Clone(first)
	known := make(map[events.Token]bool, len(first))
	for _, p := range first {
		known[p.ID] = true
	}
	for _, p := range second {
		if !known[p.ID] {
			out = append(out, p)
			known[p.ID] = true
		}
	}
	slices.SortFunc(out, func(a, b events.Player) int {
		if a.ID < b.ID {
			return -1
		}
		return 1
	})
	return out
}

// other is the game's other team, or "" for a team that does not play in it.
func other(info events.GameOpened, team events.Token) events.Token {
	switch team {
	case info.Home.ID:
		return info.Away.ID
	case info.Away.ID:
		return info.Home.ID
	}
	return ""
}
