package pooled

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Scales are the standard deviations of the families, on the log-odds scale.
type Scales struct {
	Own         float64 // rho, own class by item
	Group       float64 // alpha
	GroupByItem float64 // beta
	Opposing    float64 // gamma, opposing class by item
	Condition   float64 // delta, condition by item
}

func (s Scales) list() [families]float64 {
	return [families]float64{famRho: s.Own, famAlpha: s.Group, famBeta: s.GroupByItem, famGamma: s.Opposing, famDelta: s.Condition}
}

func scalesOf(s [families]float64) Scales {
	return Scales{Own: s[famRho], Group: s[famAlpha], GroupByItem: s[famBeta], Opposing: s[famGamma], Condition: s[famDelta]}
}

// zBound keeps z where the scale is positive and the normal tail is exact.
const zBound = 7

// scaleOf is the half-normal quantile s = F⁻¹(Φ(z)), F having scale sd, and the
// derivative of log s in z.
func scaleOf(z, sd float64) (s, dlog float64) {
	z = min(max(z, -zBound), zBound)
	below := distuv.UnitNormal.CDF(z)
	t := 0.0 // s in units of sd
	if z < -4 {
		// erf(t/√2) = Φ(z) with t small: the first two terms of the series.
		t = below * math.Sqrt(math.Pi/2)
		t *= 1 + t*t/6
	} else {
		t = -distuv.UnitNormal.Quantile(distuv.UnitNormal.CDF(-z) / 2)
	}
	// F'(s) ds = φ(z) dz, and F' = 2φ(t)/sd.
	dlog = math.Exp((t*t-z*z)/2) / (2 * t)
	return t * sd, dlog
}
