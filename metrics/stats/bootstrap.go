package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Bootstrapped is a percentile interval from resampling clusters.
type Bootstrapped struct {
	Lo, Hi    float64 // percentiles of the statistic
	SE        float64 // its standard deviation over the resamples
	Used      int     // resamples in which the statistic was defined
	Undefined int     // resamples in which it was not
}

// BootstrapClusters draws clusters with replacement reps times and returns the
// percentile interval of a statistic. stat receives the indices of the drawn
// clusters, as many as there are clusters, some more than once, and returns
// false where the statistic is not defined. It must not keep the slice. The same
// generator state gives the same result. It is an error if the statistic is
// defined in fewer than half of the resamples.
//
// Source: Efron B, Tibshirani RJ (1993) An Introduction to the Bootstrap,
// chapters 8 and 13; clusters are drawn whole, because judgements within one are
// not independent.
func BootstrapClusters(rng *rand.Rand, clusters, reps int, level float64, stat func(drawn []int) (float64, bool)) (Bootstrapped, error) {
	var out Bootstrapped
	if clusters < 2 || reps < 20 {
		return out, fmt.Errorf("bootstrap: %d clusters and %d resamples, want at least 2 and 20", clusters, reps)
	}
	drawn := make([]int, clusters)
	values := make([]float64, 0, reps)
	for range reps {
		for i := range drawn {
			drawn[i] = rng.IntN(clusters)
		}
		if v, ok := stat(drawn); ok && !math.IsNaN(v) && !math.IsInf(v, 0) {
			values = append(values, v)
		}
	}
	out.Used, out.Undefined = len(values), reps-len(values)
	if out.Used < out.Undefined || out.Used < 2 {
		return out, fmt.Errorf("bootstrap: the statistic is defined in %d of %d resamples: too little data", out.Used, reps)
	}
	slices.Sort(values)
	tail := (1 - cleanLevel(level)) / 2
	out.Lo, out.Hi = Quantile(values, tail), Quantile(values, 1-tail)
	mean := 0.0
	for _, v := range values {
		mean += v / float64(len(values))
	}
	for _, v := range values {
		out.SE += sq(v - mean)
	}
	out.SE = math.Sqrt(out.SE / float64(len(values)-1))
	return out, nil
}

// Quantile is the q quantile of sorted values, linear between order statistics
// (definition 7 of Hyndman RJ, Fan Y (1996) American Statistician 50:361-365).
// It panics on an empty slice.
func Quantile(sorted []float64, q float64) float64 {
	at := clamp(q, 0, 1) * float64(len(sorted)-1)
	i := min(int(at), len(sorted)-1)
	if i == len(sorted)-1 {
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
