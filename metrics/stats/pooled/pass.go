package pooled

// The linear algebra of one row, and how the rows meet in the border.
//
// With W the sum of trial weights of a block and q_j = load_j times the weights
// of slot j, the Hessian of a row in unit coordinates is
//
//	beta-beta    hb = 1 + s_β² W
//	beta-alpha   s_α s_β W             beta-border   s_β q
//	alpha-alpha  1 + s_α² ΣW           alpha-border  s_α q
//
// Eliminating the betas leaves ha = 1 + s_α² Σ W/hb and r = s_α q/hb, and then
// the border loses s_β² q qᵀ/hb for each block and r rᵀ/ha for each row.

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// engine solves for the effects at given scales.
type engine struct {
	layout  *layout
	itemSD  float64
	scaleSD float64
}

// sums is what a chunk of rows adds to the border and to the value.
type sums struct {
	h, rhs  []float64
	logLik  float64 // mean log-likelihood under the Gaussian
	squares float64 // squared means of alpha and beta
	spread  float64 // old weight times variance, over cells
	logdet  float64 // of the pivots
	moved   float64 // largest change of a cell's log-odds
	vMoved  float64 // largest change of a cell's variance
	second  [families]float64
	info    [families]float64
}

func (a *sums) add(b *sums) {
	blas64.Axpy(1, vec(b.h), vec(a.h))
	blas64.Axpy(1, vec(b.rhs), vec(a.rhs))
	a.logLik += b.logLik
	a.squares += b.squares
	a.spread += b.spread
	a.logdet += b.logdet
	a.moved, a.vMoved = max(a.moved, b.moved), max(a.vMoved, b.vMoved)
	for f := range families {
		a.second[f] += b.second[f]
		a.info[f] += b.info[f]
	}
}

func vec(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Data: x, Inc: 1} }

// workspace is the memory of one running solver.
type workspace struct {
	chunks  []*sums
	scratch []*scratch
	workers int
}

// scratch is the memory of one row: r spread over the border, and for each slot
// of the row the inverse border times r and q.
type scratch struct {
	dense      []float64
	cr, cq, at []float64
}

// newWorkspace splits the rows into chunks. Their number depends on the data
// alone, so that sums come out the same on any machine.
func (e *engine) newWorkspace(workers int) *workspace {
	nb := e.layout.border()
	slots := 0
	l := e.layout
	for i := range l.rows {
		slots = max(slots, l.slot0[l.block0[i+1]]-l.slot0[l.block0[i]])
	}
	ws := &workspace{workers: workers}
	for range min(max(len(l.rows)/48, 1), 8) {
		ws.chunks = append(ws.chunks, &sums{h: make([]float64, nb*nb), rhs: make([]float64, nb)})
		ws.scratch = append(ws.scratch, &scratch{dense: make([]float64, nb), cr: make([]float64, slots), cq: make([]float64, slots), at: make([]float64, slots)})
	}
	return ws
}

// pass takes the pending step, renews the variances if asked to, takes the
// logistic means at the new place, and gathers the next Hessian.
func (e *engine) pass(p *point, ws *workspace, variational bool) *sums {
	rows, n := len(e.layout.rows), len(ws.chunks)
	one := func(c int) {
		s := ws.chunks[c]
		clear(s.h)
		clear(s.rhs)
		*s = sums{h: s.h, rhs: s.rhs}
		for i := c * rows / n; i < (c+1)*rows/n; i++ {
			e.passRow(p, i, s, ws.scratch[c], variational)
		}
	}
	if ws.workers > 1 && n > 1 {
		var wg sync.WaitGroup
		for w := range ws.workers {
			wg.Go(func() {
				for c := w; c < n; c += ws.workers {
					one(c)
				}
			})
		}
		wg.Wait()
	} else {
		for c := range n {
			one(c)
		}
	}
	total := ws.chunks[0]
	for _, s := range ws.chunks[1:] {
		total.add(s)
	}
	return total
}

