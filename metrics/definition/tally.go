package definition

import (
	"slices"

	"stopledger/replay"
)

// Table is a definition's numbers by group.
type Table struct {
	Definition *Definition
	By         []string
	Groups     []Group // sorted by key
	Total      Group   // over everything, with an empty key
	// Team is the points of kept chances that nobody answers for. With the
	// points of all groups whose kinds have the default cost it makes up that
	// cost of all kept chances.
	Team      float64
	Kept      int // chances that count, with or without actions
	Undecided []Undecided
}

// Group is what a table says of one group. Counts are of actions that count,
// unless it says otherwise; see the package comment for trials.
type Group struct {
	Key     []string // one text for each of By; "" where the field is absent
	Actions int
	Games   int
	Chances int
	Trials  int

	Weight float64 // of the trials
	Judged float64 // of the trials whose stop is decided
	Stops  float64 // of the trials that are stops

	JudgedTrials int // the same, every trial as one
	StopTrials   int

	Points float64 // answered for
	// ByPoints counts the chances by the points answered for in each: ByPoints[j]
	// is how many cost j. Points that are no whole number count for both
	// neighbours in proportion, so the mean stays what it is.
	ByPoints []float64

	Held, Even, Broken, Unclear int // actions by reading; a foul to give has none

	HeldWeight, EvenWeight, BrokenWeight float64 // trials by reading

	Undecided int // actions that a rule left undecided, counted or not
}

// Tally groups the actions of the columns. By names dimensions (see
// [Dimensions]) or fields; none gives one group of everything.
func Tally(d *Definition, cols *replay.Columns, by []string) (*Table, error) {
	dims, err := dimensionsOf(by)
	if err != nil {
		return nil, err
	}
	f := newFrame(d, cols)
	g, err := f.grouping(dims)
	if err != nil {
		return nil, err
	}
	e := newEngine(d, f)
	parts := gameSpans(cols)
	workers, counts := make([]*worker, len(parts)), make([]*counting, len(parts))
	inParallel(parts, func(i int, s span) {
		workers[i] = e.worker()
		counts[i] = newCounting(g)
		workers[i].run(s, counts[i])
	})
	t := &Table{Definition: d, By: by, Undecided: listUndecided(d, workers)}
	t.collect(g, counts)
	t.settleTeam(e, workers)
	return t, nil
}

// settleTeam works out what nobody answers for.
func (t *Table) settleTeam(e *engine, workers []*worker) {
	answerable, answered := int64(0), int64(0)
	for _, w := range workers {
		t.Kept += w.kept
		answerable += w.answerable
		answered += w.answered
	}
	if e.keepAlone {
		if e.classes != nil {
			for class, facts := range e.facts {
				if facts.keep == Yes {
					t.Kept += e.classes.size[class]
					answerable += int64(e.classes.size[class]) * units(facts.cost[0])
				}
			}
		} else {
			j := newJudge(e.def, e.frame)
			for c := range e.frame.cols.Chances.Rows {
				if facts := j.chanceFacts(uint32(c), true); facts.keep == Yes {
					t.Kept++
					answerable += units(facts.cost[0])
				}
			}
		}
	}
	t.Team = float64(answerable-answered) / pointUnit
}

// collect adds the workers' cells and names them.
func (t *Table) collect(g *grouping, counts []*counting) {
	var total sum
	var keys []uint64
	for i, c := range counts {
		total.addChances(&c.total, &c.totalCosts)
		for at := range c.cells {
			if c.empty(at) {
				continue
			}
			total.addCounts(&c.cells[at], &c.costs[at])
			if key := c.key(at); !seenBefore(counts[:i], key) {
				keys = append(keys, key)
			}
		}
	}
	t.Total = total.group(nil)
	slices.SortFunc(keys, g.compare)
	t.Groups = make([]Group, len(keys))
	texts := make([]string, len(keys)*len(t.By))
	for i, key := range keys {
		var s sum
		for _, c := range counts {
			if at, ok := c.find(key); ok {
				s.addCounts(&c.cells[at], &c.costs[at])
				s.addChances(&c.cells[at], &c.costs[at])
			}
		}
		name := texts[i*len(t.By) : (i+1)*len(t.By) : (i+1)*len(t.By)]
		g.key(key, name)
		t.Groups[i] = s.group(name)
	}
}

func seenBefore(counts []*counting, key uint64) bool {
	for _, c := range counts {
		if at, ok := c.find(key); ok && !c.empty(at) {
			return true
		}
	}
	return false
}
