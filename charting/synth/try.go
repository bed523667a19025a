package synth

import (
	"slices"

	"stopledger/events"
)

// maxAsks is the most a charter writes down of one chance.
const maxAsks = 5

// try is a chance while it is being played.
type try struct {
	f       *floor
	d       dice
	c       *chance
	off     *side
	def     *side
	on      [5]*player // who guards the i-th man of the offence
	came    [5]string  // and how he came to him
	delta   [kindCount]float64
	edge    float64 // the offence's advantage, log-odds of a make
	over    bool
	shotMen []*player // defenders who acted, for luck
}

func (f *floor) playChance() {
	t := &try{f: f, d: f.d, off: f.sides[f.ball], def: f.sides[1-f.ball]}
	t.c = &chance{offence: f.ball, origin: f.origin, began: f.clock, scheme: t.def.scheme}
	t.delta = f.season.effects.delta[t.def.scheme.key()]
	copy(t.c.five[:], t.def.five)
	length := t.pace()
	if length >= f.clock {
		length = t.buzzer()
	}
	t.match()
	if !t.over {
		t.play()
	}
	t.finish(length)
}

// pace chooses the tempo by how the ball was won, and how long the try takes.
func (t *try) pace() float64 {
	d := t.d
	words := map[events.Origin][4]float64{ // break, early, set, late-clock
		events.FromSteal:        {0.55, 0.20, 0.22, 0.03},
		events.DefensiveRebound: {0.20, 0.24, 0.46, 0.10},
		events.FromMake:         {0.04, 0.12, 0.66, 0.18},
		events.OffensiveRebound: {0.00, 0.55, 0.40, 0.05},
	}
	w, ok := words[t.c.origin]
	if !ok {
		w = [4]float64{0, 0.12, 0.70, 0.18}
	}
	i := d.pick(w[:]...)
	t.c.tempo = []events.Tempo{"break", "early", "set", "late-clock"}[i]
	if t.c.origin == events.OffensiveRebound {
		return [][2]float64{{}, {0.8, 4}, {7, 12}, {12, 14}}[i][0] + d.Float64()*3
	}
	lo := []float64{3, 6.5, 11.5, 18.5}[i]
	hi := []float64{6.5, 11.5, 18.5, 23.8}[i]
	return d.between(lo, hi)
}

// buzzer is a chance for which there is not the time: no try at all, a heave,
// or a hurried shot.
func (t *try) buzzer() float64 {
	left := t.f.clock
	switch {
	case left < 2.5 && t.d.odds(0.5):
		t.ends(events.ChanceEnded{End: events.PeriodEnd})
		return left
	case left < 4:
		t.heave()
		return left
	case t.d.odds(0.12):
		t.ends(events.ChanceEnded{End: events.PeriodEnd})
		return left
	}
	t.c.tempo = "late-clock"
	if t.c.origin == events.FromSteal {
		t.c.tempo = "break"
	}
	return left - t.d.between(0, 1)
}

func (t *try) heave() {
	shooter := t.off.five[t.d.IntN(3)]
	end := events.ChanceEnded{End: events.Missed3, Heave: true, Shooter: shooter.id, Spot: place(t.d, 0, 35, 11, 20), Rebound: events.Dead}
	if t.d.odds(0.03) {
		end.End, end.Rebound = events.Made3, ""
	}
	t.ends(end)
}

// match decides who guards whom.
func (t *try) match() {
	copy(t.on[:], t.def.five)
	own := "own"
	if t.c.scheme.zone() {
		own = "zone"
	}
	for i := range t.came {
		t.came[i] = own
	}
	if (t.c.tempo == "break" || t.c.tempo == "early") && t.d.odds(0.3) {
		i := t.d.IntN(4)
		t.on[i], t.on[i+1] = t.on[i+1], t.on[i]
		how := t.d.say(word{"cross-match", 0.6}, word{"pick-up", 0.4})
		t.came[i], t.came[i+1] = how, how
	}
}

// swap is a switch: each takes the other's man.
func (t *try) swap(i, j int) {
	t.on[i], t.on[j] = t.on[j], t.on[i]
	t.came[i], t.came[j] = "switch", "switch"
}

// ends settles how the chance ended; the first word counts.
func (t *try) ends(e events.ChanceEnded) {
	if !t.over {
		t.c.end, t.over = e, true
	}
}

// room reports whether n more asks fit.
func (t *try) room(n int) bool { return len(t.c.asks)+n <= maxAsks }

// ask puts a defender to a test: his reading is drawn from his true skill, an
// outcome from the reading, and the offence's advantage moves. It returns the
// ask, good until the next one.
func (t *try) ask(kind int, defender *player, opponent int, came string) *ask {
	a := ask{kind: kind, defender: defender, follows: -1}
	role := noRole
	if opponent >= 0 {
		a.opponent = t.off.five[opponent]
		role = a.opponent.role
	}
	p := t.f.season.effects.chances(defender, kind, role, t.delta[kind])
	a.reading = t.d.pick(p[0], p[1], p[2])
	for i, earlier := range t.c.asks {
		if earlier.defender == defender {
			a.follows = i
		}
	}
	t.edge += t.f.season.effects.push[kind][a.reading]
	if came != "own" || t.d.odds(0.3) {
		a.details = events.Details{"came_by": {came}}
	}
	t.c.asks = append(t.c.asks, a)
	if !slices.Contains(t.shotMen, defender) {
		t.shotMen = append(t.shotMen, defender)
	}
	return &t.c.asks[len(t.c.asks)-1]
}

// foul is a tactical one: nothing is learnt about the man who commits it.
func (t *try) foul(kind int, defender *player, opponent int, why string) {
	t.c.asks = append(t.c.asks, ask{
		kind: kind, defender: defender, opponent: t.off.five[opponent], reading: noReading, follows: -1,
		outcome: events.Fouled, details: events.Details{"foul": {why}},
	})
	t.whistled(defender)
}

// whistled counts a foul and reports whether it sends the offence to the line.
func (t *try) whistled(p *player) bool {
	t.def.fouls[p]++
	t.def.teamFouls++
	return t.def.teamFouls > 4
}
