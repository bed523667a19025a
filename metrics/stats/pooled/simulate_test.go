package pooled

import (
	"math"
	"math/rand/v2"
)

// world is a data set drawn from the prior, with its true log-odds.
type world struct {
	data   Data
	scales [families]float64
	truth  func(g, k, r, s int) float64
	// Parts of truth: a group's own (alpha and beta), and a condition's.
	ownEffect       func(g, k int) float64
	conditionEffect func(s, k int) float64
}

type size struct {
	groups, items, classes, conditions int
	filled                             float64 // share of cells with trials
	trials                             float64 // mean trials of a filled cell
}

// draw takes scales, effects and counts from the model's own prior.
func (z size) draw(rng *rand.Rand) world {
	var s [families]float64
	for f := range s {
		s[f] = 0.5 * math.Abs(rng.NormFloat64())
	}
	return z.drawAt(rng, s)
}

// drawAt takes effects and counts at given scales.
func (z size) drawAt(rng *rand.Rand, s [families]float64) world {
	normals := func(n int, sd float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = sd * rng.NormFloat64()
		}
		return out
	}
	d := Data{Own: make([]int, z.groups), OwnClasses: z.classes, Items: z.items, Opposing: z.classes, Conditions: z.conditions}
	for g := range d.Own {
		d.Own[g] = rng.IntN(z.classes)
	}
	mu, rho := normals(z.items, 1.5), normals(z.classes*z.items, s[famRho])
	alpha, beta := normals(z.groups, s[famAlpha]), normals(z.groups*z.items, s[famBeta])
	gamma, delta := normals(z.classes*z.items, s[famGamma]), normals(z.conditions*z.items, s[famDelta])
	truth := func(g, k, r, c int) float64 {
		return mu[k] + rho[d.Own[g]*z.items+k] + alpha[g] + beta[g*z.items+k] + gamma[r*z.items+k] + delta[c*z.items+k]
	}
	for g := range z.groups {
		for k := range z.items {
			for r := range z.classes {
				for c := range z.conditions {
					if rng.Float64() >= z.filled {
						continue
					}
					n := 1 + rng.IntN(int(2*z.trials))
					p := sigmoid(truth(g, k, r, c))
					y := 0
					for range n {
						if rng.Float64() < p {
							y++
						}
					}
					d.Cells = append(d.Cells, Cell{Group: g, Item: k, Opposing: r, Condition: c, Successes: float64(y), Trials: float64(n)})
				}
			}
		}
	}
	return world{data: d, scales: s, truth: truth,
		ownEffect:       func(g, k int) float64 { return alpha[g] + beta[g*z.items+k] },
		conditionEffect: func(c, k int) float64 { return delta[c*z.items+k] },
	}
}
