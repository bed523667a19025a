package synth

import "stopledger/events"

// finish puts the chance on the clock, the points on the board, and the ball
// in the next man's hands.
func (t *try) finish(length float64) {
	f, c := t.f, t.c
	c.ended = max(0, tenth(f.clock-length))
	if c.ended == 0 && c.end.End.Missed() {
		c.end.Rebound, c.end.ReboundBy, c.end.TeamRebound = events.Dead, "", false
	}
	t.time()
	f.tick(c.ended)
	t.off.score += c.points(f.rules)
	f.out = append(f.out, moment{period: f.period, clock: c.ended, real: f.real, chance: c})
	f.next(c)
}

// time spreads the asks over the chance: a contest and a box-out stand at its
// end, the others before.
func (t *try) time() {
	c := t.c
	length := c.began - c.ended
	early := 0
	for _, a := range c.asks {
		if a.kind != contest && a.kind != boxOut {
			early++
		}
	}
	n := 0
	for i := range c.asks {
		a := &c.asks[i]
		a.clock = c.ended
		if a.kind != contest && a.kind != boxOut {
			n++
			a.clock = tenth(c.began - length*(0.25+0.7*float64(n)/float64(early+1)))
		}
		if t.d.odds(0.55) {
			a.spot = askSpot(t.d, a.kind)
		}
	}
}

func (c *chance) points(r events.Rules) int { return r.Points(c.end.End, c.trip.Made) }

// next says who has the ball after a chance, how he got it, and whether the
// clock stands.
func (f *floor) next(c *chance) {
	side, origin, dead := after(c)
	f.dead = dead || c.trip.Attempted > 0
	if origin == "" { // thrown in
		origin = []events.Origin{events.FromSideline, events.FromBaseline}[f.d.pick(0.6, 0.4)]
	}
	f.origin = origin
	f.ball = c.offence
	if side == events.Defence {
		f.ball = 1 - c.offence
	}
	if f.clock <= 0 {
		return
	}
	switch {
	case c.trip.Attempted > 0:
		f.pause(f.d.between(30, 50))
	case dead:
		f.pause(f.d.between(7, 18))
	case origin == events.FromMake:
		f.tick(max(0, tenth(f.clock-f.d.between(1, 3))))
	}
}

// after reads from a chance who has the ball next; origin is empty for a
// throw-in.
func after(c *chance) (side events.Side, origin events.Origin, dead bool) {
	e := c.end
	rebound, team := e.Rebound, e.TeamRebound
	if c.trip.Attempted > 0 {
		if c.trip.Last == events.LastMade {
			return events.Defence, events.FromMake, false
		}
		rebound, team = events.Side(c.trip.Last), c.trip.TeamRebound
	}
	switch e.End {
	case events.TurnoverEnd:
		if e.Turnover == "steal" {
			return events.Defence, events.FromSteal, false
		}
		return events.Defence, "", true
	case events.JumpBallEnd:
		return e.Next, "", true
	}
	switch {
	case rebound == "" || rebound == events.Dead: // made, or the period is over
		return events.Defence, events.FromMake, false
	case team:
		return rebound, "", true
	case rebound == events.Offence:
		return rebound, events.OffensiveRebound, false
	}
	return rebound, events.DefensiveRebound, false
}
