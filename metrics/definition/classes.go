package definition

import (
	"encoding/binary"
	"slices"

	"stopledger/replay"
)

// classes sorts the chances: two chances of one class are alike to every
// expression of a definition. A class is found from the chance's fields by
// key, and stands for what the expressions that depend on the chance alone say
// of it together with the codes of those chance fields that expressions about
// actions read.
type classes struct {
	of    replay.Codes // by chance
	first []uint32     // by class: one chance of it
	size  []int        // by class: how many chances
}

// maxClasses bounds the classes; with more the rows are judged one by one.
var maxClasses = 1 << 14

// element is a part of what makes a class: an expression over chances, or a
// field by its codes.
type element struct {
	axes  []axis
	code  func(chance uint32) uint32
	value func(code uint32) value // of an expression
}

// sortChances finds the classes; nil when there are too many.
func (f *frame) sortChances(exprs []*expression, fields []fieldUse) *classes {
	var elements []element
	for _, e := range exprs {
		if len(e.fields) > 0 {
			elements = append(elements, f.expressionElement(e))
		}
	}
	for _, use := range fields {
		elements = append(elements, f.fieldElement(use))
	}
	result := &classes{of: newCodes(f.cols.Chances.Rows, 1), first: []uint32{0}, size: []int{f.cols.Chances.Rows}}
	for _, bundle := range bundles(elements) {
		c := f.sortBundle(bundle)
		if c == nil {
			return nil
		}
		if result = f.cross(result, c); result == nil {
			return nil
		}
	}
	return result
}

// fieldUse is a chance's field as an expression reads it.
type fieldUse struct {
	ref  *fieldRef
	expr *expression
}

// expressionElement prepares an expression that depends on the chance alone.
// One that cannot be looked up by key is worked out for every chance first.
func (f *frame) expressionElement(e *expression) element {
	m := newMemo(e, f)
	var axes []axis
	for _, l := range m.lenses {
		a, ok := f.axisOf(l)
		if !ok {
			return f.workedOut(e)
		}
		axes = append(axes, a)
	}
	if setStrides(axes, maxDense) == 0 {
		return f.workedOut(e)
	}
	return element{axes, func(chance uint32) uint32 { return m.of(chance, 0) }, func(code uint32) value { return m.values[code] }}
}

func (f *frame) workedOut(e *expression) element {
	codes, values := f.evaluateChances(e)
	a := axis{codes: codes, count: uint64(len(values))}
	return element{[]axis{a}, func(chance uint32) uint32 { return codes.At(int(chance)) }, func(code uint32) value { return values[code] }}
}

func (f *frame) fieldElement(use fieldUse) element {
	l := f.lensOf(use.ref, use.expr)
	a, ok := f.axisOf(l)
	if !ok {
		// A measured field read as it is: no two chances are alike.
		a = axis{count: 1 << 40}
	}
	return element{axes: []axis{a}, code: func(chance uint32) uint32 { return l.code(f.at(use.ref.from, chance, 0)) }}
}

// bundles puts elements together while the combinations of their fields still
// fit a table.
func bundles(elements []element) [][]element {
	var list [][]element
	var sizes []uint64
next:
	for _, e := range elements {
		size := uint64(1)
		for _, a := range e.axes {
			size *= max(a.count, 1)
		}
		for i := range list {
			if sizes[i]*size <= maxDense {
				list[i] = append(list[i], e)
				sizes[i] *= size
				continue next
			}
		}
		list, sizes = append(list, []element{e}), append(sizes, size)
	}
	return list
}

// sortBundle finds the classes that some elements make.
func (f *frame) sortBundle(bundle []element) *classes {
	var axes []axis
	for _, e := range bundle {
		axes = append(axes, e.axes...)
	}
	axes = distinctAxes(axes)
	size := setStrides(axes, maxDense)
	if size == 0 {
		return nil
	}
	keys, seen := f.keysOf(axes, size)
	tuple := make([]byte, 4*len(bundle))
	return f.classify(keys, seen, func(chance uint32) string {
		for i, e := range bundle {
			binary.LittleEndian.PutUint32(tuple[4*i:], e.code(chance))
		}
		return string(tuple)
	})
}

// distinctAxes drops an axis that stands twice, because two expressions of a
// bundle read the same field alike.
func distinctAxes(axes []axis) []axis {
	var list []axis
next:
	for _, a := range axes {
		for _, b := range list {
			if sameAxis(a, b) {
				continue next
			}
		}
		list = append(list, a)
	}
	return list
}

