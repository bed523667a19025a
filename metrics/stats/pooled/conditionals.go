package pooled

import "math"

// conditional draws alpha and the betas of row i given each draw's border.
func (d *Draws) conditional(m *Member, i int) {
	l := d.post.engine.layout
	nb := l.border()
	first, last := l.block0[i], l.block0[i+1]
	noise := func(purpose, item int) []float64 {
		x := make([]float64, d.n)
		antithetic(stream(d.seed, purpose, m.group, item), x, func(int) float64 { return 1 })
		return x
	}
	m.alpha = noise(forGroup, 0)
	betas := make([][]float64, last-first)
	for b := range betas {
		betas[b] = noise(forGroupItem, l.item[first+b])
		m.beta[l.item[first+b]] = betas[b]
	}
	r := &rowDraw{dots: make([]float64, last-first), push: make([]float64, last-first)}
	for at := range d.n {
		p := d.post.nodes[d.node[at]]
		r.start(p, l, i, d.deviation[at*nb:(at+1)*nb])
		alpha := m.alpha[at] / math.Sqrt(p.ha[i])
		for b := range betas {
			betas[b][at] /= math.Sqrt(p.hb[first+b])
			r.skew(p, i, first+b, b, alpha, betas[b][at])
		}
		step := r.alphaStep(p, first)/p.ha[i] + alpha
		m.alpha[at] = p.s[famAlpha] * (p.row[i] + step)
		for b := range betas {
			betas[b][at] = p.s[famBeta] * (p.block[first+b] + betas[b][at] + r.betaStep(p, first+b, b, step))
		}
	}
}

// rowDraw is the part of one draw of a row that its blocks share.
//
// Given the border, the row's own effects are not quite Gaussian: cells near 0 or
// all of n lean. With t a cell's deviation from its mean, v its variance and κ the
// third derivative of its log-likelihood, the posterior is the Gaussian times
// 1 + Σ κ(t³-3vt)/6, and to first order a draw from it is a Gaussian draw moved by
// V a κ(t²-v)/6 (a Cornish-Fisher map in several dimensions). The border is left
// Gaussian, because many cells meet in it; so the move has only those terms
// that involve the row's own part t_own of t = t_border + t_own:
// t_own²-v_own + 3 t_border t_own + 3(t_border²-v_border).
type rowDraw struct {
	dots []float64 // q times the border's deviation, block by block
	push []float64 // the move's right-hand side, block by block
	sum  float64   // r times the border's deviation
}

// mostSkew caps the standardised skewness that the map is asked for: beyond it a
// quadratic map would fold over within three standard deviations.
const mostSkew = 0.9

func (r *rowDraw) start(p *point, l *layout, i int, border []float64) {
	r.sum = 0
	for b := l.block0[i]; b < l.block0[i+1]; b++ {
		dot := p.dot(l, b, border)
		r.dots[b-l.block0[i]] = dot
		r.sum += p.s[famAlpha] / p.hb[b] * dot
	}
}

// skew works out the push on block b, given the independent rests of alpha and
// beta in unit coordinates.
func (r *rowDraw) skew(p *point, i, b, at int, alpha, beta float64) {
	sa, sb, ha, hb := p.s[famAlpha], p.s[famBeta], p.ha[i], p.hb[b]
	r.push[at] = 0
	if p.wsum[b] <= 0 {
		return
	}
	vOwn := sq(sa/hb)/ha + sb*sb/hb
	own := sa/hb*alpha + sb*beta
	shared := r.dots[at]*(1/p.wsum[b]-sb*sb/hb) - sa/(hb*ha)*r.sum
	v := max(p.vmean[b], vOwn)
	k := p.third[b]
	if g := math.Abs(k) * v * math.Sqrt(v); g > mostSkew {
		k *= mostSkew / g
	}
	r.push[at] = k / 6 * (own*own - vOwn + 3*shared*own + 3*(shared*shared-(v-vOwn)))
}

// alphaStep is alpha's right-hand side: what the border's deviation and the
// pushes on the blocks ask of it.
func (r *rowDraw) alphaStep(p *point, first int) float64 {
	step := -r.sum
	for at, push := range r.push {
		step += p.s[famAlpha] / p.hb[first+at] * push
	}
	return step
}

// betaStep is beta's move given alpha's whole deviation.
func (r *rowDraw) betaStep(p *point, b, at int, alpha float64) float64 {
	sb := p.s[famBeta]
	return sb / p.hb[b] * (r.push[at] - r.dots[at] - p.s[famAlpha]*p.wsum[b]*alpha)
}
