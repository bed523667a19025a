package pooled

import "math"

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
