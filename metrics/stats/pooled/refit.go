package pooled

// Refitting after a few rows have changed. At each node of the design the rows
// that did not change are a quadratic in the border, known from the earlier fit;
// only the changed rows are solved anew, together with the border. What is left
// out is of second order in how far the border moves.

import (
	"math"
	"slices"
	"sync"
)

const (
	refitSteps   = 4
	mostChanged  = 0.25 // share of rows, and of trials since the last full fit
	mostReweight = 0.3  // total variation of the nodes' weights since then
)

// refitPlan relates two layouts with the same border.
type refitPlan struct {
	old, new           *engine
	oldRow             []int // of each new row, or -1
	changedOld, anew   []int // rows that changed, in the old layout and in the new
	changed            []bool
	trialsSinceFullFit float64
}

// planRefit returns nil where a full fit is called for.
func planRefit(from *Posterior, e *engine) *refitPlan {
	old := from.engine
	a, b := old.layout, e.layout
	same := old.itemSD == e.itemSD && old.scaleSD == e.scaleSD && !a.few() && !b.few() &&
		slices.Equal(a.mu, b.mu) && slices.Equal(a.rho, b.rho) && slices.Equal(a.gam, b.gam) && slices.Equal(a.del, b.del)
	if !same {
		return nil
	}
	p := &refitPlan{old: old, new: e, oldRow: make([]int, len(b.rows)), changed: make([]bool, len(b.rows)), trialsSinceFullFit: from.changedTrials}
	kept := make([]bool, len(a.rows))
	for i, g := range b.rows {
		p.oldRow[i] = -1
		if g < len(a.rowOf) {
			p.oldRow[i] = a.rowOf[g]
		}
		if j := p.oldRow[i]; j >= 0 && sameRow(a, j, b, i) {
			kept[j] = true
			continue
		}
		p.changed[i] = true
		p.anew = append(p.anew, i)
		p.trialsSinceFullFit += b.rowTrials(i)
	}
	for j, k := range kept {
		if !k {
			p.changedOld = append(p.changedOld, j)
			p.trialsSinceFullFit -= a.rowTrials(j)
		}
	}
	p.trialsSinceFullFit = math.Abs(p.trialsSinceFullFit)
	if float64(len(p.anew)) > mostChanged*float64(len(b.rows)) || p.trialsSinceFullFit > mostChanged*b.trials {
		return nil
	}
	return p
}

func (l *layout) rowTrials(i int) (sum float64) {
	for _, n := range l.n[l.cell0[l.block0[i]]:l.cell0[l.block0[i+1]]] {
		sum += n
	}
	return sum
}

// sameRow says whether row j of a and row i of b hold the same cells.
func sameRow(a *layout, j int, b *layout, i int) bool {
	if a.data.Own[a.rows[j]] != b.data.Own[b.rows[i]] {
		return false
	}
	if !slices.Equal(a.item[a.block0[j]:a.block0[j+1]], b.item[b.block0[i]:b.block0[i+1]]) {
		return false
	}
	ac, az := a.cell0[a.block0[j]], a.cell0[a.block0[j+1]]
	bc, bz := b.cell0[b.block0[i]], b.cell0[b.block0[i+1]]
	for k := a.block0[j]; k <= a.block0[j+1]; k++ {
		if a.cell0[k]-ac != b.cell0[k-a.block0[j]+b.block0[i]]-bc {
			return false
		}
	}
	return slices.Equal(a.n[ac:az], b.n[bc:bz]) && slices.Equal(a.y[ac:az], b.y[bc:bz]) && slices.Equal(a.offset[ac:az], b.offset[bc:bz]) &&
		slices.Equal(a.opposing[ac:az], b.opposing[bc:bz]) && slices.Equal(a.condition[ac:az], b.condition[bc:bz])
}

