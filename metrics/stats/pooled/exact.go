package pooled

import (
	"fmt"
	"math"
)

// Draws are weighted by the exact posterior where the data are so few that a
// Gaussian may not do: below this many effects or trials.
const (
	fewEffects = 30
	fewTrials  = 200
	rawDraws   = 8000
	// Weights cannot be relied on with a Pareto shape above tooHeavy, unless they are
	// all much alike: nearly equal weights with a few larger ones, all bounded by
	// the prior's part of the proposal, have a high shape and do no harm.
	tooHeavy  = 0.7
	tooUneven = 0.25
	// One pair in so many comes from the prior, whose tails are never lighter than
	// the posterior's: it bounds the weights.
	priorEvery = 8
)

// few says whether the data are few in that sense.
func (l *layout) few() bool { return l.effects() < fewEffects || l.trials < fewTrials }

// exact holds resampled effects in unit coordinates, draw by draw: border, rows,
// blocks.
type exact struct {
	effects []float64
	layout  *layout
}

func (x *exact) size() int { return x.layout.effects() }

func (x *exact) at(i int) []float64 { return x.effects[i*x.size() : (i+1)*x.size()] }

func (x *exact) row(d *Draws, i int) []float64 {
	out := make([]float64, d.n)
	for at := range out {
		out[at] = d.scale(famAlpha, at) * x.at(at)[x.layout.border()+i]
	}
	return out
}

func (x *exact) block(d *Draws, b int) []float64 {
	out := make([]float64, d.n)
	for at := range out {
		out[at] = d.scale(famBeta, at) * x.at(at)[x.layout.border()+len(x.layout.rows)+b]
	}
	return out
}

// resample draws more than asked for from the Gaussian mixture and the prior,
// weighs each draw by posterior over proposal, smooths the tail of the weights,
// and resamples. Where the weights cannot be relied on it leaves the draws to the
// Gaussian.
func (d *Draws) resample() {
	f := d.post
	l := f.engine.layout
	pairs := max(rawDraws, 2*d.n) / 2
	nodes := allocate(f.weight, pairs)
	given := make([]float64, len(f.nodes)) // share of the pairs each node was given
	for _, node := range nodes {
		given[node] += 1 / float64(pairs)
	}
	w := &weigher{layout: l, eta: make([]float64, len(l.y))}
	buf := make([]float64, 2*l.effects())
	logs := make([]float64, 2*pairs)
	for pair, node := range nodes {
		w.at(f.nodes[node])
		d.rawPair(pair, w, buf)
		base := f.logNode[node] - norm2(w.node.z[:])/2 - math.Log(given[node])
		for side := range 2 {
			logs[2*pair+side] = base + w.logWeight(half(buf, side))
		}
	}
	weights, k := paretoSmoothed(logs)
	d.Check = Check{Weighted: true, ParetoK: k, Effective: 1 / norm2(weights)}
	if !(k <= tooHeavy) && d.Check.Effective < float64(len(logs))*tooUneven {
		d.Check.Warning = fmt.Sprintf("the weights of %d draws have a heavy tail (Pareto k %.2f) and are worth %.0f draws: the Gaussian draws stand unweighted", len(logs), k, d.Check.Effective)
		return
	}
	d.Check.Resampled = true
	d.keep(nodes, allocate(weights, d.n), w, buf)
}

// keep draws the chosen raw draws again and stores them.
func (d *Draws) keep(nodes, chosen []int, w *weigher, buf []float64) {
	l, nb := w.layout, w.layout.border()
	d.exact = &exact{effects: make([]float64, d.n*l.effects()), layout: l}
	d.deviation = make([]float64, d.n*nb)
	have := -1
	for i, raw := range chosen {
		d.node[i] = nodes[raw/2]
		if raw/2 != have {
			w.at(d.post.nodes[d.node[i]])
			d.rawPair(raw/2, w, buf)
			have = raw / 2
		}
		u := d.exact.at(i)
		copy(u, half(buf, raw%2))
		for j := range nb {
			d.deviation[i*nb+j] = u[j] - w.node.border[j]
		}
	}
}

