package definition

// act is one action of a chance once the chance is settled.
type act struct {
	*verdict
	row      uint32
	defender uint32
	others   uint32 // how many more actions the defender has
	costOpen bool   // it would answer for points, but the cost is undecided
	trial    uint32 // the weight of the trial it stands for, in trialUnits; 0: none
	points   int64  // answered for, in pointUnits
}

// Sums are kept in whole units, so that they do not depend on the order of
// adding and are the same however many processors share the work. A defender
// has at most one trial a kind in a chance, and trialUnit is divisible by every
// number up to twelve.
const (
	trialUnit = 27720
	pointUnit = 1 << 36
)

// visitor receives settled chances in ascending order: the actions that count
// or may count, and, where keep needs the actions, whether the chance is kept.
// It is told of every block of actions before their chances.
type visitor interface {
	block(first, count int)
	chance(chance uint32, acts []act, kept Truth)
}

// worker runs an engine over a range of chances.
type worker struct {
	*engine
	judge    *judge
	grid     []uint32 // by key: index of the verdict plus one
	verdicts []verdict
	index    map[verdict]uint32
	own      chanceFacts // of the chance at hand, without classes
	ownOf    uint32

	kept       int   // of the chances with actions, where keep needs the action
	answerable int64 // the default cost of these
	answered   int64 // of it, in pointUnits

	undecided map[reasonKey]int
	acts      []act
	keys, ids []uint32
}

func (e *engine) worker() *worker {
	w := &worker{
		engine: e, judge: newJudge(e.def, e.frame), index: map[verdict]uint32{}, undecided: map[reasonKey]int{},
		keys: make([]uint32, block), ids: make([]uint32, block), ownOf: never,
	}
	if e.classes != nil {
		w.grid = make([]uint32, e.size)
	}
	return w
}

const never = ^uint32(0)

// run settles the chances of a range that have actions and shows them.
func (w *worker) run(chances span, v visitor) {
	of := w.frame.cols.ActionChance
	rows := actionsOf(w.frame.cols, chances)
	for at := rows.from; at < rows.to; {
		end := min(at+block, rows.to)
		if end < rows.to { // not in the middle of a chance
			cut := end
			for end > at && of[end] == of[end-1] {
				end--
			}
			if end == at {
				for end = cut; end < rows.to && of[end] == of[end-1]; end++ {
				}
			}
		}
		w.fill(at, end-at)
		v.block(at, end-at)
		for first := at; first < end; {
			chance, last := of[first], first+1
			for last < end && of[last] == chance {
				last++
			}
			if w.keepAlone && w.classes != nil && w.factsOf(chance).keep == No {
				first = last
				continue
			}
			acts, kept := w.settle(chance, first, w.ids[first-at:last-at])
			v.chance(chance, acts, kept)
			first = last
		}
		at = end
	}
}

// fill finds the verdicts of a block of actions.
func (w *worker) fill(first, count int) {
	for len(w.keys) < count {
		w.keys, w.ids = append(w.keys, 0), append(w.ids, 0)
	}
	ids := w.ids[:count]
	if w.classes == nil {
		for i := range ids {
			ids[i] = w.judged(uint32(first + i))
		}
		return
	}
	keys := w.keys[:count]
	clear(keys)
	addKeys(w.axes, keys, first)
	for i, key := range keys {
		at := w.grid[key]
		if at == 0 {
			at = w.judged(uint32(first+i)) + 1
			w.grid[key] = at
		}
		ids[i] = at - 1
	}
}

// judged judges one action and gives the index of its verdict.
func (w *worker) judged(row uint32) uint32 {
	v := w.judge.row(w.frame.cols.ActionChance[row], row)
	at, ok := w.index[v]
	if !ok {
		at = uint32(len(w.verdicts))
		w.verdicts = append(w.verdicts, v)
		w.index[v] = at
	}
	return at
}

func (w *worker) factsOf(chance uint32) *chanceFacts {
	if w.classes != nil {
		return &w.facts[w.classes.of.At(int(chance))]
	}
	if w.ownOf != chance {
		w.own, w.ownOf = w.judge.chanceFacts(chance, w.keepAlone), chance
	}
	return &w.own
}

// settle turns the verdicts of a chance's actions into trials and points. It
// leaves out the actions that do not count.
func (w *worker) settle(chance uint32, first int, ids []uint32) ([]act, Truth) {
	for len(w.acts) < len(ids) {
		w.acts = append(w.acts, act{})
	}
	defenders := w.frame.cols.ActionDefender[first : first+len(ids)]
	count, weights, weighty := 0, 0, 0
	open, again, twice := false, false, false // a defender has several actions; and of one kind
	for i, id := range ids {
		v := &w.verdicts[id]
		if v.in == No {
			continue
		}
		a := &w.acts[count]
		a.verdict, a.row, a.defender = v, uint32(first+i), defenders[i]
		a.trial, a.others, a.points, a.costOpen = 0, 0, 0, false
		if v.open {
			open = true
			w.note(v)
		}
		if v.in == Yes {
			a.trial = trialUnit
			for k := range w.acts[:count] {
				if b := &w.acts[k]; b.defender == a.defender && b.trial > 0 {
					again = true
					twice = twice || b.kind == v.kind
					a.others++
					b.others++
				}
			}
		}
		if v.weight > 0 {
			weights, weighty = weights+1, count
		}
		count++
	}
	acts := w.acts[:count]
	switch {
	case twice:
		settleRepeated(acts)
	case again:
		for i := range acts {
			if others := acts[i].others; others > 0 {
				acts[i].trial = trialUnit / (others + 1)
			}
		}
	}
	if weights > 0 {
		facts := w.factsOf(chance)
		if a := &acts[weighty]; weights == 1 && !open && !facts.open {
			if a.defender != 0 { // all of it is his
				a.points = facts.units[a.pool]
				if a.pool == 0 {
					w.answered += a.points
				}
			}
		} else {
			w.answer(acts, facts)
		}
	}
	if w.keepAlone {
		return acts, No
	}
	return acts, w.keptBy(chance, ids)
}

// keptBy says whether a chance is kept where that depends on its actions: it is
// when one of them is.
func (w *worker) keptBy(chance uint32, ids []uint32) Truth {
	kept := No
	for _, id := range ids {
		kept = either(kept, w.verdicts[id].keep)
	}
	if kept == Yes {
		w.kept++
		w.answerable += w.factsOf(chance).units[0]
	}
	return kept
}

// settleRepeated settles trials where some are made of several actions: it
// finds the action that stands for each, and the trial's weight is one over the
// number of its defender's trials in the chance.
func settleRepeated(acts []act) {
	for i := range acts {
		a := &acts[i]
		for k := range i {
			b := &acts[k]
			if b.trial == 0 || a.trial == 0 || b.defender != a.defender || b.kind != a.kind {
				continue
			}
			if a.reading > b.reading { // it reads worse than the one before
				b.trial = 0
			} else {
				a.trial = 0
			}
		}
	}
	for i := range acts {
		if acts[i].trial == 0 {
			continue
		}
		trials := uint32(0)
		for k := range acts {
			if acts[k].trial > 0 && acts[k].defender == acts[i].defender {
				trials++
			}
		}
		acts[i].trial = trialUnit / trials
	}
}