// refit fills f with the nodes of an earlier fit brought up to date. It reports
// false where that fit's design no longer suits.
func (f *Posterior) refit(from *Posterior, plan *refitPlan, workers int) (bool, error) {
	f.hyper, f.logNode = from.hyper, from.logNode
	f.fullWeight, f.changedTrials = from.fullWeight, plan.trialsSinceFullFit
	f.warnings = slices.Clone(from.warnings)
	f.nodes = make([]*point, len(from.nodes))
	errs := make([]error, len(from.nodes))
	workers = max(min(workers, len(f.nodes)), 1)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			x := plan.newScratch()
			for i := w; i < len(f.nodes); i += workers {
				f.nodes[i], errs[i] = plan.node(from.nodes[i], x)
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return false, err
		}
	}
	if err := f.weigh(); err != nil {
		return false, err
	}
	var moved float64
	for i, w := range f.weight {
		moved += math.Abs(w-f.fullWeight[i]) / 2
	}
	return moved <= mostReweight, nil
}

// refitScratch is one worker's memory.
type refitScratch struct {
	old     *point // the changed rows of a node in the old layout
	cells   *point // room for the cells of the new layout
	sums    *sums
	row     *scratch
	rest    []float64 // border Hessian of the rows that did not change
	restRHS []float64 // their gradient at the old border
	away    []float64 // how far the border has moved
	pull    []float64 // rest times away
}

func (r *refitPlan) newScratch() *refitScratch {
	nb := r.new.layout.border()
	wsOld, wsNew := r.old.newWorkspace(1), r.new.newWorkspace(1)
	x := &refitScratch{old: r.old.newPoint(), cells: r.new.newPoint(), sums: wsNew.chunks[0], row: wsNew.scratch[0]}
	if len(wsOld.scratch[0].cr) > len(x.row.cr) {
		x.row = wsOld.scratch[0]
	}
	x.rest, x.restRHS = make([]float64, nb*nb), make([]float64, nb)
	x.away, x.pull = make([]float64, nb), make([]float64, nb)
	return x
}

func (s *sums) reset() {
	clear(s.h)
	clear(s.rhs)
	*s = sums{h: s.h, rhs: s.rhs}
}

// node brings one node up to date.
func (r *refitPlan) node(from *point, x *refitScratch) (*point, error) {
	e := r.new
	value := r.takeOut(from, x)
	p := r.carryOver(from, x)
	before := slices.Clone(p.border)
	s := x.sums
	for _, i := range r.anew { // alone, before the border moves
		e.passRow(p, i, s, x.row, false)
	}
	p.factored = true // with the old border, at rest
	for step := range refitSteps {
		s.reset()
		for _, i := range r.anew {
			e.passRow(p, i, s, x.row, true)
		}
		r.restAt(p, before, x)
		if step > 0 {
			p.value = value + dot(x.restRHS, x.away) - dot(x.away, x.pull)/2 - (norm2(p.border)+norm2(p.z[:])+p.logdet)/2
			for _, i := range r.anew {
				p.value += p.rowValue[i]
			}
		}
		done := step > 0 && s.moved < settledBy && s.vMoved < settledBy
		for j := range s.rhs {
			s.rhs[j] += x.restRHS[j] - x.pull[j]
		}
		for j := range s.h {
			s.h[j] += x.rest[j]
		}
		s.logdet = 0
		if !e.factor(p, s) {
			return nil, errNotDefinite
		}
		if done {
			break
		}
	}
	p.value += r.gain(p, x.sums) / 2
	r.settle(p, before)
	return p, nil
}

// takeOut removes the changed rows of the old layout from the node's border, and
// returns the value of the rows that stay.
func (r *refitPlan) takeOut(from *point, x *refitScratch) (value float64) {
	l, o := r.old.layout, x.old
	o.z, o.s, o.dlog, o.load, o.border, o.cov = from.z, from.s, from.dlog, from.load, from.border, from.cov
	clear(o.stepBorder)
	clear(o.redRow)
	clear(o.redBlock)
	o.factored = true
	for _, v := range from.rowValue {
		value += v
	}
	x.sums.reset()
	for _, j := range r.changedOld {
		value -= from.rowValue[j]
		o.copyRow(l, j, from, l, j)
		r.old.passRow(o, j, x.sums, x.row, true)
	}
	for k := range x.rest {
		x.rest[k] = from.hessian[k] - x.sums.h[k]
	}
	for k := range x.restRHS {
		x.restRHS[k] = from.border[k] - x.sums.rhs[k]
	}
	return value
}

