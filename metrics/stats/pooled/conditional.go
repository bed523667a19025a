package pooled

import "math"

// Effect is the mode of one effect on the log-odds scale and its standard error
// from the curvature there.
type Effect struct {
	Mode, SE float64
}

// Conditional is the plain Laplace approximation at given scales, without
// integration over them and without correction of the mode: what maximum
// likelihood software for mixed models calls conditional modes.
type Conditional struct {
	Groups  []Effect // alpha of each group
	Items   []Effect // mu of each item
	LogLik  float64  // Laplace's log evidence of the scales, binomial coefficients left out
	Settled bool
}

// FitConditional finds the joint mode of all effects at the given scales and the
// curvature there. A scale of 0 takes its family out; so does a tiny ItemSD for
// the items, to be used with offsets. Levels without trials are at mode 0 with
// their prior scale as error.
func FitConditional(data Data, scales Scales, opt Options) (*Conditional, error) {
	e, err := newEngine(data, opt)
	if err != nil {
		return nil, err
	}
	p := e.newPoint()
	p.s = scales.list()
	e.setLoads(p)
	ws := e.newWorkspace(1)
	out := &Conditional{}
	if out.Settled, err = e.mode(p, ws, 1e-9); err != nil {
		return nil, err
	}
	out.LogLik = p.value
	l, nb := e.layout, e.layout.border()
	out.Items = make([]Effect, data.Items)
	for k, j := range l.mu {
		out.Items[k] = Effect{0, e.itemSD}
		if j >= 0 {
			out.Items[k] = Effect{e.itemSD * p.border[j], e.itemSD * math.Sqrt(p.cov[j*nb+j])}
		}
	}
	out.Groups = make([]Effect, data.Groups())
	x := ws.scratch[0]
	for g, i := range l.rowOf {
		out.Groups[g] = Effect{0, scales.Group}
		if i >= 0 {
			out.Groups[g] = Effect{scales.Group * p.row[i], scales.Group * math.Sqrt(e.rowVariance(p, i, x))}
		}
	}
	return out, nil
}

// rowVariance is the variance of alpha of row i in unit coordinates.
func (e *engine) rowVariance(p *point, i int, x *scratch) float64 {
	l, nb := e.layout, e.layout.border()
	e.spreadRow(p, i, x)
	var rcr float64
	for j := range nb {
		for m := range nb {
			rcr += x.dense[j] * p.cov[j*nb+m] * x.dense[m]
		}
	}
	for _, c := range l.column[l.slot0[l.block0[i]]:l.slot0[l.block0[i+1]]] {
		x.dense[c] = 0
	}
	return 1/p.ha[i] + rcr/sq(p.ha[i])
}
