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
	var r rowDraw
	for at := range d.n {
		p := d.post.nodes[d.node[at]]
		r.start(p, l, i, d.deviation[at*nb:(at+1)*nb])
		alpha := m.alpha[at] / math.Sqrt(p.ha[i])
		for b := range betas {
			betas[b][at] /= math.Sqrt(p.hb[first+b])
			r.leanOwn(p, i, first+b, b, alpha, betas[b][at])
		}
		step := r.alphaStep(p, first, last)/p.ha[i] + alpha
		m.alpha[at] = p.s[famAlpha] * (p.row[i] + step)
		for b := range betas {
			betas[b][at] = p.s[famBeta] * (p.block[first+b] + betas[b][at] + r.betaStep(p, first+b, b, step))
		}
	}
}
