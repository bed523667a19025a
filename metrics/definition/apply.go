package definition

import (
	"stopledger/replay"
)

// Verdicts is what a definition says of every action and chance of columns.
type Verdicts struct {
	Definition *Definition
	In         []Truth   // by action: whether it counts
	Stop       []Truth   // by action that counts: whether it was a stop
	Points     []float64 // by action: points it answers for
	Trial      []float64 // by action: the weight of the trial it stands for, or 0
	Kept       []Truth   // by chance: whether it counts
	Team       []float64 // by chance that is kept: points nobody answers for
	Undecided  []Undecided
}

// Apply judges every row of the columns.
func Apply(d *Definition, cols *replay.Columns) *Verdicts {
	return applyTo(d, newFrame(d, cols))
}

func applyTo(d *Definition, f *frame) *Verdicts {
	v := &Verdicts{
		Definition: d,
		In:         make([]Truth, f.cols.Actions.Rows), Stop: make([]Truth, f.cols.Actions.Rows),
		Points: make([]float64, f.cols.Actions.Rows), Trial: make([]float64, f.cols.Actions.Rows),
		Kept: make([]Truth, f.cols.Chances.Rows), Team: make([]float64, f.cols.Chances.Rows),
	}
	e := newEngine(d, f)
	parts := gameSpans(f.cols)
	workers := make([]*worker, len(parts))
	inParallel(parts, func(i int, s span) {
		workers[i] = e.worker()
		p := &applying{Verdicts: v, worker: workers[i]}
		if e.keepAlone {
			p.keep(s)
		}
		workers[i].run(s, p)
	})
	v.Undecided = listUndecided(d, workers)
	return v
}

// applying writes what a worker finds into the verdicts.
type applying struct {
	*Verdicts
	worker *worker
}

// keep writes what is known of chances without their actions.
func (p *applying) keep(s span) {
	for c := s.from; c < s.to; c++ {
		facts := p.worker.factsOf(uint32(c))
		if p.Kept[c] = facts.keep; facts.keep == Yes && facts.cost[0].reason == "" {
			p.Team[c] = facts.cost[0].number
		}
	}
}

func (p *applying) block(int, int) {}

func (p *applying) chance(chance uint32, acts []act, kept Truth) {
	answered := int64(0)
	for i := range acts {
		a := &acts[i]
		p.In[a.row], p.Stop[a.row] = a.in, a.stop
		p.Trial[a.row] = float64(a.trial) / trialUnit
		p.Points[a.row] = float64(a.points) / pointUnit
		if a.pool == 0 {
			answered += a.points
		}
	}
	if !p.worker.keepAlone {
		p.Kept[chance] = kept
	}
	if p.Kept[chance] == Yes && (answered != 0 || !p.worker.keepAlone) {
		p.Team[chance] = float64(p.worker.factsOf(chance).units[0]-answered) / pointUnit
	}
}
