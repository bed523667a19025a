package pooled

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// dense writes out the design matrix of all touched effects in unit coordinates.
func dense(l *layout, p *point) *mat.Dense {
	nb, rows := l.border(), len(l.rows)
	a := mat.NewDense(len(l.y), l.effects(), nil)
	for i := range l.rows {
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			col := l.column[l.slot0[b]:l.slot0[b+1]]
			for c := l.cell0[b]; c < l.cell0[b+1]; c++ {
				for _, j := range []int{col[0], col[1], col[l.gamma[c]], col[l.delta[c]]} {
					a.Set(c, j, p.load[j])
				}
				a.Set(c, nb+i, p.s[famAlpha])
				a.Set(c, nb+rows+b, p.s[famBeta])
			}
		}
	}
	return a
}

func means(p *point) []float64 {
	return append(append(append([]float64{}, p.border...), p.row...), p.block...)
}

// The eliminations against plain dense algebra: log determinant, variances of
// every cell, Newton step.
func TestEliminationIsDenseAlgebra(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, z := range []size{{5, 4, 2, 3, 0.7, 4}, {1, 1, 1, 1, 1, 3}, {3, 1, 1, 2, 1, 5}, {1, 6, 3, 2, 0.5, 2}} {
		w := z.draw(rng)
		e, err := newEngine(w.data, Options{})
		if err != nil {
			t.Fatal(err)
		}
		p := e.newPoint()
		e.setScales(p, [families]float64{0.3, -0.4, 0.1, 0.9, -1.2})
		ws := e.newWorkspace(1)
		if _, err := e.mode(p, ws, 1e-10); err != nil {
			t.Fatal(err)
		}
		l := e.layout
		a := dense(l, p)
		// Gradient at the mode: Aᵀ(y - n p) - m = 0.
		n := l.effects()
		h := mat.NewSymDense(n, nil)
		grad := make([]float64, n)
		for i := range n {
			grad[i] = -means(p)[i]
			h.SetSym(i, i, 1)
		}
		for c := range l.y {
			_, rate, _ := softplus(p.eta[c])
			for i := range n {
				grad[i] += a.At(c, i) * (l.y[c] - l.n[c]*rate)
				for j := i; j < n; j++ {
					h.SetSym(i, j, h.At(i, j)+p.w[c]*a.At(c, i)*a.At(c, j))
				}
			}
		}
		for i := range n {
			near(t, "gradient at the mode", grad[i], 0, 1e-7)
		}
		var chol mat.Cholesky
		chol.Factorize(h)
		near(t, "log determinant", p.logdet, chol.LogDet(), 1e-8)
		var inv mat.SymDense
		if err := chol.InverseTo(&inv); err != nil {
			t.Fatal(err)
		}
		p.factored = true
		clear(p.stepBorder)
		clear(p.redRow)
		clear(p.redBlock)
		var second [families]float64
		for i, m := range means(p) {
			f := famBeta
			if i < l.border() {
				f = l.family[i]
			} else if i < l.border()+len(l.rows) {
				f = famAlpha
			}
			if f != famMu {
				second[f] += m*m + inv.At(i, i) - 1
			}
		}
		s := e.pass(p, ws, true)
		e.bound(p, s)
		for c := range l.y {
			near(t, "variance of a cell", p.v[c], mat.Inner(a.RowView(c), &inv, a.RowView(c)), 1e-9)
		}
		for f := range families {
			near(t, "second moments", s.second[f], second[f], 1e-8)
		}
	}
}

// The derivative of the bound in z against differences of the bound.
func TestBoundGradient(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	w := size{6, 3, 2, 2, 0.8, 3}.draw(rng)
	e, err := newEngine(w.data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	ws := e.newWorkspace(1)
	at := func(z [families]float64) *point {
		p := e.newPoint()
		e.setScales(p, z)
		if _, err := e.mode(p, ws, 1e-6); err != nil {
			t.Fatal(err)
		}
		if ok, err := e.closest(p, ws, 1e-9); err != nil || !ok {
			t.Fatal(ok, err)
		}
		return p
	}
	z := [families]float64{0.2, -0.3, 0.5, -0.8, 0.1}
	p := at(z)
	for f := range families {
		const h = 1e-3
		up, down := z, z
		up[f] += h
		down[f] -= h
		near(t, "derivative", p.grad[f], (at(up).value-at(down).value)/(2*h), 2e-4)
	}
}

// The bound and the logistic means against quadrature with many more nodes.
func TestLogisticMeans(t *testing.T) {
	x, w := normalQuadrature(80)
	for _, m := range []float64{-6, -2, -0.5, 0, 0.3, 1.7, 4} {
		for _, v := range []float64{0, 0.01, 0.1, 0.29, 0.31, 1, 3} {
			var value, rate, weight, third float64
			for i := range x {
				a, p, q := softplus(m + math.Sqrt(v)*x[i])
				value += w[i] * a
				rate += w[i] * p
				weight += w[i] * p * q
				third += w[i] * p * q * (q - p)
			}
			gv, gr, gw, gt := softplusMean(m, v)
			near(t, "third", gt, third, 1e-3)
			near(t, "value", gv, value, 1e-4)
			near(t, "rate", gr, rate, 1e-4)
			near(t, "weight", gw, weight, 2.5e-4)
		}
	}
}

// The scale's prior: quantiles of the half-normal, here by bisection of its
// distribution function erf, and the derivative by differences.
func TestScaleOfZ(t *testing.T) {
	for z := -6.9; z < 7; z += 0.37 {
		s, dlog := scaleOf(z, 0.5)
		tail := math.Erfc(s / 0.5 / math.Sqrt2)
		near(t, "upper tail", tail/(0.5*math.Erfc(z/math.Sqrt2)), 1, 1e-6)
		a, _ := scaleOf(z+1e-4, 0.5)
		b, _ := scaleOf(z-1e-4, 0.5)
		near(t, "derivative", dlog, math.Log(a/b)/2e-4, 1e-4*math.Max(1, dlog))
	}
}
