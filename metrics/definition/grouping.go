package definition

import (
	"encoding/binary"
	"fmt"
	"iter"
	"strings"

	"stopledger/replay"
)

// grouping turns the row of an action into the key of its group. A key has two
// halves: what is the action's or a player's below, what is the chance's above.
type grouping struct {
	frame  *frame
	dims   []dimension
	low    []axis
	high   []axis
	bits   uint // the low half
	dense  int  // keys that cells are kept for in a plain list; 0: by hash
	fields []groupField
}

// groupField says how a key's code of a field is found back.
type groupField struct {
	ref    *fieldRef
	axis   int // in low or high
	high   bool
	sample []uint32 // for an axis over several fields: a row for each code
}

// maxDenseGroups is the most keys that cells are kept for in a plain list.
var maxDenseGroups uint64 = 1 << 17

func (f *frame) grouping(dims []dimension) (*grouping, error) {
	g := &grouping{frame: f, dims: dims}
	var defenders, opponents, chances []*fieldRef
	for _, dim := range dims {
		for _, r := range dim.fields {
			switch r.from {
			case fromAction:
				g.fields = append(g.fields, groupField{ref: r, axis: len(g.low)})
				g.low = append(g.low, columnAxis(f.column(r)))
			case fromDefender:
				defenders = append(defenders, r)
			case fromOpponent:
				opponents = append(opponents, r)
			default:
				chances = append(chances, r)
			}
		}
	}
	g.players(defenders, f.cols.ActionDefender)
	g.players(opponents, f.cols.ActionOpponent)
	g.chances(chances)
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

func (g *grouping) players(refs []*fieldRef, link []uint32) {
	if len(refs) == 0 {
		return
	}
	lenses := make([]lens, len(refs))
	for i, r := range refs {
		lenses[i] = g.frame.lensOf(r, nil)
	}
	codes, rows := sortPlayers(g.frame.cols, lenses)
	for _, r := range refs {
		g.fields = append(g.fields, groupField{ref: r, axis: len(g.low), sample: rows})
	}
	g.low = append(g.low, axis{link: link, codes: codes, count: uint64(len(rows))})
}

// chances numbers the combinations of chance and game fields.
func (g *grouping) chances(refs []*fieldRef) {
	if len(refs) == 0 {
		return
	}
	n := g.frame.cols.Chances.Rows
	lenses := make([]lens, len(refs))
	for i, r := range refs {
		lenses[i] = g.frame.lensOf(r, nil)
	}
	found := make([]uint32, n)
	index := map[string]uint32{}
	var rows []uint32
	tuple, last := make([]byte, 4*len(refs)), ""
	for c := range found {
		for i, r := range refs {
			binary.LittleEndian.PutUint32(tuple[4*i:], lenses[i].code(g.frame.at(r.from, uint32(c), 0)))
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
	codes := newCodes(n, uint64(len(rows)))
	storeCodes(&codes, 0, found)
	for _, r := range refs {
		g.fields = append(g.fields, groupField{ref: r, axis: 0, high: true, sample: rows})
	}
	g.high = append(g.high, axis{link: g.frame.cols.ActionChance, codes: codes, count: uint64(len(rows))})
}

// key names a group, dimension by dimension.
func (g *grouping) key(key uint64) []string {
	texts := make([]string, len(g.dims))
	for i, dim := range g.dims {
		parts := make([]string, len(dim.fields))
		for k, r := range dim.fields {
			parts[k] = g.text(r, key)
		}
		texts[i] = joinKey(parts)
	}
	return texts
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

func (g *grouping) text(r *fieldRef, key uint64) string {
	for _, f := range g.fields {
		if f.ref != r {
			continue
		}
		half, axes := uint32(key&(1<<g.bits-1)), g.low
		if f.high {
			half, axes = uint32(key>>g.bits), g.high
		}
		a := axes[f.axis]
		code := half / a.stride % uint32(max(a.count, 1))
		column := g.frame.column(r)
		if f.sample != nil {
			row := f.sample[code]
			if r.from == fromGame {
				row = g.frame.cols.ChanceGame[row]
			}
			code = column.Code(int(row))
		}
		return keyText(column, code)
	}
	return ""
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

// counting is a worker's cells. It sees the worker's settled chances.
type counting struct {
	*grouping
	game      []uint32 // by chance
	total     cell
	cells     []cell
	keys      []uint64          // by cell, for hashed groups
	index     map[uint64]uint32 // by key, for hashed groups
	low, high []uint32          // of the block at hand
	first     int
}

func newCounting(g *grouping, w *worker) *counting {
	c := &counting{grouping: g, game: g.frame.cols.ChanceGame, low: make([]uint32, block), high: make([]uint32, block)}
	if g.dense > 0 {
		c.cells = make([]cell, g.dense)
	} else {
		c.index = map[uint64]uint32{}
	}
	return c
}

func (c *counting) block(first, count int) {
	for len(c.low) < count {
		c.low, c.high = append(c.low, 0), append(c.high, 0)
	}
	c.first = first
	clear(c.low[:count])
	addKeys(c.grouping.low, c.low[:count], first)
	if len(c.grouping.high) > 0 {
		clear(c.high[:count])
		addKeys(c.grouping.high, c.high[:count], first)
	}
}

func (c *counting) chance(chance uint32, acts []act) {
	game := c.game[chance]
	for i := range acts {
		a := &acts[i]
		if a.in == No {
			continue
		}
		c.at(int(a.row)-c.first).count(a, chance, game)
		c.total.count(a, chance, game)
	}
}

func (c *counting) at(i int) *cell {
	if c.dense > 0 {
		return &c.cells[c.low[i]]
	}
	key := uint64(c.low[i]) | uint64(c.high[i])<<c.bits
	at, ok := c.index[key]
	if !ok {
		at = uint32(len(c.cells))
		c.index[key] = at
		c.cells, c.keys = append(c.cells, cell{}), append(c.keys, key)
	}
	return &c.cells[at]
}

// all yields the cells that counted anything, by key.
func (c *counting) all() iter.Seq2[uint64, *cell] {
	return func(yield func(uint64, *cell) bool) {
		for i := range c.cells {
			key := uint64(i)
			if c.dense == 0 {
				key = c.keys[i]
			}
			if !c.cells[i].empty() && !yield(key, &c.cells[i]) {
				return
			}
		}
	}
}
