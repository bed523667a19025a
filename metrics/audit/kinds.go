package audit

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/metrics/stats"
)

// Kind is how far two charts agree on one kind of action.
type Kind struct {
	Kind      events.Kind `json:"kind"`
	Either    int         `json:"either"`     // actions that at least one of them charted as this kind
	OneOnly   int         `json:"one_only"`   // of them seen by one alone
	OtherKind int         `json:"other_kind"` // charted as another kind by the other
	Readings  int         `json:"readings"`   // charted as this kind by both, and read on held, even, broken
	ReadAlike int         `json:"read_alike"`
	Order     Field       `json:"order"`    // held, even, broken, linear weights
	Disputed  float64     `json:"disputed"` // share of Either that was not seen, labelled and read alike
	Lo        float64     `json:"lo"`       // Wilson limits of that share
	Hi        float64     `json:"hi"`
}

// byKind counts by kind. The most disputed is first by the lower limit, so that
// two actions do not lead the list.
func (p *pairing) byKind(o Options) []Kind {
	rows := make([]Kind, len(events.Kinds))
	orders := make([]*judging, len(events.Kinds))
	for i, row := range events.Kinds {
		rows[i].Kind = row.Kind
		orders[i] = newJudging("held, even, broken", scale)
		orders[i].weights = stats.LinearWeights
	}
	for _, i := range p.actOnlyA {
		rows[kindIndex[p.a.Actions[i].Kind]].OneOnly++
	}
	for _, i := range p.actOnlyB {
		rows[kindIndex[p.b.Actions[i].Kind]].OneOnly++
	}
	same := make([]int, len(rows))
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		x, y := kindIndex[a.Kind], kindIndex[b.Kind]
		if x != y {
			rows[x].OtherKind++
			rows[y].OtherKind++
			continue
		}
		same[x]++
		if onScale(a.Reading) && onScale(b.Reading) {
			rows[x].Readings++
			orders[x].add(p.chanceOfA[a.Chance], 0, string(a.Reading), string(b.Reading))
			if a.Reading == b.Reading {
				rows[x].ReadAlike++
			}
		}
	}
	out := []Kind{}
	for i := range rows {
		k := &rows[i]
		k.Either = same[i] + k.OtherKind + k.OneOnly
		if k.Either == 0 {
			continue
		}
		disputed := k.OneOnly + k.OtherKind + k.Readings - k.ReadAlike
		k.Disputed = float64(disputed) / float64(k.Either)
		k.Lo, k.Hi = stats.Wilson(float64(disputed), float64(k.Either), o.Level)
		k.Order = orders[i].field(nil)
		out = append(out, *k)
	}
	slices.SortStableFunc(out, func(a, b Kind) int { return cmp.Compare(b.Lo, a.Lo) })
	return out
}
