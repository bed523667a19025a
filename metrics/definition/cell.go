package definition

// cell is a group while it is being counted. Actions of one chance come
// together, and chances of one game, so the last seen of each tells whether
// another is new.
type cell struct {
	lastChance, lastGame   uint32 // plus one; 0: none yet
	games, chances         uint32
	trials, stopTrials     uint32
	openTrials, undecided  uint32 // openTrials: their stop is undecided
	readings               [5]uint32
	readWeights            [5]int64 // of trials, in trialUnits
	stopWeight, openWeight int64
	points                 int64
}

func (c *cell) count(a *act, chance, game uint32) {
	if a.open || a.costOpen {
		c.undecided++
		if a.in != Yes {
			return
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
	c.points += a.points
	c.readings[a.reading]++
	if a.trial == 0 {
		return
	}
	c.trials++
	c.readWeights[a.reading] += int64(a.trial)
	switch a.stop {
	case Yes:
		c.stopTrials++
		c.stopWeight += int64(a.trial)
	case Unsettled:
		c.openTrials++
		c.openWeight += int64(a.trial)
	}
}

func (c *cell) add(o *cell) {
	c.games += o.games
	c.chances += o.chances
	c.trials += o.trials
	c.stopTrials += o.stopTrials
	c.openTrials += o.openTrials
	c.undecided += o.undecided
	c.stopWeight += o.stopWeight
	c.openWeight += o.openWeight
	c.points += o.points
	for i := range c.readings {
		c.readings[i] += o.readings[i]
		c.readWeights[i] += o.readWeights[i]
	}
}

func (c *cell) empty() bool { return c.undecided == 0 && c.chances == 0 }

func (c *cell) group(key []string) Group {
	weight := func(units int64) float64 { return float64(units) / trialUnit }
	g := Group{
		Key: key, Games: int(c.games), Chances: int(c.chances), Trials: int(c.trials),
		Stops: weight(c.stopWeight), StopTrials: int(c.stopTrials), JudgedTrials: int(c.trials - c.openTrials),
		Points: float64(c.points) / pointUnit,
		Held:   int(c.readings[held]), Even: int(c.readings[even]), Broken: int(c.readings[broken]), Unclear: int(c.readings[unclear]),
		HeldWeight: weight(c.readWeights[held]), EvenWeight: weight(c.readWeights[even]), BrokenWeight: weight(c.readWeights[broken]),
		Undecided: int(c.undecided),
	}
	units := int64(0)
	for i := range c.readings {
		g.Actions += int(c.readings[i])
		units += c.readWeights[i]
	}
	g.Weight, g.Judged = weight(units), weight(units-c.openWeight)
	return g
}
