package pooled

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Draws are weighted by the exact posterior where the data are so few that a
// Gaussian may not do: below this many effects or trials.
const (
	fewEffects = 30
	fewTrials  = 200
	tooHeavy   = 0.7 // Pareto shape from which weights cannot be relied on
	rawDraws   = 8000
)

// exact holds resampled effects in unit coordinates, draw by draw: border, rows,
// blocks.
type exact struct {
	effects []float64
	size    int
	nb      int
	rows    int
}

func (x *exact) at(i int) []float64 { return x.effects[i*x.size : (i+1)*x.size] }

func (x *exact) row(d *Draws, i int) []float64 {
	out := make([]float64, d.n)
	for at := range out {
		out[at] = d.scale(famAlpha, at) * x.at(at)[x.nb+i]
	}
	return out
}

func (x *exact) block(d *Draws, b int) []float64 {
	out := make([]float64, d.n)
	for at := range out {
		out[at] = d.scale(famBeta, at) * x.at(at)[x.nb+x.rows+b]
	}
	return out
}

// resample draws more than asked for from the Gaussian mixture, weighs each draw
// by posterior over proposal, smooths the tail of the weights, and resamples.
// Where the weights cannot be relied on it leaves the draws to the Gaussian.
func (d *Draws) resample() {
	f := d.post
	l := f.engine.layout
	pairs := max(rawDraws, 2*d.n) / 2
	nodes := allocate(f.weight, pairs)
	given := make([]float64, len(f.nodes)) // share of the pairs each node was given
	for _, node := range nodes {
		given[node] += 1 / float64(pairs)
	}
	x := &exact{size: l.effects(), nb: l.border(), rows: len(l.rows)}
	buf := make([]float64, 2*x.size)
	logs := make([]float64, 2*pairs)
	for pair, node := range nodes {
		p := f.nodes[node]
		base := f.logNode[node] - zSquares(p)/2 - p.logdet/2 - math.Log(given[node])
		noise := d.rawPair(pair, p, buf, x)
		for side := range 2 {
			u := buf[side*x.size : (side+1)*x.size]
			logs[2*pair+side] = base + f.engine.logLik(p, u, x) - norm2(u)/2 + noise/2
		}
	}
	weights, k := paretoSmoothed(logs)
	d.Check = Check{Weighted: true, ParetoK: k, Effective: 1 / norm2(weights)}
	if !(k <= tooHeavy) {
		d.Check.Warning = fmt.Sprintf("the weights of %d draws have a heavy tail (Pareto k %.2f): the Gaussian draws stand unweighted", len(logs), k)
		return
	}
	d.Check.Resampled = true
	d.exact = x
	x.effects = make([]float64, d.n*x.size)
	d.deviation = make([]float64, d.n*x.nb)
	have := -1
	for i, raw := range allocate(weights, d.n) {
		node := nodes[raw/2]
		p := f.nodes[node]
		if raw/2 != have {
			d.rawPair(raw/2, p, buf, x)
			have = raw / 2
		}
		d.node[i] = node
		copy(x.at(i), buf[raw%2*x.size:])
		for j := range x.nb {
			d.deviation[i*x.nb+j] = x.at(i)[j] - p.border[j]
		}
	}
}

func zSquares(p *point) float64 {
	var s float64
	for _, z := range p.z {
		s += z * z
	}
	return s
}

// rawPair fills out with the two draws of an antithetic pair and returns the sum
// of squares of the normals behind them.
func (d *Draws) rawPair(pair int, p *point, out []float64, x *exact) (noise float64) {
	l := d.post.engine.layout
	rng := stream(d.seed, forExact, pair, 0)
	plus, minus := out[:x.size], out[x.size:]
	noise = normals(rng, plus)
	p.unwhiten(plus[:x.nb])
	sa, sb := p.s[famAlpha], p.s[famBeta]
	for i := range l.rows {
		var sum float64
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			sum += sa / p.hb[b] * p.dot(l, b, plus[:x.nb])
		}
		row := plus[x.nb+i]/math.Sqrt(p.ha[i]) - sum/p.ha[i]
		plus[x.nb+i] = row
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			at := x.nb + x.rows + b
			plus[at] = plus[at]/math.Sqrt(p.hb[b]) - sb/p.hb[b]*(p.dot(l, b, plus[:x.nb])+sa*p.wsum[b]*row)
		}
	}
	centre := func(j int) float64 {
		switch {
		case j < x.nb:
			return p.border[j]
		case j < x.nb+x.rows:
			return p.row[j-x.nb]
		}
		return p.block[j-x.nb-x.rows]
	}
	for j, dev := range plus {
		c := centre(j)
		plus[j], minus[j] = c+dev, c-dev
	}
	return noise
}

func normals(rng *rand.Rand, x []float64) (squares float64) {
	for i := range x {
		x[i] = rng.NormFloat64()
		squares += x[i] * x[i]
	}
	return squares
}

// logLik is the log-likelihood of effects in unit coordinates.
func (e *engine) logLik(p *point, u []float64, x *exact) (sum float64) {
	l := e.layout
	for i := range l.rows {
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			col := l.column[l.slot0[b]:l.slot0[b+1]]
			base := p.s[famAlpha]*u[x.nb+i] + p.s[famBeta]*u[x.nb+x.rows+b] + p.load[col[0]]*u[col[0]] + p.load[col[1]]*u[col[1]]
			for c := l.cell0[b]; c < l.cell0[b+1]; c++ {
				jg, jd := col[l.gamma[c]], col[l.delta[c]]
				eta := base + p.load[jg]*u[jg] + p.load[jd]*u[jd] + l.offset[c]
				value, _, _ := softplus(eta)
				sum += l.y[c]*eta - l.n[c]*value
			}
		}
	}
	return sum
}
