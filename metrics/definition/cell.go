package definition

// cell is a group while it is being counted: two lines of the cache, because
// with many groups most of the time goes into fetching them. Actions of one
// chance come together, and chances of one game, so the last seen of each
// tells whether another is new.
type cell struct {
	lastChance, lastGame uint32 // plus one; 0: none yet
	games, chances       uint32
	trials, stopTrials   uint32
	undecided            uint32
	readings             [5]uint32
	wholes               [4]uint32 // chances that it answers for with 1 to 4 points
	stopWeight           int64     // of trials, in trialUnits
	readWeights          [5]int64  // the same
	rare                 *rare     // nil while there is nothing of it
}

// rare is what few cells have.
type rare struct {
	openTrials uint32 // trials whose stop is undecided
	openWeight int64
	points     int64   // beside the wholes, in pointUnits
	spread     []int64 // beside the wholes: chances by points, in pointUnits of a chance
}

func (c *cell) seldom() *rare {
	if c.rare == nil {
		c.rare = new(rare)
	}
	return c.rare
}

// count takes an action in; its points are for charge.
func (c *cell) count(a *act, chance, game uint32) {
	v := a.verdict
	if v.open || a.costOpen {
		c.undecided++
		if v.in != Yes {
			return
		}
		if v.stop == Unsettled && a.trial > 0 {
			c.seldom().openTrials++
			c.rare.openWeight += int64(a.trial)
		}
	}
	if c.lastChance != chance+1 {
		c.lastChance = chance + 1
		c.chances++
		if c.lastGame != game+1 {
			c.lastGame = game + 1
			c.games++
		}
	}
	// No branches from here on: what a verdict says is hard to foresee.
	trial, stop := a.trial, uint32(v.stop&Yes)
	c.readings[v.reading]++
	c.trials += min(trial, 1)
	c.stopTrials += min(trial, stop)
	c.readWeights[v.reading] += int64(trial)
	c.stopWeight += int64(trial * stop)
}

// charge takes the points in that the group answers for in one chance.
func (c *cell) charge(points int64) {
	whole, part := points/pointUnit, points%pointUnit
	if part == 0 && whole >= 1 && whole <= int64(len(c.wholes)) {
		c.wholes[whole-1]++
		return
	}
	if points != 0 {
		r := c.seldom()
		r.points += points
		r.grow(int(whole) + 2)
		r.spread[whole] += pointUnit - part
		r.spread[whole+1] += part
	}
}

func (r *rare) grow(n int) {
	for len(r.spread) < n {
		r.spread = append(r.spread, 0)
	}
}

// add puts the cell of another range of games to this one.
func (c *cell) add(o *cell) {
	c.games += o.games
	c.chances += o.chances
	c.trials += o.trials
	c.stopTrials += o.stopTrials
	c.undecided += o.undecided
	c.stopWeight += o.stopWeight
	for i := range c.readings {
		c.readings[i] += o.readings[i]
		c.readWeights[i] += o.readWeights[i]
	}
	for i := range c.wholes {
		c.wholes[i] += o.wholes[i]
	}
	if o.rare != nil {
		c.seldom().add(o.rare)
	}
}

func (r *rare) add(o *rare) {
	r.openTrials += o.openTrials
	r.openWeight += o.openWeight
	r.points += o.points
	r.grow(len(o.spread))
	for i, n := range o.spread {
		r.spread[i] += n
	}
}

// addCounts puts what adds up over groups to a cell of them all: everything
// but games, chances and what is counted by chance.
func (c *cell) addCounts(o *cell) {
	own := *o
	own.games, own.chances, own.wholes, own.rare = 0, 0, [4]uint32{}, nil
	if o.rare != nil {
		own.rare = &rare{openTrials: o.rare.openTrials, openWeight: o.rare.openWeight}
	}
	c.add(&own)
}

func (c *cell) empty() bool { return c.undecided == 0 && c.chances == 0 }

func (c *cell) group(key []string) Group {
	weight := func(units int64) float64 { return float64(units) / trialUnit }
	g := Group{
		Key: key, Games: int(c.games), Chances: int(c.chances), Trials: int(c.trials),
		Stops: weight(c.stopWeight), StopTrials: int(c.stopTrials), JudgedTrials: int(c.trials),
		Held: int(c.readings[held]), Even: int(c.readings[even]), Broken: int(c.readings[broken]), Unclear: int(c.readings[unclear]),
		HeldWeight: weight(c.readWeights[held]), EvenWeight: weight(c.readWeights[even]), BrokenWeight: weight(c.readWeights[broken]),
		Undecided: int(c.undecided),
	}
	units := int64(0)
	for i := range c.readings {
		g.Actions += int(c.readings[i])
		units += c.readWeights[i]
	}
	g.Weight, g.Judged = weight(units), weight(units)
	if c.rare != nil {
		g.JudgedTrials -= int(c.rare.openTrials)
		g.Judged = weight(units - c.rare.openWeight)
	}
	g.Points, g.ByPoints = c.points()
	return g
}

// points adds the points up and lists the chances by points, those without
// points included, up to the most that occurs.
func (c *cell) points() (sum float64, by []float64) {
	units, most := int64(0), 0
	for i, n := range c.wholes {
		units += int64(n) * int64(i+1) * pointUnit
		if n > 0 {
			most = i + 1
		}
	}
	if c.rare != nil {
		units += c.rare.points
		for i, n := range c.rare.spread {
			if n > 0 {
				most = max(most, i)
			}
		}
	}
	by = make([]float64, most+1)
	rest := int64(c.chances) * pointUnit
	for i := range by {
		n := int64(0)
		if i > 0 && i <= len(c.wholes) {
			n = int64(c.wholes[i-1]) * pointUnit
		}
		if c.rare != nil && i < len(c.rare.spread) {
			n += c.rare.spread[i]
		}
		rest -= n
		by[i] = float64(n) / pointUnit
	}
	by[0] += float64(rest) / pointUnit
	return float64(units) / pointUnit, by
}
