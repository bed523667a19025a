package pooled

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
)

// Draws are joint draws from the posterior, equally weighted. Draw i of one
// question belongs with draw i of any other. Draws 2i and 2i+1 are an antithetic
// pair unless the draws were resampled. It is safe for concurrent use.
type Draws struct {
	post *Posterior
	n    int
	seed uint64

	node      []int     // of each draw
	deviation []float64 // of the border from its node's mean, draw by draw
	exact     *exact    // rows and blocks, where draws were resampled

	mu, rho, gamma, delta [][]float64 // on the log-odds scale; level by level

	// Check says how the draws came about.
	Check Check
}

// Check describes draws.
type Check struct {
	// Resampled says that the draws were weighted by the exact posterior given
	// the design's scales, and resampled.
	Resampled bool
	// Weighted says that weights were worked out, whether or not they were used.
	Weighted bool
	// ParetoK is the shape of the weights' tail: up to 0.7 they can be relied on
	// (Vehtari A, Simpson D, Gelman A, Yao Y, Gabry J (2024) JMLR 25(72)). Above
	// that they are used only while worth a quarter of the draws, because they are
	// bounded: one draw in eight is from the prior.
	ParetoK float64
	// Effective is the effective number of weighted draws before resampling.
	Effective float64
	// Warning says in words what is wrong, or is empty.
	Warning string
}

// Draw takes n joint draws, rounded up to an even number and at least 2. The
// same seed gives the same draws, for every question asked of them.
func (f *Posterior) Draw(n int, seed uint64) *Draws {
	n = max(n+n%2, 2)
	d := &Draws{post: f, n: n, seed: seed, node: make([]int, n)}
	if l := f.engine.layout; l.trials > 0 && l.few() {
		d.resample()
	}
	if d.exact == nil {
		d.gaussian()
	}
	d.shared()
	return d
}

// N is the number of draws.
func (d *Draws) N() int { return d.n }

// gaussian draws the border from the mixture of nodes. Each node gets its share
// of pairs.
func (d *Draws) gaussian() {
	f, l := d.post, d.post.engine.layout
	nb := l.border()
	d.deviation = make([]float64, d.n*nb)
	rng := stream(d.seed, forBorder, 0, 0)
	var lean *borderLean
	var r rowDraw
	scratch := make([]float64, nb)
	for pair, node := range allocate(f.weight, d.n/2) {
		d.node[2*pair], d.node[2*pair+1] = node, node
		if nb == 0 {
			continue
		}
		x := d.deviation[2*pair*nb : (2*pair+1)*nb]
		for j := range x {
			x[j] = rng.NormFloat64()
		}
		f.nodes[node].unwhiten(x)
		for j, v := range x {
			d.deviation[(2*pair+1)*nb+j] = -v
		}
		if len(l.column) >= manySlots {
			continue
		}
		if lean == nil || lean.node != f.nodes[node] {
			lean = newBorderLean(l, f.nodes[node])
		}
		for i := 2 * pair; i < 2*pair+2; i++ {
			lean.move(l, d.deviation[i*nb:(i+1)*nb], scratch, &r)
		}
	}
}

// unwhiten turns standard normals into deviations of the border, in place.
func (p *point) unwhiten(x []float64) {
	nb := len(x)
	tri := blas64.Triangular{Uplo: blas.Lower, Diag: blas.NonUnit, N: nb, Stride: nb, Data: p.chol}
	blas64.Trsv(blas.Trans, tri, vec(x))
}

// allocate gives each of n places to a node in proportion to the weights, in
// order (systematic sampling at the middle of each place).
func allocate(weight []float64, n int) []int {
	out := make([]int, n)
	node, reached := 0, weight[0]
	for i := range out {
		at := (float64(i) + 0.5) / float64(n)
		for reached < at && node < len(weight)-1 {
			node++
			reached += weight[node]
		}
		out[i] = node
	}
	return out
}

// scale is the family's scale at the node of draw i.
func (d *Draws) scale(family, i int) float64 {
	return d.post.nodes[d.node[i]].s[family]
}

// shared works out the effects that groups share, for every level: from the
// border where cells touch it, else from the prior at the draw's scales.
func (d *Draws) shared() {
	l := d.post.engine.layout
	d.mu = d.levels(l.mu, famMu)
	d.rho = d.levels(l.rho, famRho)
	d.gamma = d.levels(l.gam, famGamma)
	d.delta = d.levels(l.del, famDelta)
}

func (d *Draws) levels(columns []int, family int) [][]float64 {
	nb := d.post.engine.layout.border()
	out := make([][]float64, len(columns))
	for at, j := range columns {
		if j < 0 {
			out[at] = d.unseen(family, at)
			continue
		}
		x := make([]float64, d.n)
		for i := range x {
			p := d.post.nodes[d.node[i]]
			x[i] = p.load[j] * (p.border[j] + d.deviation[i*nb+j])
		}
		out[at] = x
	}
	return out
}

// unseen draws an effect from its family's prior. Fresh levels have numbers
// below 0, one for each item.
func (d *Draws) unseen(family, at int) []float64 {
	x := make([]float64, d.n)
	antithetic(stream(d.seed, forLevel, family, at), x, func(i int) float64 {
		if family == famMu {
			return d.post.engine.itemSD
		}
		return d.scale(family, i)
	})
	return x
}

// level is one effect's draws; Fresh asks for a new level of the item.
func (d *Draws) level(list [][]float64, family, at, item int) []float64 {
	if at == Fresh {
		return d.unseen(family, -1-item)
	}
	return list[at*d.post.engine.layout.data.Items+item]
}
