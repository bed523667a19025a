package metrics

import (
	"fmt"
	"math/rand/v2"

	"stopledger/events"
	"stopledger/metrics/stats"
)

// cost is the points answered for in a trial of a kind that went well and in one
// that did not, pooled over kinds: means and their standard deviations.
type cost struct {
	well, badly stats.ShrunkMean
}

// What is believed of the points of one trial beforehand, worth that one trial:
// most good ones cost nothing, most bad ones two, three or nothing. A judgement,
// common practice, no source; it only matters on a ledger of a few trials.
var (
	priorWell  = []float64{0.85, 0.02, 0.08, 0.04, 0.01}
	priorBadly = []float64{0.45, 0.05, 0.33, 0.16, 0.01}
)

// costsOf counts the points of every kind's trials over everybody. A trial that
// was even went well by as much as the definition counts it.
func (f *film) costsOf(t Target, even float64) ([]cost, error) {
	well, badly := make([][]float64, len(events.Kinds)), make([][]float64, len(events.Kinds))
	most := mostPoints
	for i := range f.rows {
		r := &f.rows[i]
		y, ok := r.success(t, even)
		if !ok {
			continue
		}
		well[r.kind] = countPoints(well[r.kind], r.points, y)
		badly[r.kind] = countPoints(badly[r.kind], r.points, 1-y)
		most = max(most, lastAbove0(well[r.kind]), lastAbove0(badly[r.kind]))
	}
	good, err := stats.ShrunkMeans(upTo(well, most), extended(priorWell, most))
	if err != nil {
		return nil, fmt.Errorf("points of trials that went well: %w", err)
	}
	bad, err := stats.ShrunkMeans(upTo(badly, most), extended(priorBadly, most))
	if err != nil {
		return nil, fmt.Errorf("points of trials that went badly: %w", err)
	}
	out := make([]cost, len(events.Kinds))
	for k := range out {
		out[k] = cost{good[k], bad[k]}
	}
	return out, nil
}

// upTo gives all counts the values 0 to most.
func upTo(counts [][]float64, most int) [][]float64 {
	out := make([][]float64, len(counts))
	for i, c := range counts {
		out[i] = make([]float64, most+1)
		copy(out[i], c)
	}
	return out
}

// extended lets dearer chances than usual happen, rarely.
func extended(prior []float64, most int) []float64 {
	out := append([]float64{}, prior...)
	for len(out) <= most {
		out = append(out, 0.01)
	}
	return out
}

// costDraws are joint draws of the costs of each kind: [kind][draw], normal about
// the pooled mean and never below 0.
type costDraws struct {
	well, badly [][]float64
}

func drawCosts(costs []cost, n int, seed uint64) costDraws {
	d := costDraws{make([][]float64, len(costs)), make([][]float64, len(costs))}
	draw := func(m stats.ShrunkMean, stream uint64) []float64 {
		rng := rand.New(rand.NewPCG(seed, stream))
		out := make([]float64, n)
		for i := range out {
			out[i] = max(m.Mean+m.SD*rng.NormFloat64(), 0)
		}
		return out
	}
	for k := range costs {
		d.well[k], d.badly[k] = draw(costs[k].well, uint64(2*k)), draw(costs[k].badly, uint64(2*k+1))
	}
	return d
}
