package definition

// cell is a group while it is being counted: one line of the cache, because
// with many groups most of the time goes into fetching them.
type cell struct {
	lastChance  uint32 // plus one; 0: none yet
	games       uint32
	chances     uint32
	trials      uint32
	stopTrials  uint32
	stopWeight  uint32    // of trials, in trialUnits; see spill
	readings    [5]uint32 // actions
	readWeights [5]uint32 // of trials, in trialUnits
}

// costs is what a cell answers for, one line of the cache too.
type costs struct {
	points int64    // in pointUnits
	spread [5]int64 // chances it answers for with 1 to 5 points, in pointUnits of a chance
	rare   *rare    // nil while there is nothing of it
	_      [8]byte
}

// rare is what few cells have.
type rare struct {
	undecided   uint32
	openTrials  uint32 // trials whose stop is undecided
	openWeight  int64
	dear        []int64  // chances by points, in pointUnits of a chance, where that is 5 or more
	stopWeight  int64    // spilt from the cell
	readWeights [5]int64 // spilt from the cell
}

func (c *costs) seldom() *rare {
	if c.rare == nil {
		c.rare = new(rare)
	}
	return c.rare
}

// spillAt is where a cell's sums of weights go to the wide ones. It is looked
// at once a game, so a game may add as much again.
const spillAt = 1 << 31

func (c *cell) spill(into *costs) {
	if c.stopWeight < spillAt && max(c.readWeights[0], c.readWeights[1], c.readWeights[2], c.readWeights[3], c.readWeights[4]) < spillAt {
		return
	}
	r := into.seldom()
	r.stopWeight += int64(c.stopWeight)
	c.stopWeight = 0
	for i, w := range c.readWeights {
		r.readWeights[i] += int64(w)
		c.readWeights[i] = 0
	}
}

// count takes an action that counts in; its points are for charge.
func (c *cell) count(a *act) {
	// No branches: what a verdict says is hard to foresee.
	trial, stop := a.trial, uint32(a.stop&Yes)
	c.readings[a.reading]++
	c.trials += min(trial, 1)
	c.stopTrials += min(trial, stop)
	c.readWeights[a.reading] += trial
	c.stopWeight += trial * stop
}

// charge takes the points in that the group answers for in one chance. Points
// that are no whole number count for both neighbours in proportion.
func (c *costs) charge(points int64) {
	c.points += points
	whole, part := points/pointUnit, points%pointUnit
	if whole >= int64(len(c.spread)) {
		r := c.seldom()
		r.grow(int(whole) + 2)
		r.dear[whole] += pointUnit - part
		r.dear[whole+1] += part
		return
	}
	if whole > 0 {
		c.spread[whole-1] += pointUnit - part
	}
	c.spread[whole] += part
}

func (r *rare) grow(n int) {
	for len(r.dear) < n {
		r.dear = append(r.dear, 0)
	}
}

// sum is a group's counts over all workers.
type sum struct {
	games, chances, trials, stopTrials int
	readings                           [5]int
	points                             int64
	spread                             []int64
	rare
}

// addCounts takes in what adds up over groups too: everything but games,
// chances and what is counted by chance.
func (s *sum) addCounts(c *cell, o *costs) {
	s.trials += int(c.trials)
	s.stopTrials += int(c.stopTrials)
	s.stopWeight += int64(c.stopWeight)
	for i := range c.readings {
		s.readings[i] += int(c.readings[i])
		s.readWeights[i] += int64(c.readWeights[i])
	}
	if r := o.rare; r != nil {
		s.undecided += r.undecided
		s.openTrials += r.openTrials
		s.openWeight += r.openWeight
		s.stopWeight += r.stopWeight
		for i, w := range r.readWeights {
			s.readWeights[i] += w
		}
	}
}

// addChances takes in what is counted by game and chance.
func (s *sum) addChances(c *cell, o *costs) {
	s.games += int(c.games)
	s.chances += int(c.chances)
	s.points += o.points
	for i, n := range o.spread {
		s.spend(i+1, n)
	}
	if o.rare != nil {
		for i, n := range o.rare.dear {
			s.spend(i, n)
		}
	}
}

func (s *sum) spend(points int, chances int64) {
	if chances == 0 {
		return
	}
	for len(s.spread) <= points {
		s.spread = append(s.spread, 0)
	}
	s.spread[points] += chances
}

func (s *sum) group(key []string) Group {
	weight := func(units int64) float64 { return float64(units) / trialUnit }
	g := Group{
		Key: key, Games: s.games, Chances: s.chances, Trials: s.trials,
		Stops: weight(s.stopWeight), StopTrials: s.stopTrials, JudgedTrials: s.trials - int(s.openTrials),
		Held: s.readings[held], Even: s.readings[even], Broken: s.readings[broken], Unclear: s.readings[unclear],
		HeldWeight: weight(s.readWeights[held]), EvenWeight: weight(s.readWeights[even]), BrokenWeight: weight(s.readWeights[broken]),
		Undecided: int(s.undecided),
	}
	units := int64(0)
	for i := range s.readings {
		g.Actions += s.readings[i]
		units += s.readWeights[i]
	}
	g.Weight, g.Judged = weight(units), weight(units-s.openWeight)
	g.Points, g.ByPoints = float64(s.points)/pointUnit, s.byPoints()
	return g
}

// byPoints lists the chances by points, those without points included.
func (s *sum) byPoints() []float64 {
	by := make([]float64, max(len(s.spread), 1))
	rest := int64(s.chances) * pointUnit
	for i, n := range s.spread {
		rest -= n
		by[i] = float64(n) / pointUnit
	}
	by[0] += float64(rest) / pointUnit
	return by
}