func (e *engine) passRow(p *point, i int, s *sums, x *scratch, variational bool) {
	l := e.layout
	first, last := l.block0[i], l.block0[i+1]
	var pivots float64
	before := *s
	if p.factored {
		p.stepRow(l, i)
		if variational {
			pivots = p.pivots(l, i)
			e.variances(p, i, s, x)
		}
	}
	s.squares += p.row[i] * p.row[i]
	sa, sb := p.s[famAlpha], p.s[famBeta]
	gradRow, pivot := -p.row[i], 1.0
	for b := first; b < last; b++ {
		g := e.cells(p, i, b, s)
		s.squares += p.block[b] * p.block[b]
		gradRow += sa * g
		gradBlock := sb*g - p.block[b]
		hb := 1 + sb*sb*p.wsum[b]
		p.hb[b], p.redBlock[b] = hb, gradBlock
		pivot += sa * sa * p.wsum[b] / hb
		gradRow -= sa * sb * p.wsum[b] / hb * gradBlock
		s.logdet += math.Log(hb)
		e.eliminateBlock(p, b, s, sb, gradBlock)
	}
	p.ha[i], p.redRow[i] = pivot, gradRow
	s.logdet += math.Log(pivot)
	p.rowValue[i] = s.logLik - before.logLik + (s.spread-before.spread-s.squares+before.squares-pivots)/2
	e.eliminateRow(p, i, s, x)
}

// pivots is the row's part of the log determinant of the factored Hessian.
func (p *point) pivots(l *layout, i int) float64 {
	sum := math.Log(p.ha[i])
	for b := l.block0[i]; b < l.block0[i+1]; b++ {
		sum += math.Log(p.hb[b])
	}
	return sum
}

// stepRow moves the row's own effects by what follows from the border's step.
func (p *point) stepRow(l *layout, i int) {
	sa, sb := p.s[famAlpha], p.s[famBeta]
	first, last := l.block0[i], l.block0[i+1]
	var rowDot float64
	for b := first; b < last; b++ {
		rowDot += sa / p.hb[b] * p.dot(l, b, p.stepBorder)
	}
	step := (p.redRow[i] - rowDot) / p.ha[i]
	p.row[i] += step
	for b := first; b < last; b++ {
		p.block[b] += (p.redBlock[b] - sb*p.dot(l, b, p.stepBorder) - sa*sb*p.wsum[b]*step) / p.hb[b]
	}
}

// dot is q of a block times a border vector.
func (p *point) dot(l *layout, b int, border []float64) float64 {
	var sum float64
	for j := l.slot0[b]; j < l.slot0[b+1]; j++ {
		sum += p.q[j] * border[l.column[j]]
	}
	return sum
}

// cells takes the logistic means of a block's cells, and returns the sum of
// their gradients. It leaves q, the sum of weights, and adds the border's own
// gradient and Hessian.
func (e *engine) cells(p *point, i, b int, s *sums) float64 {
	l := e.layout
	slot := l.slot0[b]
	col := l.column[slot:l.slot0[b+1]]
	q := p.q[slot:l.slot0[b+1]]
	nb := l.border()
	base := p.s[famAlpha]*p.row[i] + p.s[famBeta]*p.block[b] + p.load[col[0]]*p.border[col[0]] + p.load[col[1]]*p.border[col[1]]
	clear(q)
	var gsum, wsum, ksum float64
	for c := l.cell0[b]; c < l.cell0[b+1]; c++ {
		jg, jd := l.gamma[c], l.delta[c]
		cg, cd := col[jg], col[jd]
		if !p.carried {
			eta := base + p.load[cg]*p.border[cg] + p.load[cd]*p.border[cd] + l.offset[c]
			value, rate, weight, third := softplusMean(eta, p.v[c])
			s.logLik += l.y[c]*eta - l.n[c]*value
			s.moved = max(s.moved, math.Abs(eta-p.eta[c]))
			p.eta[c], p.w[c], p.g[c] = eta, l.n[c]*weight, l.y[c]-l.n[c]*rate
			ksum -= l.n[c] * third
		}
		w, g := p.w[c], p.g[c]
		gsum, wsum = gsum+g, wsum+w
		q[jg] += w
		q[jd] += w
		s.rhs[cg] += p.load[cg] * g
		s.rhs[cd] += p.load[cd] * g
		s.h[cd*nb+cg] += p.load[cd] * p.load[cg] * w
	}
	q[0], q[1] = wsum, wsum
	p.wsum[b], p.third[b] = wsum, ksum
	for j := range 2 {
		s.rhs[col[j]] += p.load[col[j]] * gsum
	}
	for j, cj := range col {
		q[j] *= p.load[cj]
		s.h[cj*nb+cj] += p.load[cj] * q[j]
		for h := range min(j, 2) {
			s.h[cj*nb+col[h]] += p.load[col[h]] * q[j]
		}
	}
	return gsum
}

