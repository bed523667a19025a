package pooled

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// The central composite design of nested Laplace (Rue, Martino and Chopin 2009,
// section 6.5; Sanchez SM, Sanchez PJ (2005) ACM TOMACS 15:362-377 for the
// fraction): the centre, two points on each axis and a half fraction of the
// corners, all but the centre at the distance sphere·√5. The share of the centre
// follows from the demand that the mean square of a standard normal come out.
const sphere = 1.1

// designPoints are the 27 places in standard coordinates and the log of their
// weights where the density is exactly normal; the density's own value at the
// point is to be added.
func designPoints() (at [][families]float64, logWeight []float64) {
	at = append(at, [families]float64{})
	radius := sphere * math.Sqrt(families)
	for f := range families {
		for _, sign := range []float64{1, -1} {
			var p [families]float64
			p[f] = sign * radius
			at = append(at, p)
		}
	}
	for bits := range 1 << (families - 1) {
		var p [families]float64
		last := 1.0
		for f := range families - 1 {
			sign := 1.0
			if bits>>f&1 == 1 {
				sign = -1
			}
			p[f] = sign * sphere
			last *= sign
		}
		p[families-1] = last * sphere
		at = append(at, p)
	}
	outer := 1 / (float64(len(at)-1) * sphere * sphere)
	logWeight = make([]float64, len(at))
	logWeight[0] = math.Log(1 - 1/(sphere*sphere))
	for i := 1; i < len(at); i++ {
		logWeight[i] = math.Log(outer) + families*sphere*sphere/2
	}
	return at, logWeight
}

// place is a design point in z.
func (h *hyper) place(at [families]float64) [families]float64 {
	z := h.mode
	for i := range families {
		for j := range families {
			z[i] += h.axes.At(i, j) * at[j]
		}
		z[i] = min(max(z[i], -zBound), zBound)
	}
	return z
}

// Where the data are few, solving is cheap and the posterior of the scales is far
// from normal: the design is then a cloud of low discrepancy around the mode,
// wider than the curvature there says, and each place weighs what the
// density is over how densely the cloud lies there.
const (
	cloudPoints = 192
	cloudWider  = 1.25
	cloudBorder = 64 // border effects up to which the cloud is cheap
)

// cloudOf places a Kronecker sequence, with the generalised golden ratio of five
// dimensions (Roberts M (2018), "The unreasonable effectiveness of quasirandom
// sequences", from memory), by normal quantiles.
func cloudOf(n int) (at [][families]float64, logWeight []float64) {
	const golden = 1.1347241384015194 // x^6 = x + 1
	at, logWeight = make([][families]float64, n), make([]float64, n)
	for i := range at {
		step := 1.0
		for f := range families {
			step /= golden
			_, u := math.Modf(0.5 + float64(i)*step)
			u = min(max(u, 0.5/float64(n)), 1-0.5/float64(n))
			z := distuv.UnitNormal.Quantile(u)
			at[i][f] = cloudWider * z
			logWeight[i] += z * z / 2
		}
	}
	return at, logWeight
}
