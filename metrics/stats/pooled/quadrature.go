package pooled

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// hermiteX and hermiteW integrate over a standard normal.
var hermiteX, hermiteW = normalQuadrature(15)

// normalQuadrature turns gonum's Gauss-Hermite rule, whose kernel is exp(-x²),
// into one for the standard normal density.
func normalQuadrature(n int) (x, w []float64) {
	x, w = make([]float64, n), make([]float64, n)
	quad.Hermite{}.FixedLocations(x, w, math.Inf(-1), math.Inf(1))
	var sum float64
	for i := range x {
		x[i] *= math.Sqrt2
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return x, w
}
