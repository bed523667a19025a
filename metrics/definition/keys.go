package definition

import (
	"stopledger/replay"
)

// axis is one column's part in a combination: its code times a stride is added
// to a row's key, so that the keys of different combinations differ.
type axis struct {
	link   []uint32 // the row of the axis's own table for each row; nil: the same row
	codes  replay.Codes
	reals  []float32 // instead of codes: a measured field, in the cells of cuts
	cuts   []float64
	count  uint64 // how many codes there are
	stride uint32
}

// block is how many rows are worked on together, so that what is made of one
// step is still in the nearest cache at the next.
var block = 256 // a variable, as the limits below, only for tests

// setStrides gives every axis its stride and returns the number of
// combinations; 0 says there are more than fit.
func setStrides(axes []axis, limit uint64) uint64 {
	size := uint64(1)
	for i := range axes {
		axes[i].stride = uint32(size)
		if size *= max(axes[i].count, 1); size > limit {
			return 0
		}
	}
	return size
}

// addKeys adds the axes' parts for the rows from first on to keys.
func addKeys(axes []axis, keys []uint32, first int) {
	for i := range axes {
		axes[i].add(keys, first)
	}
}

func (a *axis) add(keys []uint32, first int) {
	if a.count <= 1 {
		return
	}
	var link []uint32
	if a.link != nil {
		link = a.link[first : first+len(keys)]
	}
	switch {
	case a.reals != nil:
		a.addCells(keys, link, first)
	case a.codes.U8 != nil:
		addCodes(keys, link, a.codes.U8, first, a.stride)
	case a.codes.U16 != nil:
		addCodes(keys, link, a.codes.U16, first, a.stride)
	case a.codes.U32 != nil:
		addCodes(keys, link, a.codes.U32, first, a.stride)
	}
}

func addCodes[T uint8 | uint16 | uint32](keys, link []uint32, codes []T, first int, stride uint32) {
	if link != nil {
		for i, row := range link[:len(keys)] {
			keys[i] += uint32(codes[row]) * stride
		}
		return
	}
	for i, code := range codes[first : first+len(keys)] {
		keys[i] += uint32(code) * stride
	}
}

func (a *axis) addCells(keys, link []uint32, first int) {
	for i := range keys {
		row := uint32(first + i)
		if link != nil {
			row = link[i]
		}
		keys[i] += cellOf(a.cuts, a.reals[row]) * a.stride
	}
}

// axisOf is the axis of a field for an expression, over chances. The second
// answer is false for a measured field that is read as it is.
func (f *frame) axisOf(l lens) (axis, bool) {
	if l.raw {
		return axis{}, false
	}
	a := axis{count: uint64(len(l.values)), reals: l.reals, cuts: l.cuts}
	if l.codes != nil {
		a.codes = *l.codes
	}
	if a.codes.Len()+len(a.reals) == 0 {
		a.count = 1 // absent throughout
	}
	if l.ref.from == fromGame {
		a.link = f.cols.ChanceGame
	}
	return a, true
}

// newCodes makes room for numbers below a limit as narrow as they fit.
func newCodes(n int, limit uint64) replay.Codes {
	switch {
	case limit <= 1<<8:
		return replay.Codes{U8: make([]uint8, n)}
	case limit <= 1<<16:
		return replay.Codes{U16: make([]uint16, n)}
	}
	return replay.Codes{U32: make([]uint32, n)}
}

func storeCodes(c *replay.Codes, first int, values []uint32) {
	switch {
	case c.U8 != nil:
		for i, v := range values {
			c.U8[first+i] = uint8(v)
		}
	case c.U16 != nil:
		for i, v := range values {
			c.U16[first+i] = uint16(v)
		}
	default:
		copy(c.U32[first:], values)
	}
}

func loadCodes(values []uint32, c *replay.Codes, first int) {
	switch {
	case c.U8 != nil:
		for i, v := range c.U8[first : first+len(values)] {
			values[i] = uint32(v)
		}
	case c.U16 != nil:
		for i, v := range c.U16[first : first+len(values)] {
			values[i] = uint32(v)
		}
	default:
		copy(values, c.U32[first:])
	}
}
