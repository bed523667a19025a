package pooled

import (
	"cmp"
	"slices"
)

// The families whose scale is unknown.
const (
	famRho = iota
	famAlpha
	famBeta
	famGamma
	famDelta
	families
	famMu = families // its scale is given
)

// layout is the data sorted for the solver. Groups with trials are "rows", each
// with blocks (one for an item), each with cells. The border is the set of shared
// effects that any cell touches, ordered by item, so that the columns of a row's
// slots ascend. A slot is one border column as one block sees it.
type layout struct {
	data Data

	rows   []int // group of each row
	block0 []int // first block of each row; one more at the end
	item   []int // item of each block
	cell0  []int // first cell of each block; one more at the end
	slot0  []int // first slot of each block; one more at the end
	column []int // border column of each slot

	y, n, offset []float64
	gamma, delta []int // slot of the cell's opposing class and condition, from the block's first
	opposing     []int // the cell's opposing class
	condition    []int // the cell's condition

	family []int // family of each border column
	// The border column of each level, or -1 where no cell touches it.
	mu, rho, gam, del []int

	blockOf map[[2]int]int // (group, item) to block
	rowOf   []int          // group to row, or -1
	trials  float64
}

func newLayout(d Data) *layout {
	l := &layout{data: d, blockOf: map[[2]int]int{}, rowOf: make([]int, d.Groups())}
	cells := merged(d.Cells)
	l.borderColumns(cells)
	for _, list := range []*[]float64{&l.y, &l.n, &l.offset} {
		*list = make([]float64, 0, len(cells))
	}
	for _, list := range []*[]int{&l.gamma, &l.delta, &l.opposing, &l.condition} {
		*list = make([]int, 0, len(cells))
	}
	for g := range l.rowOf {
		l.rowOf[g] = -1
	}
	for i := 0; i < len(cells); {
		j := i
		for j < len(cells) && cells[j].Group == cells[i].Group && cells[j].Item == cells[i].Item {
			j++
		}
		l.addBlock(cells[i:j])
		i = j
	}
	l.block0 = append(l.block0, len(l.item))
	l.cell0 = append(l.cell0, len(l.y))
	l.slot0 = append(l.slot0, len(l.column))
	return l
}

// merged sorts the cells that have trials and adds up those of one combination.
func merged(cells []Cell) []Cell {
	kept := make([]Cell, 0, len(cells))
	for _, c := range cells {
		if c.Trials > 0 {
			c.Successes = min(max(c.Successes, 0), c.Trials)
			kept = append(kept, c)
		}
	}
	key := func(a, b Cell) int {
		return cmp.Or(cmp.Compare(a.Group, b.Group), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Opposing, b.Opposing),
			cmp.Compare(a.Condition, b.Condition), cmp.Compare(a.Offset, b.Offset))
	}
	if !slices.IsSortedFunc(kept, key) {
		slices.SortStableFunc(kept, key)
	}
	out := kept[:0]
	for _, c := range kept {
		if n := len(out); n > 0 && key(out[n-1], c) == 0 {
			out[n-1].Successes += c.Successes
			out[n-1].Trials += c.Trials
			continue
		}
		out = append(out, c)
	}
	return out
}

// borderColumns numbers the shared effects that cells touch, item by item.
func (l *layout) borderColumns(cells []Cell) {
	d := l.data
	l.mu, l.rho = make([]int, d.Items), make([]int, d.OwnClasses*d.Items)
	l.gam, l.del = make([]int, d.Opposing*d.Items), make([]int, d.Conditions*d.Items)
	for _, list := range [][]int{l.mu, l.rho, l.gam, l.del} {
		for i := range list {
			list[i] = -1
		}
	}
	const touched = -2
	for _, c := range cells {
		l.mu[c.Item] = touched
		l.rho[d.Own[c.Group]*d.Items+c.Item] = touched
		l.gam[c.Opposing*d.Items+c.Item] = touched
		l.del[c.Condition*d.Items+c.Item] = touched
		l.trials += c.Trials
	}
	number := func(list []int, at, family int) {
		if list[at] == touched {
			list[at] = len(l.family)
			l.family = append(l.family, family)
		}
	}
	for k := range d.Items {
		number(l.mu, k, famMu)
		for o := range d.OwnClasses {
			number(l.rho, o*d.Items+k, famRho)
		}
		for r := range d.Opposing {
			number(l.gam, r*d.Items+k, famGamma)
		}
		for s := range d.Conditions {
			number(l.del, s*d.Items+k, famDelta)
		}
	}
}

// addBlock appends the cells of one group and item, sorted by opposing class.
func (l *layout) addBlock(cells []Cell) {
	d, g, k := l.data, cells[0].Group, cells[0].Item
	if l.rowOf[g] < 0 {
		l.rowOf[g] = len(l.rows)
		l.rows = append(l.rows, g)
		l.block0 = append(l.block0, len(l.item))
	}
	l.blockOf[[2]int{g, k}] = len(l.item)
	l.item = append(l.item, k)
	l.cell0 = append(l.cell0, len(l.y))
	first := len(l.column)
	l.slot0 = append(l.slot0, first)
	l.column = append(l.column, l.mu[k], l.rho[d.Own[g]*d.Items+k])
	var opposing, conditions []int
	for _, c := range cells {
		opposing = insert(opposing, c.Opposing)
		conditions = insert(conditions, c.Condition)
	}
	for _, r := range opposing {
		l.column = append(l.column, l.gam[r*d.Items+k])
	}
	for _, s := range conditions {
		l.column = append(l.column, l.del[s*d.Items+k])
	}
	for _, c := range cells {
		r, _ := slices.BinarySearch(opposing, c.Opposing)
		s, _ := slices.BinarySearch(conditions, c.Condition)
		l.y = append(l.y, c.Successes)
		l.n = append(l.n, c.Trials)
		l.offset = append(l.offset, c.Offset)
		l.opposing = append(l.opposing, c.Opposing)
		l.condition = append(l.condition, c.Condition)
		l.gamma = append(l.gamma, 2+r)
		l.delta = append(l.delta, 2+len(opposing)+s)
	}
}

func insert(sorted []int, v int) []int {
	if i, found := slices.BinarySearch(sorted, v); !found {
		return slices.Insert(sorted, i, v)
	}
	return sorted
}

// border is the number of shared effects that cells touch.
func (l *layout) border() int { return len(l.family) }

// effects is the number of effects that cells touch.
func (l *layout) effects() int { return l.border() + len(l.rows) + len(l.item) }
