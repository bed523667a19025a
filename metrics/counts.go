package metrics

import "stopledger/metrics/definition"

// Counts is what a coach would count: always actions, chances and games side by
// side.
type Counts struct {
	Actions int `json:"actions"`
	Chances int `json:"chances"`
	Games   int `json:"games"`

	Held    int `json:"held"` // actions by reading
	Even    int `json:"even"`
	Broken  int `json:"broken"`
	Unclear int `json:"unclear"`

	Stops  int `json:"stops"` // trials that were stops
	Trials int `json:"of"`    // trials whose stop is decided

	// Effective is what the trials with a reading are worth, their weights summed
	// and divided by the design effect.
	Effective float64 `json:"effective"`
}

// Readings is how many actions have a reading that says something.
func (c Counts) Readings() int { return c.Held + c.Even + c.Broken }

// count goes through a player's actions.
func (s *Study) count(m *model, p int, keep func(*row) bool) Counts {
	var c Counts
	lastChance, lastGame := noChance, noChance
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if !keep(r) {
			continue
		}
		c.Actions++
		if r.chance != lastChance {
			lastChance = r.chance
			c.Chances++
		}
		if r.game != lastGame {
			lastGame = r.game
			c.Games++
		}
		switch r.reading {
		case isHeld:
			c.Held++
		case isEven:
			c.Even++
		case isBroken:
			c.Broken++
		case isUnclear:
			c.Unclear++
		}
		if r.trial <= 0 {
			continue
		}
		if _, ok := r.score(s.Definition.Even); ok {
			c.Effective += r.trial / m.design[p][r.kind]
		}
		if r.stop != definition.Unsettled {
			c.Trials++
		}
		if r.stop == definition.Yes {
			c.Stops++
		}
	}
	return c
}

// rawRate is the process or result over a player's trials, by weight.
func (s *Study) rawRate(t Target, p int, keep func(*row) bool) (y, n float64) {
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if x, ok := r.success(t, s.Definition.Even); ok && keep(r) {
			y += r.trial * x
			n += r.trial
		}
	}
	return y, n
}
