package definition

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"stopledger/replay"
)

// grouping turns the row of an action into the key of its group. A key has two
// halves: what is the action's or a player's below, what is the chance's above.
type grouping struct {
	frame *frame
	low   []axis
	high  []axis
	bits  uint // of the low half
	dense int  // keys that cells are kept for in a plain list; 0: by hash
	names []naming
}

// naming finds a dimension's text in a key.
type naming struct {
	axis  int
	high  bool
	texts []string // by the axis's code
	ranks []uint64 // by the axis's code: the text's place among them, sorted
}

// maxDenseGroups is the most keys that cells are kept for in a plain list.
var maxDenseGroups uint64 = 1 << 17

func (f *frame) grouping(dims []dimension) (*grouping, error) {
	g := &grouping{frame: f, names: make([]naming, len(dims))}
	for i, dim := range dims {
		if r := dim.fields[0]; r.from == fromAction {
			column := f.column(r)
			a := columnAxis(column)
			rows := make([]string, max(a.count, 1))
			for code := range rows {
				rows[code] = keyText(column, uint32(code))
			}
			g.names[i] = newNaming(len(g.low), false, rows)
			g.low = append(g.low, a)
		}
	}
	g.players(dims, fromDefender, f.cols.ActionDefender)
	g.players(dims, fromOpponent, f.cols.ActionOpponent)
	g.chances(dims)
	low, high := setStrides(g.low, 1<<32-1), setStrides(g.high, 1<<32-1)
	if low == 0 || high == 0 {
		return nil, fmt.Errorf("grouping by all of these gives more than 4 billion groups; use fewer")
	}
	for 1<<g.bits < low {
		g.bits++
	}
	if len(g.high) == 0 && low <= maxDenseGroups {
		g.dense = int(low)
	}
	return g, nil
}

// players makes one axis of all the dimensions of a player.
func (g *grouping) players(dims []dimension, from source, link []uint32) {
	var lenses []lens
	for _, dim := range dims {
		if dim.fields[0].from == from {
			for _, r := range dim.fields {
				lenses = append(lenses, g.frame.lensOf(r, nil))
			}
		}
	}
	if len(lenses) == 0 {
		return
	}
	codes, rows := sortPlayers(g.frame.cols, lenses)
	for i, dim := range dims {
		if dim.fields[0].from == from {
			g.names[i] = newNaming(len(g.low), false, g.frame.textsOf(dim, rows))
		}
	}
	g.low = append(g.low, axis{link: link, codes: codes, count: uint64(len(rows))})
}

// chances makes one axis of all the dimensions of chance and game.
func (g *grouping) chances(dims []dimension) {
	var refs []*fieldRef
	for _, dim := range dims {
		if dim.fields[0].from <= fromChance {
			refs = append(refs, dim.fields...)
		}
	}
	if len(refs) == 0 {
		return
	}
	codes, rows := g.frame.combine(refs)
	for i, dim := range dims {
		if dim.fields[0].from <= fromChance {
			g.names[i] = newNaming(0, true, g.frame.textsOf(dim, rows))
		}
	}
	g.high = append(g.high, axis{link: g.frame.cols.ActionChance, codes: codes, count: uint64(len(rows))})
}

// combine numbers the combinations of some fields over the chances and gives,
// for each, one chance that has it.
func (f *frame) combine(refs []*fieldRef) (codes replay.Codes, rows []uint32) {
	found := make([]uint32, f.cols.Chances.Rows)
	lenses := make([]lens, len(refs))
	for i, r := range refs {
		lenses[i] = f.lensOf(r, nil)
	}
	index := map[string]uint32{}
	tuple, last := make([]byte, 4*len(refs)), ""
	for c := range found {
		for i, r := range refs {
			binary.LittleEndian.PutUint32(tuple[4*i:], lenses[i].code(f.at(r.from, uint32(c), 0)))
		}
		if c > 0 && string(tuple) == last { // neighbours are often alike
			found[c] = found[c-1]
			continue
		}
		code, ok := index[string(tuple)]
		if !ok {
			code = uint32(len(rows))
			index[string(tuple)] = code
			rows = append(rows, uint32(c))
		}
		found[c], last = code, string(tuple)
	}
	codes = newCodes(len(found), uint64(len(rows)))
	storeCodes(&codes, 0, found)
	return codes, rows
}

// textsOf names a dimension on some rows of its table: players, or chances.
func (f *frame) textsOf(dim dimension, rows []uint32) []string {
	texts := make([]string, len(rows))
	parts := make([]string, len(dim.fields))
	for i, row := range rows {
		for k, r := range dim.fields {
			at := row
			if r.from == fromGame {
				at = f.cols.ChanceGame[row]
			}
			column := f.column(r)
			parts[k] = keyText(column, column.Code(int(at)))
		}
		texts[i] = joinKey(parts)
	}
	return texts
}

func newNaming(axis int, high bool, texts []string) naming {
	n := naming{axis: axis, high: high, texts: texts, ranks: make([]uint64, len(texts))}
	sorted := slices.Clone(texts)
	slices.Sort(sorted)
	sorted = slices.Compact(sorted)
	for code, text := range texts {
		at, _ := slices.BinarySearch(sorted, text)
		n.ranks[code] = uint64(at)
	}
	return n
}

func (g *grouping) code(n *naming, key uint64) uint32 {
	half, axes := uint32(key&(1<<g.bits-1)), g.low
	if n.high {
		half, axes = uint32(key>>g.bits), g.high
	}
	a := &axes[n.axis]
	return half / a.stride % uint32(max(a.count, 1))
}

// key names a group, dimension by dimension, into a list of that length.
func (g *grouping) key(key uint64, into []string) {
	for i := range g.names {
		into[i] = g.names[i].texts[g.code(&g.names[i], key)]
	}
}

// compare orders the names of two groups.
func (g *grouping) compare(a, b uint64) int {
	for i := range g.names {
		n := &g.names[i]
		if c := cmp.Compare(n.ranks[g.code(n, a)], n.ranks[g.code(n, b)]); c != 0 {
			return c
		}
	}
	return cmp.Compare(a, b)
}

// unsaid stands in a key of several fields for one that is absent.
const unsaid = "unsaid"

// joinKey joins the texts of a dimension's fields; of a scheme, "man gap".
func joinKey(parts []string) string {
	if strings.Join(parts, "") == "" {
		return ""
	}
	for i := range parts {
		if parts[i] == "" {
			parts[i] = unsaid
		}
	}
	return strings.Join(parts, " ")
}

// keyText is what a group's key says of one field: the word, the number, or ""
// where it is absent.
func keyText(c *replay.Column, code uint32) string {
	switch {
	case code == 0:
		return ""
	case c.Field.Shape == replay.Number:
		return printNumber(c.Numbers[code])
	case c.Field.Shape == replay.Truth && c.Numbers[code] != 0:
		return "true"
	case c.Field.Shape == replay.Truth:
		return "false"
	}
	return c.Words[code]
}
