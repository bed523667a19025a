package pooled

import (
	"fmt"
	"math"
	"runtime"
)

// Options change how a model is fitted; the zero value is the model as
// documented.
type Options struct {
	// Start is an earlier fit of nearly the same data: a few groups changed or came
	// new, the levels stayed. Only these groups and the shared effects are then
	// solved anew at the scales of that fit's design, which is many times faster and
	// agrees to second order in the change. Where too much has changed the model is
	// fitted from scratch.
	Start *Posterior
	// ItemSD is the prior standard deviation of mu, 1.5 if 0.
	ItemSD float64
	// ScaleSD is the parameter of the half-normal prior of the scales, 0.5 if 0.
	ScaleSD float64
}

// Posterior is a fitted model. It is safe for concurrent use.
type Posterior struct {
	engine  *engine
	hyper   *hyper
	nodes   []*point  // at the design's points
	logNode []float64 // log weight of each node in the design, without the evidence
	weight  []float64 // normalised
	// The weights at the last full fit, and the trials that have changed since.
	fullWeight    []float64
	changedTrials float64
	warnings      []string
}

// Fit fits the model. It fails on data that name levels out of range or counts
// that are not numbers from 0, and where counts are too large to solve for; what
// merely went less well than it should is in [Posterior.Warnings].
func Fit(data Data, opt Options) (*Posterior, error) {
	e, err := newEngine(data, opt)
	if err != nil {
		return nil, err
	}
	workers := runtime.GOMAXPROCS(0)
	if opt.Start != nil {
		if plan := planRefit(opt.Start, e); plan != nil {
			f := &Posterior{engine: e}
			if ok, err := f.refit(opt.Start, plan, workers); ok && err == nil {
				return f, nil
			}
		}
	}
	f := &Posterior{engine: e}
	centre, err := f.centre(workers)
	if err != nil {
		return nil, err
	}
	if f.hyper, err = e.curvature(centre, workers); err != nil {
		return nil, err
	}
	return f, f.integrate(centre, workers)
}

func newEngine(data Data, opt Options) (*engine, error) {
	if err := data.check(); err != nil {
		return nil, err
	}
	e := &engine{layout: newLayout(data), itemSD: opt.ItemSD, scaleSD: opt.ScaleSD}
	if e.itemSD == 0 {
		e.itemSD = 1.5
	}
	if e.scaleSD == 0 {
		e.scaleSD = 0.5
	}
	if !(e.itemSD > 0) || !(e.scaleSD > 0) || math.IsInf(e.itemSD, 1) || math.IsInf(e.scaleSD, 1) {
		return nil, fmt.Errorf("pooled: prior standard deviations %v and %v, want positive numbers", opt.ItemSD, opt.ScaleSD)
	}
	return e, nil
}

// centre is the point at the mode of the scales.
func (f *Posterior) centre(workers int) (*point, error) {
	e := f.engine
	ws := e.newWorkspace(workers)
	start := e.newPoint()
	e.setScales(start, [families]float64{})
	settled, err := e.mode(start, ws, nearMode)
	if err != nil {
		return nil, err
	}
	if !settled {
		f.warn("the effects did not settle at the prior's middle in %d steps", maxSteps)
	}
	if _, err := e.closest(start, ws, settledBy); err != nil {
		return nil, err
	}
	centre, settled, err := e.findMode(start, ws)
	if err != nil {
		return nil, err
	}
	if !settled {
		f.warn("the scales did not settle in %d steps", searchSteps)
	}
	return centre, nil
}

// integrate evaluates the design and weighs its points.
func (f *Posterior) integrate(centre *point, workers int) error {
	at, logWeight := designPoints()
	if l := f.engine.layout; l.few() && l.border() <= cloudBorder {
		at, logWeight = cloudOf(cloudPoints)
	}
	zs := make([][families]float64, len(at))
	for i := range at {
		zs[i] = f.hyper.place(at[i])
	}
	nodes, bad, err := f.engine.evaluateAll(zs, centre, workers, true)
	if err != nil {
		return err
	}
	if bad > 0 {
		f.warn("the effects did not settle at %d of %d points of the design", bad, len(nodes))
	}
	f.nodes, f.logNode = nodes, logWeight
	err = f.weigh()
	f.fullWeight = f.weight
	return err
}

// weigh gives the nodes their weights.
func (f *Posterior) weigh() error {
	logs := make([]float64, len(f.nodes))
	for i, p := range f.nodes {
		logs[i] = f.logNode[i] + p.value
		if math.IsNaN(logs[i]) {
			return fmt.Errorf("pooled: the evidence is not a number at scales %v", scalesOf(p.s))
		}
	}
	f.weight = normalised(logs)
	return nil
}

func (f *Posterior) warn(format string, args ...any) {
	f.warnings = append(f.warnings, fmt.Sprintf(format, args...))
}

// Warnings says in words what went less well than it should, if anything.
func (f *Posterior) Warnings() []string { return f.warnings }

// Scales are the posterior means of the scales.
func (f *Posterior) Scales() Scales {
	var mean [families]float64
	for i, p := range f.nodes {
		for j := range families {
			mean[j] += f.weight[i] * p.s[j]
		}
	}
	return scalesOf(mean)
}

// normalised turns log weights into weights that sum to 1.
func normalised(logs []float64) []float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		top = max(top, l)
	}
	w := make([]float64, len(logs))
	var sum float64
	for i, l := range logs {
		w[i] = math.Exp(l - top)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}
