package definition

import "math/bits"

// cellIndex finds the cell of a key: an open table of a power of two, at most
// half full, probed in line. Keys are kept plus one, so that 0 is free.
type cellIndex struct {
	keys  []uint64
	cells []uint32
	used  int
}

func newCellIndex() *cellIndex {
	const size = 1 << 10
	return &cellIndex{keys: make([]uint64, size), cells: make([]uint32, size)}
}

// slot is where a key is, or where it would go.
func (x *cellIndex) slot(key uint64) int {
	mask := uint64(len(x.keys) - 1)
	// Multiplication by 2^64 divided by the golden ratio spreads neighbouring
	// keys (Knuth, The Art of Computer Programming, volume 3, section 6.4); both
	// halves of the product, so that every bit of the key has its say.
	high, low := bits.Mul64(key, 0x9e3779b97f4a7c15)
	at := (high ^ low) & mask
	for x.keys[at] != 0 && x.keys[at] != key+1 {
		at = (at + 1) & mask
	}
	return int(at)
}

func (x *cellIndex) find(key uint64) (uint32, bool) {
	at := x.slot(key)
	return x.cells[at], x.keys[at] != 0
}

func (x *cellIndex) put(key uint64, cell uint32) {
	if 2*x.used >= len(x.keys) {
		old := *x
		x.keys, x.cells, x.used = make([]uint64, 2*len(old.keys)), make([]uint32, 2*len(old.keys)), 0
		for i, k := range old.keys {
			if k != 0 {
				x.put(k-1, old.cells[i])
			}
		}
	}
	at := x.slot(key)
	x.keys[at], x.cells[at] = key+1, cell
	x.used++
}
