package definition

// counting is a worker's cells. It sees the worker's settled chances.
type counting struct {
	*grouping
	game      []uint32 // by chance
	cells     []cell
	costs     []costs    // by cell
	keys      []uint64   // by cell, for hashed groups
	index     *cellIndex // by key, for hashed groups
	low, high []uint32   // of the block at hand
	first     int
	fetched   int64 // keeps the compiler from leaving the reading out

	total      cell // of everything, for what does not add up over groups
	totalCosts costs
	thisGame   uint32 // of the chance at hand, plus one
	began      uint32 // the game's first chance
}

func newCounting(g *grouping) *counting {
	c := &counting{grouping: g, game: g.frame.cols.ChanceGame, low: make([]uint32, block), high: make([]uint32, block)}
	if g.dense > 0 {
		c.cells, c.costs = make([]cell, g.dense), make([]costs, g.dense)
	} else {
		c.index = newCellIndex()
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
	if c.dense == 0 { // from here on low holds cells
		for i := range count {
			c.low[i] = c.hashed(uint64(c.low[i]) | uint64(c.high[i])<<c.bits)
		}
	}
	c.fetch(c.low[:count])
}

// fetch reads every cell of a block once, one right after the other, so that
// the memory delivers many at a time; counting would wait for each.
func (c *counting) fetch(cells []uint32) {
	sum := int64(0)
	for _, at := range cells {
		sum += int64(c.cells[at].lastChance) + c.costs[at].points
	}
	c.fetched = sum
}

// hashed finds the cell of a key.
func (c *counting) hashed(key uint64) uint32 {
	at, ok := c.index.find(key)
	if !ok {
		at = uint32(len(c.cells))
		c.index.put(key, at)
		c.cells, c.costs, c.keys = append(c.cells, cell{}), append(c.costs, costs{}), append(c.keys, key)
	}
	return at
}

// at is the cell of an action.
func (c *counting) at(a *act) uint32 { return c.low[int(a.row)-c.first] }

func (c *counting) chance(chance uint32, acts []act, _ Truth) {
	if game := c.game[chance] + 1; game != c.thisGame {
		c.thisGame, c.began = game, chance
	}
	counted, charged, last := false, 0, 0
	for i := range acts {
		a := &acts[i]
		at := c.at(a)
		if a.open || a.costOpen {
			c.open(a, &c.costs[at])
		}
		if a.in != Yes {
			continue
		}
		counted = true
		into := &c.cells[at]
		if into.lastChance != chance+1 {
			c.meet(into, at, chance)
		}
		into.count(a)
		if a.points != 0 {
			charged, last = charged+1, i
		}
	}
	switch charged {
	case 0:
	case 1:
		c.costs[c.at(&acts[last])].charge(acts[last].points)
		c.totalCosts.charge(acts[last].points)
	default:
		c.charge(acts)
	}
	if counted {
		c.meet(&c.total, never, chance)
	}
}

// meet counts a chance, and a game, that a cell has not seen before. Chances
// come in order, so a last chance before the game's first is of an earlier one.
func (c *counting) meet(into *cell, at, chance uint32) {
	if into.lastChance <= c.began {
		into.games++
		if at != never {
			into.spill(&c.costs[at])
		}
	}
	into.lastChance = chance + 1
	into.chances++
}

// open notes an action that some rule left undecided.
func (c *counting) open(a *act, into *costs) {
	r := into.seldom()
	r.undecided++
	if a.in == Yes && a.stop == Unsettled && a.trial > 0 {
		r.openTrials++
		r.openWeight += int64(a.trial)
	}
}

// charge tells each group what it answers for in a chance of several payers.
func (c *counting) charge(acts []act) {
	total := int64(0)
	for i := range acts {
		total += acts[i].points
	}
	c.totalCosts.charge(total)
	for i := range acts {
		points := acts[i].points
		if points == 0 {
			continue
		}
		for k := i + 1; k < len(acts); k++ {
			if acts[k].points != 0 && c.at(&acts[k]) == c.at(&acts[i]) {
				points += acts[k].points
				acts[k].points = 0
			}
		}
		c.costs[c.at(&acts[i])].charge(points)
	}
}

// key is the key of a cell.
func (c *counting) key(at int) uint64 {
	if c.dense > 0 {
		return uint64(at)
	}
	return c.keys[at]
}

// empty reports whether a cell met nothing.
func (c *counting) empty(at int) bool {
	return c.cells[at].chances == 0 && (c.costs[at].rare == nil || c.costs[at].rare.undecided == 0)
}

// find is the cell of a key, or false where there is none.
func (c *counting) find(key uint64) (int, bool) {
	if c.dense > 0 {
		return int(key), true
	}
	at, ok := c.index.find(key)
	return int(at), ok
}
