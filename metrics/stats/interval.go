package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Wilson returns the score interval for a rate, without continuity correction,
// from stops successes in n trials at the confidence level (0.95 for 95 %).
// Both counts may be real numbers. Without trials it returns (0, 1).
//
// Source: Wilson EB (1927) JASA 22:209-212; method 3 of Newcombe RG (1998)
// Statistics in Medicine 17:857-872.
func Wilson(stops, n, level float64) (lo, hi float64) {
	stops, n, ok := cleanCounts(stops, n)
	if !ok {
		return 0, 1
	}
	z := NormalQuantile(level)
	p, z2 := stops/n, z*z
	mid := (stops + z2/2) / (n + z2)
	half := z / (n + z2) * math.Sqrt(n*p*(1-p)+z2/4)
	lo, hi = clamp(mid-half, 0, 1), clamp(mid+half, 0, 1)
	// At the ends the limit is exact; rounding must not move it off 0 or 1.
	if stops == 0 {
		lo = 0
	}
	if stops == n {
		hi = 1
	}
	return lo, hi
}

// Jeffreys returns the equal-tailed interval of the Beta(stops+1/2, n-stops+1/2)
// distribution, the posterior under Jeffreys' prior, at the given level.
// This is the plain form: at no stops and at all stops the limit stays inside
// (0, 1). [JeffreysModified] is the form printed in Table A.1 of Brown, Cai and
// DasGupta, which differs at 0, 1, n-1 and n stops. Without trials the interval
// is that of the prior.
//
// Source: Brown LD, Cai TT, DasGupta A (2001) Statistical Science 16:101-133,
// section 3.1.3.
func Jeffreys(stops, n, level float64) (lo, hi float64) {
	stops, n, ok := cleanCounts(stops, n)
	if !ok {
		stops, n = 0, 0
	}
	tail := (1 - cleanLevel(level)) / 2
	a, b := stops+0.5, n-stops+0.5
	return mathext.InvRegIncBeta(a, b, tail), 1 - mathext.InvRegIncBeta(b, a, tail)
}

// JeffreysModified is [Jeffreys] with the end corrections of Brown, Cai and
// DasGupta (2001), section 4.1.2: at no stops it is (0, 1-(a/2)^(1/n)), at one
// stop the lower limit is 0, and likewise mirrored at n-1 and n. The corrections
// are defined for whole counts, and are applied only when stops equals such a
// count exactly.
func JeffreysModified(stops, n, level float64) (lo, hi float64) {
	lo, hi = Jeffreys(stops, n, level)
	stops, n, ok := cleanCounts(stops, n)
	if !ok {
		return 0, 1
	}
	end := math.Pow((1-cleanLevel(level))/2, 1/n)
	switch {
	case stops == 0:
		lo, hi = 0, 1-end
	case stops == n:
		lo, hi = end, 1
	}
	if stops == 1 && n > 1 {
		lo = 0
	}
	if stops == n-1 && n > 1 {
		hi = 1
	}
	return lo, hi
}

// NormalQuantile returns z such that a standard normal lies within ±z with
// probability level: 1.95996 for 0.95. A level outside (0, 1) counts as 0.95.
func NormalQuantile(level float64) float64 {
	return distuv.UnitNormal.Quantile((1 + cleanLevel(level)) / 2)
}

// cleanCounts reports whether there is anything to estimate from, and pulls
// successes back into [0, n]: sums of weights miss it by rounding.
func cleanCounts(x, n float64) (float64, float64, bool) {
	if !(n > 0) || math.IsInf(n, 1) || math.IsNaN(x) {
		return 0, 0, false
	}
	return clamp(x, 0, n), n, true
}

func cleanLevel(level float64) float64 {
	if !(level > 0 && level < 1) {
		return 0.95
	}
	return level
}

func clamp(x, lo, hi float64) float64 {
	return math.Min(math.Max(x, lo), hi)
}
