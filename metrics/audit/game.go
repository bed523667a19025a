package audit

import (
	"stopledger/events"
	"stopledger/replay"
)

// GameReport is the review of several charts of one game.
type GameReport struct {
	Game     events.Token `json:"game"`
	Digest   string       `json:"digest"`
	Record   events.Token `json:"record"` // the chart of record
	Invented bool         `json:"invented,omitempty"`
	Charts   []*Report    `json:"charts"`
}

// ReviewGame audits charts of a game, in the order given.
func ReviewGame(g *replay.Game, charts []*replay.Chart, limits Limits) *GameReport {
	out := &GameReport{Game: g.ID, Digest: g.Digest, Record: g.Record, Invented: g.Info.Invented, Charts: make([]*Report, len(charts))}
	for i, c := range charts {
		out.Charts[i] = Review(g, c, limits)
	}
	return out
}
