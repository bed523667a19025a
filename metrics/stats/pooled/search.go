package pooled

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Limits of the search for the scales, in units of z (prior sd 1) and of log
// evidence. The design's weights use the evidence itself, so the mode need not be
// exact.
const (
	searchSteps  = 30
	longestStep  = 1.5
	gainSettled  = 0.01
	zLimit       = 5.0
	leastEigen   = 0.3
	differenceBy = 0.7 // step of the differences, in posterior sd
)

// hyper is the search's state: the mode of z, curvature there, and its factor.
type hyper struct {
	mode      [families]float64
	curvature *mat.SymDense
	axes      *mat.Dense // columns: eigenvectors over the root of the eigenvalue
}

// evaluate returns the point at z, started from a neighbour. A node of the design
// keeps what draws and refits need, and no more.
func (e *engine) evaluate(z [families]float64, from *point, ws *workspace, node bool) (*point, bool, error) {
	p := e.newPoint()
	if node {
		p.hessian = make([]float64, len(p.chol))
	}
	e.setScales(p, z)
	p.startFrom(e.layout, from)
	settled, err := e.closest(p, ws, settledBy)
	if node && !e.layout.few() {
		p.slim()
	}
	return p, settled, err
}

// findMode climbs the log evidence in z by quasi-Newton steps from start.
func (e *engine) findMode(start *point, ws *workspace) (best *point, settled bool, err error) {
	best = start
	var b [families][families]float64
	for f := range families {
		b[f][f] = best.info[f]
	}
	for range searchSteps {
		step, gain := newtonStep(b, best.grad)
		if gain < gainSettled {
			return best, true, nil
		}
		next, err := e.climb(best, step, gain, ws)
		if err != nil {
			return nil, false, err
		}
		if next == nil {
			return best, gain < 10*gainSettled, nil
		}
		updateCurvature(&b, best, next)
		best = next
	}
	return best, false, nil
}

// climb tries a step and shorter ones; nil if none of them gains.
func (e *engine) climb(at *point, step [families]float64, gain float64, ws *workspace) (*point, error) {
	for t := 1.0; t > 0.05; t /= 3 {
		z := at.z
		for f := range families {
			z[f] = min(max(z[f]+t*step[f], -zLimit), zLimit)
		}
		next, _, err := e.evaluate(z, at, ws, false)
		if err != nil {
			return nil, err
		}
		if next.value > at.value+0.05*t*gain {
			return next, nil
		}
	}
	return nil, nil
}

// newtonStep solves for the step of the given curvature, cut to the longest one
// allowed, and returns what it promises to gain.
func newtonStep(b [families][families]float64, grad [families]float64) (step [families]float64, gain float64) {
	m := mat.NewSymDense(families, nil)
	for i := range families {
		for j := i; j < families; j++ {
			m.SetSym(i, j, b[i][j])
		}
	}
	var chol mat.Cholesky
	g := mat.NewVecDense(families, grad[:])
	var x mat.VecDense
	if !chol.Factorize(m) || chol.SolveVecTo(&x, g) != nil {
		x.CloneFromVec(g)
	}
	long := mat.Norm(&x, math.Inf(1))
	for f := range families {
		step[f] = x.AtVec(f)
		if long > longestStep {
			step[f] *= longestStep / long
		}
		gain += step[f] * grad[f] / 2
	}
	return step, gain
}

// updateCurvature is the BFGS update with Powell's damping, which keeps the
// curvature positive definite (Nocedal J, Wright SJ (2006) Numerical
// Optimization, procedure 18.2).
func updateCurvature(b *[families][families]float64, from, to *point) {
	var s, y, bs [families]float64
	var sbs, sy float64
	for i := range families {
		s[i] = to.z[i] - from.z[i]
		y[i] = from.grad[i] - to.grad[i]
	}
	for i := range families {
		for j := range families {
			bs[i] += b[i][j] * s[j]
		}
		sbs += s[i] * bs[i]
		sy += s[i] * y[i]
	}
	if sbs <= 0 {
		return
	}
	if sy < 0.2*sbs {
		t := 0.8 * sbs / (sbs - sy)
		sy = 0
		for i := range families {
			y[i] = t*y[i] + (1-t)*bs[i]
			sy += s[i] * y[i]
		}
	}
	for i := range families {
		for j := range families {
			b[i][j] += y[i]*y[j]/sy - bs[i]*bs[j]/sbs
		}
	}
}

// curvature differences the gradient around the mode and factors the result.
func (e *engine) curvature(mode *point, workers int) (*hyper, error) {
	var zs [2 * families][families]float64
	var h [families]float64
	for f := range families {
		h[f] = differenceBy / math.Sqrt(mode.info[f])
		for side := range 2 {
			zs[2*f+side] = mode.z
			zs[2*f+side][f] += h[f] * float64(1-2*side)
		}
	}
	points, _, err := e.evaluateAll(zs[:], mode, workers, false)
	if err != nil {
		return nil, err
	}
	a := mat.NewSymDense(families, nil)
	slope := func(i, f int) float64 { return (points[2*f+1].grad[i] - points[2*f].grad[i]) / (2 * h[f]) }
	for i := range families {
		for j := i; j < families; j++ {
			a.SetSym(i, j, (slope(i, j)+slope(j, i))/2)
		}
	}
	return newHyper(mode.z, a), nil
}

func newHyper(mode [families]float64, a *mat.SymDense) *hyper {
	h := &hyper{mode: mode, curvature: a, axes: mat.NewDense(families, families, nil)}
	var eigen mat.EigenSym
	if !eigen.Factorize(a, true) {
		for f := range families {
			h.axes.Set(f, f, 1)
		}
		return h
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for j, value := range eigen.Values(nil) {
		for i := range families {
			h.axes.Set(i, j, vectors.At(i, j)/math.Sqrt(max(value, leastEigen)))
		}
	}
	return h
}

// evaluateAll evaluates several places, each from the same neighbour, on several
// goroutines; each place is one goroutine's own, so the result does not depend
// on their number.
func (e *engine) evaluateAll(zs [][families]float64, from *point, workers int, nodes bool) ([]*point, int, error) {
	points := make([]*point, len(zs))
	unsettled := make([]bool, len(zs))
	errs := make([]error, len(zs))
	workers = max(min(workers, len(zs)), 1)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			ws := e.newWorkspace(1)
			for i := w; i < len(zs); i += workers {
				p, ok, err := e.evaluate(zs[i], from, ws, nodes)
				points[i], unsettled[i], errs[i] = p, !ok, err
			}
		})
	}
	wg.Wait()
	bad := 0
	for i := range zs {
		if errs[i] != nil {
			return nil, 0, errs[i]
		}
		if unsettled[i] {
			bad++
		}
	}
	return points, bad, nil
}