func (e *engine) eliminateBlock(p *point, b int, s *sums, sb, grad float64) {
	l := e.layout
	nb := l.border()
	col := l.column[l.slot0[b]:l.slot0[b+1]]
	q := p.q[l.slot0[b]:l.slot0[b+1]]
	by := sb * sb / p.hb[b]
	for j, cj := range col {
		s.rhs[cj] -= sb / p.hb[b] * q[j] * grad
		f := by * q[j]
		h := s.h[cj*nb : cj*nb+cj+1]
		for m, cm := range col[:j+1] {
			h[cm] -= f * q[m]
		}
	}
}

func (e *engine) eliminateRow(p *point, i int, s *sums, x *scratch) {
	l := e.layout
	nb := l.border()
	e.spreadRow(p, i, x)
	first, last := l.slot0[l.block0[i]], l.slot0[l.block0[i+1]]
	for _, cj := range l.column[first:last] {
		f := x.dense[cj] / p.ha[i]
		s.rhs[cj] -= f * p.redRow[i]
		blas64.Axpy(-f, vec(x.dense[:cj+1]), vec(s.h[cj*nb:cj*nb+cj+1]))
	}
	for _, cj := range l.column[first:last] {
		x.dense[cj] = 0
	}
}

// spreadRow writes r into the dense vector.
func (e *engine) spreadRow(p *point, i int, x *scratch) {
	l := e.layout
	for b := l.block0[i]; b < l.block0[i+1]; b++ {
		f := p.s[famAlpha] / p.hb[b]
		for j := l.slot0[b]; j < l.slot0[b+1]; j++ {
			x.dense[l.column[j]] = f * p.q[j]
		}
	}
}

// variances renews v of the row's cells from the factored Hessian, and adds the
// second moments of the row's own effects.
//
// With e_α, e_β the independent rests of the eliminated effects, the log-odds of
// a cell with border loads a are (a - s_β²/hb q - s_α/(hb ha) r)ᵀ border +
// s_α/hb e_α + s_β e_β.
func (e *engine) variances(p *point, i int, s *sums, x *scratch) {
	l := e.layout
	nb := l.border()
	e.spreadRow(p, i, x)
	first, last := l.slot0[l.block0[i]], l.slot0[l.block0[i+1]]
	var rcr float64
	for j := first; j < last; j++ {
		cj := l.column[j]
		x.cr[j-first] = blas64.Dot(vec(p.cov[cj*nb:(cj+1)*nb]), vec(x.dense))
		rcr += x.dense[cj] * x.cr[j-first]
	}
	for _, cj := range l.column[first:last] {
		x.dense[cj] = 0
	}
	sa, sb, ha := p.s[famAlpha], p.s[famBeta], p.ha[i]
	s.moment(famAlpha, p.row[i], 1/ha+rcr/(ha*ha))
	for b := l.block0[i]; b < l.block0[i+1]; b++ {
		hb := p.hb[b]
		col := l.column[l.slot0[b]:l.slot0[b+1]]
		q := p.q[l.slot0[b]:l.slot0[b+1]]
		cr := x.cr[l.slot0[b]-first:]
		var qcq, qcr float64
		for j, cj := range col {
			var sum float64
			row := p.cov[cj*nb : (cj+1)*nb]
			for m, cm := range col {
				sum += row[cm] * q[m]
			}
			x.cq[j] = sum
			qcq += q[j] * sum
			qcr += q[j] * cr[j]
		}
		k := sa * p.wsum[b] / ha
		s.moment(famBeta, p.block[b], 1/hb+sq(sb/hb)*(qcq-2*k*qcr+k*k*rcr+k*sa*p.wsum[b]))
		a1, a2 := sb*sb/hb, sa/(hb*ha)
		rest := a1*a1*qcq + 2*a1*a2*qcr + a2*a2*rcr + sq(sa/hb)/ha + sb*sb/hb
		e.cellVariances(p, b, s, x, cr, a1, a2, rest)
	}
}

