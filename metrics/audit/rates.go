package audit

import (
	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// StopRates are the raw stop rates by kind under a definition, one measure a
// kind in the vocabulary's order, of everybody or of one player. They share one
// count of a game, so they are for one goroutine at a time.
func StopRates(d *definition.Definition, player events.Token) []Measure {
	var of *replay.Game // the game counted last: every measure is asked of it in turn
	var stops, judged map[string]float64
	count := func(g *replay.Game) {
		if of == g {
			return
		}
		of, stops, judged = g, map[string]float64{}, map[string]float64{}
		t, err := definition.Tally(d, replay.GameColumns(g), []string{"defender", "kind"})
		if err != nil {
			return // the dimensions are this function's own
		}
		for _, group := range t.Groups {
			if player == "" || group.Key[0] == string(player) {
				stops[group.Key[1]] += group.Stops
				judged[group.Key[1]] += group.Judged
			}
		}
	}
	var list []Measure
	for _, k := range events.Kinds {
		kind := string(k.Kind)
		list = append(list, Measure{Name: kind + " stop rate", Of: func(g *replay.Game) (float64, bool) {
			count(g)
			if judged[kind] == 0 {
				return 0, false
			}
			return stops[kind] / judged[kind], true
		}})
	}
	return list
}