func sameAxis(a, b axis) bool {
	if a.count <= 1 && b.count <= 1 {
		return true
	}
	return a.count == b.count && sameSlice(a.codes.U8, b.codes.U8) && sameSlice(a.codes.U16, b.codes.U16) &&
		sameSlice(a.codes.U32, b.codes.U32) && sameSlice(a.reals, b.reals) && sameSlice(a.link, b.link) && slices.Equal(a.cuts, b.cuts)
}

func sameSlice[T any](a, b []T) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// keysOf works every chance's key out and notes, for each key, the first
// chance that has it.
func (f *frame) keysOf(axes []axis, size uint64) (keys replay.Codes, seen []uint32) {
	n := f.cols.Chances.Rows
	keys = newCodes(n, size)
	parts := spans(n)
	firsts := make([][]uint32, len(parts))
	inParallel(parts, func(part int, s span) {
		first := make([]uint32, size)
		buffer := make([]uint32, block)
		for at := s.from; at < s.to; at += block {
			rows := buffer[:min(block, s.to-at)]
			clear(rows)
			addKeys(axes, rows, at)
			storeCodes(&keys, at, rows)
			for i, key := range rows {
				if first[key] == 0 {
					first[key] = uint32(at+i) + 1
				}
			}
		}
		firsts[part] = first
	})
	seen = firsts[0]
	for _, first := range firsts[1:] {
		for key, row := range first {
			if seen[key] == 0 {
				seen[key] = row
			}
		}
	}
	return keys, seen
}

// classify turns keys into classes: keys whose first chances give the same
// tuple are one class.
func (f *frame) classify(keys replay.Codes, seen []uint32, tuple func(chance uint32) string) *classes {
	c := &classes{}
	byTuple := map[string]uint32{}
	table := make([]uint32, len(seen))
	for key, row := range seen {
		if row == 0 {
			continue
		}
		t := tuple(row - 1)
		class, ok := byTuple[t]
		if !ok {
			if len(c.first) == maxClasses {
				return nil
			}
			class = uint32(len(c.first))
			byTuple[t] = class
			c.first = append(c.first, row-1)
		}
		table[key] = class
	}
	n := f.cols.Chances.Rows
	c.of = newCodes(n, uint64(len(c.first)))
	c.size = make([]int, len(c.first))
	parts := spans(n)
	sizes := make([][]int, len(parts))
	inParallel(parts, func(part int, s span) {
		sizes[part] = make([]int, len(c.first))
		buffer := make([]uint32, block)
		for at := s.from; at < s.to; at += block {
			rows := buffer[:min(block, s.to-at)]
			loadCodes(rows, &keys, at)
			for i, key := range rows {
				class := table[key]
				rows[i] = class
				sizes[part][class]++
			}
			storeCodes(&c.of, at, rows)
		}
	})
	for _, part := range sizes {
		for class, count := range part {
			c.size[class] += count
		}
	}
	return c
}

// cross makes the classes of chances that are alike in both.
func (f *frame) cross(a, b *classes) *classes {
	if len(a.first) == 1 {
		return b
	}
	if len(b.first) == 1 {
		return a
	}
	axes := []axis{{codes: a.of, count: uint64(len(a.first))}, {codes: b.of, count: uint64(len(b.first))}}
	size := setStrides(axes, 1<<22)
	if size == 0 {
		return nil
	}
	keys, seen := f.keysOf(axes, size)
	tuple := make([]byte, 8)
	return f.classify(keys, seen, func(chance uint32) string {
		binary.LittleEndian.PutUint32(tuple, a.of.At(int(chance)))
		binary.LittleEndian.PutUint32(tuple[4:], b.of.At(int(chance)))
		return string(tuple)
	})
}

// evaluateChances works an expression out for every chance: the index of its
// value among the values.
func (f *frame) evaluateChances(e *expression) (replay.Codes, []value) {
	n := f.cols.Chances.Rows
	parts := spans(n)
	memos := make([]*memo, len(parts))
	found := make([]uint32, n)
	inParallel(parts, func(part int, s span) {
		m := newMemo(e, f)
		for c := s.from; c < s.to; c++ {
			found[c] = m.of(uint32(c), 0)
		}
		memos[part] = m
	})
	all := newMemo(e, f)
	for _, m := range memos {
		for _, v := range m.values {
			all.intern(v)
		}
	}
	codes := newCodes(n, uint64(len(all.values)))
	inParallel(parts, func(part int, s span) {
		table := make([]uint32, len(memos[part].values))
		for i, v := range memos[part].values {
			table[i] = all.index[v]
		}
		for c := s.from; c < s.to; c++ {
			found[c] = table[found[c]]
		}
		storeCodes(&codes, s.from, found[s.from:s.to])
	})
	return codes, all.values
}