func half(pair []float64, side int) []float64 {
	n := len(pair) / 2
	return pair[side*n : (side+1)*n]
}

// rawPair fills out with the two effects of an antithetic pair, around the node's
// mean or, for one pair in priorEvery, around zero from the prior.
func (d *Draws) rawPair(pair int, w *weigher, out []float64) {
	rng := stream(d.seed, forExact, pair, 0)
	plus, minus := half(out, 0), half(out, 1)
	for j := range plus {
		plus[j] = rng.NormFloat64()
	}
	if pair%priorEvery == priorEvery-1 {
		for j, x := range plus {
			minus[j] = -x
		}
		return
	}
	w.unwhiten(plus)
	for j, x := range plus {
		plus[j], minus[j] = w.mean[j]+x, w.mean[j]-x
	}
}

// weigher weighs effects against the proposal of one node.
type weigher struct {
	layout *layout
	node   *point
	mean   []float64 // of the node, in unit coordinates
	centre []float64 // log-odds of each cell there
	eta    []float64
}

func (w *weigher) at(p *point) {
	if w.node == p {
		return
	}
	w.node = p
	w.mean = append(append(append(w.mean[:0], p.border...), p.row...), p.block...)
	if w.centre == nil {
		w.centre = make([]float64, len(w.layout.y))
	}
	w.logOdds(w.mean, w.centre)
}

// logOdds fills eta with the log-odds of each cell at effects u.
func (w *weigher) logOdds(u, eta []float64) {
	l, p := w.layout, w.node
	nb, rows := l.border(), len(l.rows)
	for i := range l.rows {
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			col := l.column[l.slot0[b]:l.slot0[b+1]]
			base := p.s[famAlpha]*u[nb+i] + p.s[famBeta]*u[nb+rows+b] + p.load[col[0]]*u[col[0]] + p.load[col[1]]*u[col[1]]
			for c := l.cell0[b]; c < l.cell0[b+1]; c++ {
				jg, jd := col[l.gamma[c]], col[l.delta[c]]
				eta[c] = base + p.load[jg]*u[jg] + p.load[jd]*u[jd] + l.offset[c]
			}
		}
	}
}

// logWeight is the log of likelihood times prior over the proposal's density, the
// Gaussian of the node mixed with the prior.
func (w *weigher) logWeight(u []float64) float64 {
	l, p := w.layout, w.node
	w.logOdds(u, w.eta)
	var logLik, square float64
	for c, eta := range w.eta {
		value, _, _ := softplus(eta)
		logLik += l.y[c]*eta - l.n[c]*value
		square += p.w[c] * sq(eta-w.centre[c])
	}
	for j, x := range u {
		square += sq(x - w.mean[j])
	}
	prior := -norm2(u) / 2
	gauss := -square/2 + p.logdet/2
	const share = 1.0 / priorEvery
	a, b := math.Log(1-share)+gauss, math.Log(share)+prior
	top := max(a, b)
	return logLik + prior - top - math.Log(math.Exp(a-top)+math.Exp(b-top))
}

// unwhiten turns standard normals into a deviation from the node's mean.
func (w *weigher) unwhiten(x []float64) {
	l, p := w.layout, w.node
	nb, rows := l.border(), len(l.rows)
	p.unwhiten(x[:nb])
	sa, sb := p.s[famAlpha], p.s[famBeta]
	for i := range l.rows {
		var sum float64
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			sum += sa / p.hb[b] * p.dot(l, b, x[:nb])
		}
		row := x[nb+i]/math.Sqrt(p.ha[i]) - sum/p.ha[i]
		x[nb+i] = row
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			at := nb + rows + b
			x[at] = x[at]/math.Sqrt(p.hb[b]) - sb/p.hb[b]*(p.dot(l, b, x[:nb])+sa*p.wsum[b]*row)
		}
	}
}
