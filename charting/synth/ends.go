package synth

import (
	"slices"

	"stopledger/events"
)

// shot is where and how a try is taken.
type shot int

const (
	rim shot = iota
	middle
	three
	hook
)

// makes are log-odds of a shot nobody disturbed more or less than usual.
var makes = [...]float64{rim: 0.36, middle: -0.32, three: -0.63, hook: -0.05}

var shotWords = [...]string{rim: "rim", middle: "off-dribble", three: "catch", hook: "post"}

// shoot is the end of most chances: a contest, the flight, the glass.
func (t *try) shoot(i int, s shot) {
	if t.over { // what came before has settled it
		return
	}
	shooter := t.off.five[i]
	var a *ask
	if t.room(2) && t.d.odds([]float64{0.50, 0.42, 0.32, 0.40}[s]) || len(t.c.asks) == 0 {
		if a = t.contest(i, s); t.over {
			return
		}
	}
	spot := shotSpot(t.d, s)
	if t.makes(shooter, s, a) {
		end := events.ChanceEnded{End: events.Made2, Shooter: shooter.id, Spot: spot}
		if s == three {
			end.End = events.Made3
		}
		t.ends(end)
		return
	}
	end := events.ChanceEnded{End: events.Missed2, Shooter: shooter.id, Spot: spot}
	if s == three {
		end.End = events.Missed3
	}
	if a != nil && a.outcome == "blocked" {
		end.BlockedBy = a.defender.id
	}
	t.ends(end)
	t.glass(i)
}

// contest asks the shooter's man, or after help whoever is nearest, for a
// hand. A man beaten earlier may recover to it: his second effort.
func (t *try) contest(i int, s shot) *ask {
	defender, came, cause := t.on[i], t.came[i], "own"
	if n := len(t.c.asks); n > 0 && t.d.odds(0.35) {
		last := t.c.asks[n-1]
		if last.defender != nil && (last.kind == rotation || last.kind == gapHelp) {
			defender, came, cause = last.defender, "rotation", "after-help"
		}
	}
	a := t.ask(contest, defender, i, came)
	a.outcome = t.outcome(a, func(o events.Outcome) bool { return o != "blocked" || s != three })
	if cause == "own" && t.d.odds(0.08) {
		cause = "scramble"
	}
	t.tell(a, "cause", cause, 0.5)
	t.tell(a, "shot", shotWords[s], 0.7)
	if a.reading != broken {
		hand := "in-motion"
		if a.reading == even {
			hand = "after-release"
		} else if t.d.odds(0.4) {
			hand = "before-motion"
		}
		t.tell(a, "hand", hand, 0.5)
	}
	if a.outcome == events.Fouled {
		t.whistled(defender)
		t.tell(a, "foul", "shooting", 0.9)
		end, shots := events.FreeThrowEnd, 2
		if s == three {
			shots = 3
		} else if t.d.odds(0.28) {
			end, shots = events.Made2, 1
		}
		t.line(i, end, shots)
	}
	return a
}

// makes draws the shot: the advantage, the shooter, the men behind, the luck.
func (t *try) makes(shooter *player, s shot, a *ask) bool {
	if a != nil && a.outcome == "blocked" {
		return false
	}
	x := makes[s] + t.edge + shooter.shot
	for _, p := range t.c.five {
		if !slices.Contains(t.shotMen, p) {
			x -= p.presence
		}
	}
	for _, p := range t.shotMen {
		x += p.luck
	}
	return t.d.odds(logistic(x))
}

// glass is the rebound of a missed shot: sometimes a man is asked to box out.
func (t *try) glass(shooter int) {
	keep := 0.255 // the offence's share when nobody was put to the test
	var a *ask
	if t.room(1) && t.d.odds(0.38) {
		j := t.putBack()
		a = t.ask(boxOut, t.on[j], t.faces(j), t.came[j])
		a.outcome = t.outcome(a, nil)
		if a.outcome == events.Fouled {
			if t.def.teamFouls < 4 {
				t.foulOnGlass(a)
				return
			}
			a.outcome = t.d.wordFor(boxOut, broken, nil)
		}
		keep = [3]float64{0.13, 0.26, 0.52}[a.reading]
		if a.reading == held {
			t.tell(a, "went-for-ball", t.d.say(word{"yes", 0.6}, word{"no", 0.4}), 0.5)
		}
	}
	e := &t.c.end
	if t.d.odds(keep) {
		e.Rebound = events.Offence
		if e.TeamRebound = t.d.odds(0.08); !e.TeamRebound {
			e.ReboundBy = t.rebounder(a, broken, t.off.five).id
		}
		return
	}
	e.Rebound = events.Defence
	if e.TeamRebound = t.d.odds(0.06); !e.TeamRebound {
		e.ReboundBy = t.rebounder(a, held, t.def.five).id
	}
}

// foulOnGlass is a foul before anybody has the ball: the offence keeps it,
// with a team rebound.
func (t *try) foulOnGlass(a *ask) {
	t.whistled(a.defender)
	t.tell(a, "foul", "off-ball", 0.8)
	t.c.end.Rebound, t.c.end.TeamRebound = events.Offence, true
}

// rebounder is the man of the box-out where it went his way, or by size.
func (t *try) rebounder(a *ask, reading int, five []*player) *player {
	if a != nil && a.reading == reading && t.d.odds(0.7) && a.outcome != "held-off" {
		if reading == held {
			return a.defender
		}
		if a.opponent != nil {
			return a.opponent
		}
	}
	w := make([]float64, len(five))
	for i, p := range five {
		w[i] = []float64{0.6, 1, 1.7}[p.role]
	}
	return five[t.d.pick(w...)]
}

// line is a trip to the free-throw line: what was made, and who has the last
// one when it misses.
func (t *try) line(i int, end events.End, shots int) {
	shooter := t.off.five[i]
	e := events.ChanceEnded{End: end, Shooter: shooter.id}
	if end == events.Made2 {
		e.Spot = shotSpot(t.d, rim)
	}
	trip := events.ShotsTaken{Attempted: shots, Last: events.LastMade, Shooter: shooter.id}
	for n := range shots {
		if t.d.odds(shooter.line) {
			trip.Made++
		} else if n == shots-1 {
			trip.Last = events.LastDefence
			five := t.def.five
			if t.d.odds(0.12) {
				trip.Last, five = events.LastOffence, t.off.five
			}
			if trip.TeamRebound = t.d.odds(0.05); !trip.TeamRebound {
				trip.ReboundBy = t.rebounder(nil, held, five).id
			}
		}
	}
	t.ends(e)
	t.c.trip = trip
}
