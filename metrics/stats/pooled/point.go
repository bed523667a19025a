package pooled

import "math"

// point is a Gaussian approximation of the effects at one set of scales. Effects
// are in unit coordinates: an effect on the log-odds scale is its load (the
// scale of its family) times a coordinate whose prior is N(0, 1).
type point struct {
	z, s, dlog [families]float64
	load       []float64 // of each border column

	border, row, block []float64 // means of mu..delta, of alpha, of beta

	// The Hessian after elimination, from the trial weights w: see pass.go.
	w, v, eta  []float64 // of each cell: weight, variance and mean of its log-odds
	g          []float64 // of each cell: gradient in its log-odds
	carried    bool      // w and g were carried over and still hold
	q          []float64 // of each slot: load times the sum of weights
	wsum, hb   []float64 // of each block: sum of weights, pivot of beta
	third      []float64 // of each block: sum of third derivatives of the log-likelihood
	vmean      []float64 // of each block: weighted mean variance of its cells
	ha         []float64 // of each row: pivot of alpha
	chol, cov  []float64 // of the border: lower Cholesky factor, inverse (full)
	hessian    []float64 // of the border before its prior is added, where it is kept
	logdet     float64
	factored   bool
	stepBorder []float64 // Newton step of the border
	redBlock   []float64 // gradient of beta
	redRow     []float64 // gradient of alpha with beta eliminated
	rowValue   []float64 // what each row adds to the bound

	value float64           // log evidence, or its bound, with the prior of z
	grad  [families]float64 // its derivative in z
	info  [families]float64 // rough curvature of its negative in z
}

// newPoint has room for everything.
func (e *engine) newPoint() *point {
	p := e.emptyPoint()
	cells := len(e.layout.y)
	p.w, p.g, p.v, p.eta = make([]float64, cells), make([]float64, cells), make([]float64, cells), make([]float64, cells)
	return p
}

// emptyPoint has no room for cells.
func (e *engine) emptyPoint() *point {
	l := e.layout
	nb, rows, blocks := l.border(), len(l.rows), len(l.item)
	return &point{
		load: make([]float64, nb), border: make([]float64, nb), stepBorder: make([]float64, nb),
		row: make([]float64, rows), ha: make([]float64, rows), redRow: make([]float64, rows), rowValue: make([]float64, rows),
		block: make([]float64, blocks), wsum: make([]float64, blocks), hb: make([]float64, blocks), redBlock: make([]float64, blocks),
		third: make([]float64, blocks), vmean: make([]float64, blocks),
		q: make([]float64, len(l.column)), chol: make([]float64, nb*nb), cov: make([]float64, nb*nb),
	}
}

// setScales fixes the scales and what follows from them.
func (e *engine) setScales(p *point, z [families]float64) {
	for f := range families {
		p.z[f] = z[f]
		p.s[f], p.dlog[f] = scaleOf(z[f], e.scaleSD)
	}
	e.setLoads(p)
}

func (e *engine) setLoads(p *point) {
	for j, f := range e.layout.family {
		if f == famMu {
			p.load[j] = e.itemSD
		} else {
			p.load[j] = p.s[f]
		}
	}
}

// startFrom takes over the means of another point. Effects keep their size on
// the log-odds scale as far as the new scales allow; where they all do, so do the
// logistic means of the cells.
func (p *point) startFrom(l *layout, from *point) {
	p.carried = true
	ratio := func(f int) float64 {
		if f == famMu || from.s[f] == p.s[f] {
			return 1
		}
		r := from.s[f] / math.Max(p.s[f], 1e-12)
		if r > 3 {
			p.carried = false
			return 3
		}
		return r
	}
	var by [families + 1]float64
	for f := range by {
		by[f] = ratio(f)
	}
	for j, f := range l.family {
		p.border[j] = from.border[j] * by[f]
	}
	for i := range p.row {
		p.row[i] = from.row[i] * by[famAlpha]
	}
	for i := range p.block {
		p.block[i] = from.block[i] * by[famBeta]
	}
	copy(p.v, from.v)
	copy(p.w, from.w)
	copy(p.g, from.g)
	copy(p.eta, from.eta)
	p.factored = false
}

// slim lets go of what neither draws nor refits need.
func (p *point) slim() {
	p.w, p.g, p.v, p.eta, p.stepBorder, p.redBlock, p.redRow = nil, nil, nil, nil, nil, nil, nil
}
