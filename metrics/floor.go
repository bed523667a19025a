package metrics

import (
	"stopledger/events"
	"stopledger/replay"
)

// floor is what line-ups know: how much each player could have been tested, by
// game.
type floor map[events.Token]map[events.Token]replay.Exposure

func newFloor(games []*replay.Game) floor {
	if len(games) == 0 {
		return nil
	}
	f := make(floor, len(games))
	for _, g := range games {
		c := g.OfRecord()
		if c == nil {
			continue
		}
		at := make(map[events.Token]replay.Exposure, len(c.Exposure))
		for _, e := range c.Exposure {
			at[e.Player] = e
		}
		f[g.ID] = at
	}
	return f
}

// of adds up a player's games; ok says whether any line-up knows him.
func (f floor) of(id events.Token) (sum replay.Exposure, ok bool) {
	for _, players := range f {
		e, found := players[id]
		if !found {
			continue
		}
		ok = ok || e.Chances > 0
		sum.Player, sum.Team = e.Player, e.Team
		sum.Chances += e.Chances
		sum.Misses += e.Misses
		sum.Acted += e.Acted
	}
	return sum, ok
}
