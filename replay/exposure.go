package replay

import (
	"sort"

	"stopledger/events"
)

// expose counts what happened while each player was on the floor on defence,
// so that "no box-out charted" can be told from "no miss while he played".
func (d *draft) expose() {
	c := d.chart
	seen := make(map[events.Token]*Exposure)
	at := func(player, team events.Token) *Exposure {
		e := seen[player]
		if e == nil {
			e = &Exposure{Player: player, Team: team}
			seen[player] = e
		}
		return e
	}
	for i := range c.Chances {
		ch := &c.Chances[i]
		if !ch.Opportunity() {
			continue
		}
		miss := ch.Rebound == events.Offence || ch.Rebound == events.Defence
		for _, player := range ch.OnFloor {
			e := at(player, ch.Defence)
			e.Chances++
			if miss && !ch.TeamBoard {
				e.Misses++
			}
		}
		acted := make(map[events.Token]bool, ch.Actions)
		for _, a := range c.Actions[ch.First : ch.First+ch.Actions] {
			if a.Defender != "" && !acted[a.Defender] {
				acted[a.Defender] = true
				at(a.Defender, ch.Defence).Acted++
			}
		}
	}
	for _, e := range seen {
		c.Exposure = append(c.Exposure, *e)
	}
	sort.Slice(c.Exposure, func(i, j int) bool { return c.Exposure[i].Player < c.Exposure[j].Player })
}
