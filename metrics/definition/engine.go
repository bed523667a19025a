package definition

import (
	"encoding/binary"

	"stopledger/replay"
)

// engine is a definition on columns, ready to be run by several workers. It
// does not change while they run.
type engine struct {
	def       *Definition
	frame     *frame
	keepAlone bool // keep depends on the chance alone

	// Chance classes and what is known of each; without classes, because hardly
	// two chances are alike, every row is judged by its own.
	classes *classes
	facts   []chanceFacts // by class

	axes []axis // of the grid of verdicts: class, action fields, players' fields
	size uint64 // combinations in the grid
}

// chanceFacts is what the rules say of a chance.
type chanceFacts struct {
	keep  Truth // No where keep needs the action
	cost  []value
	units []int64 // the same in pointUnits, 0 where undecided
	open  bool    // a cost is undecided
}

// maxGrid is the most combinations of classes and codes that rows are looked
// up in.
var maxGrid uint64 = 1 << 20

func newEngine(d *Definition, f *frame) *engine {
	e := &engine{def: d, frame: f, keepAlone: d.keep.ofChance()}
	var alone, mixed []*expression
	for _, x := range append(append([]*expression{d.keep, d.count, d.weight}, d.stop.list...), d.cost.list...) {
		if x.ofChance() {
			alone = append(alone, x)
		} else {
			mixed = append(mixed, x)
		}
	}
	e.classes = f.sortChances(alone, chanceUses(mixed))
	if e.classes != nil && !e.layAxes(mixed) {
		e.classes = nil
	}
	if e.classes != nil {
		j := newJudge(d, f)
		for _, chance := range e.classes.first {
			if f.cols.Chances.Rows == 0 {
				break
			}
			e.facts = append(e.facts, j.chanceFacts(chance, e.keepAlone))
		}
	}
	return e
}

func (j *judge) chanceFacts(chance uint32, keepAlone bool) chanceFacts {
	facts := chanceFacts{cost: make([]value, len(j.cost)), units: make([]int64, len(j.cost))}
	if keepAlone {
		facts.keep = j.keepOf(chance)
	}
	for pool := range j.cost {
		facts.cost[pool] = j.costOf(uint8(pool), chance)
		facts.units[pool] = units(facts.cost[pool])
		facts.open = facts.open || facts.cost[pool].reason != ""
	}
	return facts
}

// chanceUses lists the chance fields that expressions about actions read.
func chanceUses(exprs []*expression) []fieldUse {
	var uses []fieldUse
	for _, x := range exprs {
		for _, r := range x.fields {
			if r.from <= fromChance {
				uses = append(uses, fieldUse{r, x})
			}
		}
	}
	return uses
}

// layAxes lays the grid out: chance classes, then kind and reading, which
// every verdict needs, then what expressions about actions read. It reports
// false when there are more combinations than the grid may have.
func (e *engine) layAxes(mixed []*expression) bool {
	cols := e.frame.cols
	e.axes = []axis{{link: cols.ActionChance, codes: e.classes.of, count: uint64(len(e.classes.first))}}
	for _, name := range []string{"action.kind", "action.reading"} {
		c := cols.Actions.Column(name)
		e.axes = append(e.axes, columnAxis(c))
	}
	var defenders, opponents []lens
	for _, x := range mixed {
		for _, r := range x.fields {
			l := e.frame.lensOf(r, x)
			switch r.from {
			case fromAction:
				a, ok := e.frame.axisOf(l)
				if !ok {
					return false
				}
				e.axes = append(e.axes, a)
			case fromDefender:
				defenders = append(defenders, l)
			case fromOpponent:
				opponents = append(opponents, l)
			}
		}
	}
	e.axes = append(e.axes, playerAxis(cols, defenders, cols.ActionDefender), playerAxis(cols, opponents, cols.ActionOpponent))
	e.axes = distinctAxes(e.axes)
	e.size = setStrides(e.axes, maxGrid)
	return e.size > 0
}

func columnAxis(c *replay.Column) axis {
	a := axis{codes: c.Codes, count: uint64(c.Cardinality())}
	if c.Codes.Len() == 0 {
		a.count = 1
	}
	return a
}

// playerAxis makes one axis of all fields of a player that are read, through
// the players' table.
func playerAxis(cols *replay.Columns, lenses []lens, link []uint32) axis {
	if len(lenses) == 0 {
		return axis{count: 1}
	}
	codes, tuples := sortPlayers(cols, lenses)
	return axis{link: link, codes: codes, count: uint64(len(tuples))}
}

// sortPlayers numbers the combinations of some fields over the players' rows
// and gives, for each, one row that has it.
func sortPlayers(cols *replay.Columns, lenses []lens) (codes replay.Codes, rows []uint32) {
	found := make([]uint32, cols.Players.Rows)
	index := map[string]uint32{}
	tuple := make([]byte, 4*len(lenses))
	for row := range found {
		for i := range lenses {
			binary.LittleEndian.PutUint32(tuple[4*i:], lenses[i].code(uint32(row)))
		}
		code, ok := index[string(tuple)]
		if !ok {
			code = uint32(len(rows))
			index[string(tuple)] = code
			rows = append(rows, uint32(row))
		}
		found[row] = code
	}
	codes = newCodes(len(found), uint64(len(rows)))
	storeCodes(&codes, 0, found)
	return codes, rows
}
