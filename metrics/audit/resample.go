package audit

import (
	"math"
	"math/rand/v2"
	"slices"

	"stopledger/metrics/stats"
)

// resampler holds draws of chances with replacement, made once and used for
// every figure of a comparison. What is drawn is the chance, because what a
// charter saw in one chance is not independent. It draws and cuts as
// [stats.BootstrapClusters] does.
type resampler struct {
	times [][]float64 // by draw: how often each chance was drawn
	level float64
}

func newResampler(chances int, o Options) *resampler {
	if o.Resamples < 0 {
		return nil
	}
	r := &resampler{level: o.Level}
	if chances < 2 {
		return r
	}
	rng := rand.New(rand.NewPCG(o.Seed, 0x5eed))
	all := make([]float64, o.Resamples*chances)
	for range o.Resamples {
		times := all[:chances:chances]
		all = all[chances:]
		for range chances {
			times[rng.IntN(chances)]++
		}
		r.times = append(r.times, times)
	}
	return r
}

// interval gives the percentiles of a statistic over the draws, or says why
// there are none. stat returns false where it is not defined.
func (r *resampler) interval(stat func(times []float64) (float64, bool)) (lo, hi *float64, note string) {
	if r == nil {
		return nil, nil, ""
	}
	values := make([]float64, 0, len(r.times))
	for _, times := range r.times {
		if v, ok := stat(times); ok && !math.IsNaN(v) && !math.IsInf(v, 0) {
			values = append(values, v)
		}
	}
	if len(values) < 2 || 2*len(values) < len(r.times) {
		return nil, nil, "too few chances for an interval"
	}
	slices.Sort(values)
	tail := (1 - r.level) / 2
	low, high := stats.Quantile(values, tail), stats.Quantile(values, 1-tail)
	return &low, &high, ""
}
