package pooled

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
)

// Near 0 or all of n, posteriors lean. With t a cell's deviation from its mean, v
// its variance and κ the third derivative of its log-likelihood, the posterior is
// the Gaussian times 1 + Σ κ(t³-3vt)/6, and to first order a draw from it is a
// Gaussian draw moved by V a κ(t²-v)/6: a Cornish-Fisher map in several dimensions.
// It is taken in two parts, with t = t_border + t_own: the border moves by the
// terms in t_border alone, a row's own effects given the border by the others,
// t_own²-v_own + 3 t_border t_own + 3(t_border²-v_border). The cells of a block are taken together.

// mostSkew caps the standardised skewness that the map is asked for: beyond it a
// quadratic map would fold over within three standard deviations.
const mostSkew = 0.9

// manySlots is the size of the data from which on so many cells meet in each
// border effect that it no longer leans, and the work can be saved.
const manySlots = 20000

// capped is κ such that the skewness κ v^1.5 stays within the cap.
func capped(k, v float64) float64 {
	if g := math.Abs(k) * v * math.Sqrt(v); g > mostSkew {
		return k * mostSkew / g
	}
	return k
}

// ownVariance is the part of the variance of a block's log-odds that remains when
// the border is known.
func (p *point) ownVariance(i, b int) float64 {
	sa, sb, hb := p.s[famAlpha], p.s[famBeta], p.hb[b]
	return sq(sa/hb)/p.ha[i] + sb*sb/hb
}

// rowDraw is what one border deviation means for a row.
type rowDraw struct {
	dots   []float64 // q times the border's deviation, block by block
	shared []float64 // t_border of each block
	push   []float64 // right-hand side of the move, block by block
	sum    float64   // r times the border's deviation
}

func (r *rowDraw) start(p *point, l *layout, i int, border []float64) {
	first, last := l.block0[i], l.block0[i+1]
	for len(r.dots) < last-first {
		r.dots, r.shared, r.push = append(r.dots, 0), append(r.shared, 0), append(r.push, 0)
	}
	sa, sb := p.s[famAlpha], p.s[famBeta]
	r.sum = 0
	for b := first; b < last; b++ {
		dot := p.dot(l, b, border)
		r.dots[b-first] = dot
		r.sum += sa / p.hb[b] * dot
	}
	for b := first; b < last; b++ {
		r.push[b-first], r.shared[b-first] = 0, 0
		if p.wsum[b] > 0 {
			r.shared[b-first] = r.dots[b-first]*(1/p.wsum[b]-sb*sb/p.hb[b]) - sa/(p.hb[b]*p.ha[i])*r.sum
		}
	}
}

// leanOwn works out the push on block b from the independent rests of alpha and
// beta in unit coordinates.
func (r *rowDraw) leanOwn(p *point, i, b, at int, alpha, beta float64) {
	if p.wsum[b] <= 0 {
		return
	}
	vOwn := p.ownVariance(i, b)
	v := max(p.vmean[b], vOwn)
	own, shared := p.s[famAlpha]/p.hb[b]*alpha+p.s[famBeta]*beta, r.shared[at]
	r.push[at] = capped(p.third[b], v) / 6 * (own*own - vOwn + 3*shared*own + 3*(shared*shared-(v-vOwn)))
}

// alphaStep is alpha's right-hand side: what the border's deviation and the
// pushes on the blocks ask of it.
func (r *rowDraw) alphaStep(p *point, first, last int) float64 {
	step := -r.sum
	for b := first; b < last; b++ {
		step += p.s[famAlpha] / p.hb[b] * r.push[b-first]
	}
	return step
}

// betaStep is beta's move given alpha's whole deviation.
func (r *rowDraw) betaStep(p *point, b, at int, alpha float64) float64 {
	sb := p.s[famBeta]
	return sb / p.hb[b] * (r.push[at] - r.dots[at] - p.s[famAlpha]*p.wsum[b]*alpha)
}

// borderLean holds what moving the border of one node takes.
type borderLean struct {
	node  *point
	third []float64 // κ of each block, capped for all blocks of an item together
	v     []float64 // variance of each block's t_border
}

func newBorderLean(l *layout, p *point) *borderLean {
	g := &borderLean{node: p, third: make([]float64, len(l.item)), v: make([]float64, len(l.item))}
	total := make([]float64, l.data.Items)
	for i := range l.rows {
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			g.v[b] = max(p.vmean[b]-p.ownVariance(i, b), 0)
			total[l.item[b]] += math.Abs(p.third[b]) * g.v[b] * math.Sqrt(g.v[b])
		}
	}
	for b, k := range l.item {
		g.third[b] = p.third[b] * min(1, mostSkew/max(total[k], 1e-300))
	}
	return g
}

// move moves a deviation of the border in place. sum is scratch of the border's
// size.
func (g *borderLean) move(l *layout, u, sum []float64, r *rowDraw) {
	p := g.node
	clear(sum)
	sa, sb := p.s[famAlpha], p.s[famBeta]
	for i := range l.rows {
		r.start(p, l, i, u)
		first, last := l.block0[i], l.block0[i+1]
		var row float64
		for b := first; b < last; b++ {
			f := g.third[b] / 6 * (sq(r.shared[b-first]) - g.v[b])
			r.push[b-first] = f
			row += f * sa / (p.hb[b] * p.ha[i])
		}
		for b := first; b < last; b++ {
			if p.wsum[b] <= 0 {
				continue
			}
			f := r.push[b-first]*(1/p.wsum[b]-sb*sb/p.hb[b]) - row*sa/p.hb[b]
			for j := l.slot0[b]; j < l.slot0[b+1]; j++ {
				sum[l.column[j]] += f * p.q[j]
			}
		}
	}
	nb := len(u)
	tri := blas64.Triangular{Uplo: blas.Lower, Diag: blas.NonUnit, N: nb, Stride: nb, Data: p.chol}
	blas64.Trsv(blas.NoTrans, tri, vec(sum))
	blas64.Trsv(blas.Trans, tri, vec(sum))
	blas64.Axpy(1, vec(sum), vec(u))
}