// copyRow copies what the solver knows of a row that has the same cells.
func (p *point) copyRow(l *layout, i int, from *point, fl *layout, j int) {
	b, fb, fz := l.block0[i], fl.block0[j], fl.block0[j+1]
	p.row[i], p.ha[i], p.rowValue[i] = from.row[j], from.ha[j], from.rowValue[j]
	copy(p.block[b:], from.block[fb:fz])
	copy(p.hb[b:], from.hb[fb:fz])
	copy(p.wsum[b:], from.wsum[fb:fz])
	copy(p.third[b:], from.third[fb:fz])
	copy(p.vmean[b:], from.vmean[fb:fz])
	copy(p.q[l.slot0[b]:], from.q[fl.slot0[fb]:fl.slot0[fz]])
}

// carryOver starts a node of the new layout from the old one.
func (r *refitPlan) carryOver(from *point, x *refitScratch) *point {
	a, b := r.old.layout, r.new.layout
	p := r.new.emptyPoint()
	p.hessian = make([]float64, len(p.chol))
	p.w, p.g, p.v, p.eta = x.cells.w, x.cells.g, x.cells.v, x.cells.eta
	p.z, p.s, p.dlog = from.z, from.s, from.dlog
	copy(p.load, from.load)
	copy(p.border, from.border)
	copy(p.cov, from.cov)
	for i, j := range r.oldRow {
		if !r.changed[i] {
			p.copyRow(b, i, from, a, j)
			continue
		}
		if j >= 0 {
			p.row[i] = from.row[j]
		}
		for k := b.block0[i]; k < b.block0[i+1]; k++ {
			v := sq(p.s[famAlpha]) + sq(p.s[famBeta])
			if old, ok := a.blockOf[[2]int{b.rows[i], b.item[k]}]; ok {
				p.block[k], v = from.block[old], from.vmean[old]
			}
			for c := b.cell0[k]; c < b.cell0[k+1]; c++ {
				p.v[c] = v
			}
		}
	}
	return p
}

// restAt works out how far the border has moved and how the unchanged rows pull
// it back.
func (r *refitPlan) restAt(p *point, before []float64, x *refitScratch) {
	nb := len(before)
	for j := range before {
		x.away[j] = p.border[j] - before[j]
		x.pull[j] = 0
	}
	for j := range nb {
		row := x.rest[j*nb : j*nb+j]
		for m, h := range row {
			x.pull[j] += h * x.away[m]
			x.pull[m] += h * x.away[j]
		}
		x.pull[j] += x.rest[j*nb+j] * x.away[j]
	}
}

func (r *refitPlan) gain(p *point, s *sums) float64 {
	l := r.new.layout
	g := dot(s.rhs, p.stepBorder)
	for _, i := range r.anew {
		g += sq(p.redRow[i]) / p.ha[i]
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			g += sq(p.redBlock[b]) / p.hb[b]
		}
	}
	return g
}

// settle takes the last step of the changed rows, and the whole way of the border
// for the others.
func (r *refitPlan) settle(p *point, before []float64) {
	l := r.new.layout
	for _, i := range r.anew {
		p.stepRow(l, i)
	}
	for j := range before {
		p.stepBorder[j] = p.border[j] - before[j]
	}
	for i := range p.row {
		if !r.changed[i] {
			p.stepRow(l, i)
		}
	}
	p.factored = false
	p.slim()
}

func dot(a, b []float64) (sum float64) {
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}
