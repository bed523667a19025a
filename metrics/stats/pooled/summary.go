package pooled

import (
	"math"
	"slices"
	"sync"
)

// Summary is what a table prints of a set of draws.
type Summary struct {
	Mean, SD, Q10, Q50, Q90 float64
}

// Summarise sorts a copy of the draws and sums them up. Without draws it is zero.
func Summarise(draws []float64) Summary {
	if len(draws) == 0 {
		return Summary{}
	}
	sorted := slices.Clone(draws)
	slices.Sort(sorted)
	var s Summary
	for _, x := range sorted {
		s.Mean += x / float64(len(sorted))
	}
	for _, x := range sorted {
		s.SD += sq(x - s.Mean)
	}
	s.SD = math.Sqrt(s.SD / max(float64(len(sorted)-1), 1))
	s.Q10, s.Q50, s.Q90 = quantile(sorted, 0.1), quantile(sorted, 0.5), quantile(sorted, 0.9)
	return s
}

// quantile is linear between order statistics.
func quantile(sorted []float64, q float64) float64 {
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// Moments are the means and the sample covariance matrix of several sets of joint
// draws, all of one length: what a plan for further trials is made from.
func Moments(draws ...[]float64) (mean []float64, cov [][]float64) {
	mean, cov = make([]float64, len(draws)), make([][]float64, len(draws))
	for i, x := range draws {
		for _, v := range x {
			mean[i] += v / float64(len(x))
		}
	}
	for i, x := range draws {
		cov[i] = make([]float64, len(draws))
		for j, y := range draws[:i+1] {
			var sum float64
			for at := range x {
				sum += (x[at] - mean[i]) * (y[at] - mean[j])
			}
			cov[i][j] = sum / max(float64(len(x)-1), 1)
			cov[j][i] = cov[i][j]
		}
	}
	return mean, cov
}

// SeenCell is the fitted rate of one group, item and opposing class.
type SeenCell struct {
	Group, Item, Opposing int
	Trials                float64
	Summary
}

// SeenCells sums up every combination of group, item and opposing class that has
// trials, ordered so; see [Member.Seen]. It works through groups on workers
// goroutines (at least 1); the result does not depend on their number.
func (d *Draws) SeenCells(workers int) []SeenCell {
	l := d.post.engine.layout
	byRow := make([][]SeenCell, len(l.rows))
	workers = max(workers, 1)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < len(l.rows); i += workers {
				byRow[i] = d.seenOfRow(i)
			}
		})
	}
	wg.Wait()
	return slices.Concat(byRow...)
}

func (d *Draws) seenOfRow(i int) (out []SeenCell) {
	l := d.post.engine.layout
	m := d.Group(l.rows[i])
	for b := l.block0[i]; b < l.block0[i+1]; b++ {
		for c := l.cell0[b]; c < l.cell0[b+1]; {
			cell := SeenCell{Group: m.group, Item: l.item[b], Opposing: l.opposing[c]}
			for c < l.cell0[b+1] && l.opposing[c] == cell.Opposing {
				cell.Trials += l.n[c]
				c++
			}
			cell.Summary = Summarise(m.Seen(cell.Item, cell.Opposing))
			out = append(out, cell)
		}
	}
	return out
}
