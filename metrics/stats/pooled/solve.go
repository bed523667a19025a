package pooled

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/blas/blas64"
)

var errNotDefinite = errors.New("pooled: the Hessian is not positive definite: counts too large or not finite")

// Newton's limits: on the log-odds scale, a cell that moves by less than
// settledBy has moved for the last time (the next step is of its square).
const (
	maxSteps  = 40
	nearMode  = 0.3
	settledBy = 0.05
)

// mode moves the point to the joint mode at its scales by damped Newton steps,
// until a cell moves by less than tol.
func (e *engine) mode(p *point, ws *workspace, tol float64) (settled bool, err error) {
	clear(p.v)
	best := math.Inf(-1)
	var saved savedMeans
	for range maxSteps {
		s := e.pass(p, ws, false)
		value := s.logLik - (s.squares+norm2(p.border))/2
		if value < best-1e-9*math.Abs(best) && saved.halvings < 8 {
			saved.retreat(p)
			continue
		}
		best = value
		p.value = value
		done := p.factored && s.moved < tol
		saved.keep(p)
		if !e.factor(p, s) {
			return false, errNotDefinite
		}
		if done {
			p.value -= p.logdet / 2
			e.finish(p)
			return true, nil
		}
	}
	e.finish(p)
	return false, nil
}

// savedMeans lets a step that made things worse be taken back by half.
type savedMeans struct {
	border, row, block []float64
	halvings           int
}

func (m *savedMeans) keep(p *point) {
	m.border = append(m.border[:0], p.border...)
	m.row = append(m.row[:0], p.row...)
	m.block = append(m.block[:0], p.block...)
	m.halvings = 0
}

func (m *savedMeans) retreat(p *point) {
	m.halvings++
	half := func(to, from []float64) {
		for i := range to {
			to[i] = (to[i] + from[i]) / 2
		}
	}
	half(p.border, m.border)
	half(p.row, m.row)
	half(p.block, m.block)
	p.factored = false
}

// closest moves the point to the Gaussian closest to the posterior at its
// scales, starting near the mode or from a neighbouring point, and leaves the
// bound on the log evidence (prior of z included) and its derivatives.
func (e *engine) closest(p *point, ws *workspace, tol float64) (settled bool, err error) {
	for range maxSteps {
		variational := p.factored
		s := e.pass(p, ws, true)
		p.carried = false
		if variational {
			e.bound(p, s)
			settled = s.moved < tol && s.vMoved < tol
		}
		if !e.factor(p, s) {
			return false, errNotDefinite
		}
		if settled {
			break
		}
	}
	p.value += e.gain(p, ws.chunks[0]) / 2
	e.finish(p)
	return settled, nil
}

// gain is gᵀH⁻¹g for the gradient g that the pending step answers: twice what the
// step promises. Without it the bound would lag one step behind.
func (e *engine) gain(p *point, s *sums) float64 {
	g := blas64.Dot(vec(s.rhs), vec(p.stepBorder))
	for b, r := range p.redBlock {
		g += r * r / p.hb[b]
	}
	for i, r := range p.redRow {
		g += r * r / p.ha[i]
	}
	return g
}

// bound is the evidence lower bound of N(mean, H⁻¹) with the factored H. The sum
// of variances of all effects is their number less Σ w v, because H is the
// identity plus the weights.
func (e *engine) bound(p *point, s *sums) {
	nb := e.layout.border()
	for j, f := range e.layout.family {
		if f != famMu {
			s.moment(f, p.border[j], p.cov[j*nb+j])
		}
	}
	p.value = s.logLik - (s.squares+norm2(p.border))/2 + s.spread/2 - p.logdet/2
	for f := range families {
		p.value -= p.z[f] * p.z[f] / 2
		p.grad[f] = s.second[f]*p.dlog[f] - p.z[f]
		p.info[f] = 1 + s.info[f]*sq(p.dlog[f])
	}
}

// finish takes the rows' share of the last step.
func (e *engine) finish(p *point) {
	for i := range p.row {
		p.stepRow(e.layout, i)
	}
	p.factored = false
}

func norm2(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v * v
	}
	return s
}
