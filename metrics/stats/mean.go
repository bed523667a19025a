package stats

import (
	"fmt"
	"math"
)

// MeanInterval returns the mean and its score interval for a variable on the
// whole numbers 0 to len(counts)-1, where counts[j] is the (weighted) number of
// trials that took the value j. The interval holds every mean mu with
//
//	|mean - mu| <= z * sqrt(v(mu)/n),
//
// v(mu) being the variance of the multinomial that fits the counts best among
// those with mean mu. Values never seen may take part in that fit, so twenty
// zeros do not prove that the mean is zero, and the interval follows the skew
// of the counts. For a variable on {0, 1} it is exactly [Wilson]. Without trials
// the interval is the whole range and the mean its middle.
//
// Source: the score (Pearson) interval for a parameter of a multinomial, Lang JB
// (2008) Statistics in Medicine 27:5975-5990, and Agresti A, Ryu E (2010)
// Biometrika 97:215-222 (both cited from memory); the best fit with a given mean
// is the tilted one of Owen AB (1988) Biometrika 75:237-249. Coverage is checked
// by simulation in the tests.
func MeanInterval(counts []float64, level float64) (mean, lo, hi float64, err error) {
	if len(counts) < 2 {
		return 0, 0, 0, fmt.Errorf("mean interval: %d values, want at least 2", len(counts))
	}
	top := float64(len(counts) - 1)
	var n float64
	for j, c := range counts {
		if !(c >= 0) || math.IsInf(c, 1) {
			return 0, 0, 0, fmt.Errorf("mean interval: count %v of value %d, want a finite number from 0", c, j)
		}
		n += c
		mean += float64(j) * c
	}
	if n == 0 {
		return top / 2, 0, top, nil
	}
	mean /= n
	z := NormalQuantile(level)
	inside := func(mu float64) bool {
		d := mean - mu
		return n*d*d <= z*z*varianceGivenMean(counts, n, mu)
	}
	return mean, edge(mean, 0, inside), edge(mean, top, inside), nil
}

// edge bisects between a point inside and the end of the range for the place
// where inside stops to hold.
func edge(in, out float64, inside func(float64) bool) float64 {
	if in == out || inside(out) {
		return out
	}
	for range 46 { // the range times 2^-46
		if mid := (in + out) / 2; inside(mid) {
			in = mid
		} else {
			out = mid
		}
	}
	return (in + out) / 2
}

// varianceGivenMean is the variance of the distribution on 0..k that maximises
// the multinomial likelihood of counts among those with mean mu, 0 < mu < k.
//
// With p_j = c_j/(n(1+lambda(j-mu))), lambda solves the mean equation. No factor
// 1+lambda(j-mu) may be negative, seen or not: where the root would need that,
// lambda stops at the bound and the mass left over goes to the end of the range.
func varianceGivenMean(counts []float64, n, mu float64) float64 {
	k := len(counts) - 1
	top := float64(k)
	if mu <= 0 || mu >= top {
		return 0
	}
	lower, upper := -1/(top-mu), 1/mu // bounds set by the values k and 0
	excess := func(lambda float64) float64 {
		var s float64
		for j, c := range counts {
			if c > 0 {
				d := float64(j) - mu
				s += c * d / (1 + lambda*d)
			}
		}
		return s
	}
	// excess falls in lambda. It has poles at the bounds only where the end
	// values were seen; otherwise the root may lie beyond a bound.
	lambda := 0.0
	switch {
	case counts[k] == 0 && excess(lower) <= 0:
		lambda = lower
	case counts[0] == 0 && excess(upper) >= 0:
		lambda = upper
	default:
		for range 56 {
			lambda = (lower + upper) / 2
			if excess(lambda) > 0 {
				lower = lambda
			} else {
				upper = lambda
			}
		}
	}
	var mass, first, v float64
	for j, c := range counts {
		if c > 0 {
			d := float64(j) - mu
			p := c / n / (1 + lambda*d)
			mass += p
			first += p * d
			v += p * d * d
		}
	}
	// Whatever the seen values leave over sits at one end; its place follows
	// from the side on which the mean falls short.
	if rest := 1 - mass; rest > 1e-12 {
		end := top - mu
		if first > 0 {
			end = -mu
		}
		v += rest * end * end
	}
	return v
}