func (e *engine) cellVariances(p *point, b int, s *sums, x *scratch, cr []float64, a1, a2, rest float64) {
	l := e.layout
	nb := l.border()
	col := l.column[l.slot0[b]:l.slot0[b+1]]
	l0, l1 := p.load[col[0]], p.load[col[1]]
	c0, c1 := p.cov[col[0]*nb:], p.cov[col[1]*nb:]
	both := l0*l0*c0[col[0]] + 2*l0*l1*c0[col[1]] + l1*l1*c1[col[1]]
	for j, cj := range col {
		lj := p.load[cj]
		x.at[j] = -2 * lj * (a1*x.cq[j] + a2*cr[j])
		if j >= 2 {
			x.at[j] += lj*lj*p.cov[cj*nb+cj] + 2*lj*(l0*c0[cj]+l1*c1[cj])
		}
	}
	rest += both + x.at[0] + x.at[1]
	var weighted float64
	for c := l.cell0[b]; c < l.cell0[b+1]; c++ {
		jg, jd := l.gamma[c], l.delta[c]
		cg, cd := col[jg], col[jd]
		v := max(rest+x.at[jg]+x.at[jd]+2*p.load[cg]*p.load[cd]*p.cov[cg*nb+cd], 0)
		weighted += p.w[c] * v
		s.vMoved = max(s.vMoved, math.Abs(v-p.v[c]))
		p.v[c] = v
	}
	s.spread += weighted
	p.vmean[b] = weighted / max(p.wsum[b], 1e-300)
}

// moment adds an effect's mean square in excess of its prior's, which is what a
// scale's derivative is made of.
func (s *sums) moment(family int, mean, variance float64) {
	s.second[family] += mean*mean + variance - 1
	s.info[family] += 2 * sq(1-variance)
}

// factor turns the gathered sums into the border's factor, inverse and step. It
// reports whether the Hessian was positive definite.
func (e *engine) factor(p *point, s *sums) bool {
	nb := e.layout.border()
	p.factored = true
	p.logdet = s.logdet
	if p.hessian != nil {
		copy(p.hessian, s.h)
	}
	if nb == 0 {
		return true
	}
	for j := range nb {
		s.rhs[j] -= p.border[j]
		s.h[j*nb+j]++
	}
	copy(p.chol, s.h)
	lower := blas64.Symmetric{Uplo: blas.Lower, N: nb, Stride: nb, Data: p.chol}
	tri, ok := lapack64.Potrf(lower)
	if !ok {
		return false
	}
	for j := range nb {
		p.logdet += 2 * math.Log(p.chol[j*nb+j])
	}
	copy(p.cov, p.chol)
	lapack64.Potri(blas64.Triangular{Uplo: blas.Lower, Diag: blas.NonUnit, N: nb, Stride: nb, Data: p.cov})
	for j := range nb {
		for m := range j {
			p.cov[m*nb+j] = p.cov[j*nb+m]
		}
	}
	copy(p.stepBorder, s.rhs)
	rhs := blas64.General{Rows: nb, Cols: 1, Stride: 1, Data: p.stepBorder}
	lapack64.Potrs(tri, rhs)
	for j := range nb {
		p.border[j] += p.stepBorder[j]
	}
	return true
}

func sq(x float64) float64 { return x * x }
