package synth

import "stopledger/events"

// Shares of broken readings that are fouls, by kind, and of held readings that
// are charges drawn.
var (
	foulShare   = [kindCount]float64{0.24, 0.10, 0.26, 0.08, 0.10, 0.08, 0.10, 0.36, 0.13, 0.22, 0.12, 0.12}
	chargeShare = [kindCount]float64{drive: 0.03, rotation: 0.04, gapHelp: 0.005, transition: 0.02, post: 0.02}
	// shootingShare is how many of the fouls are on a shot.
	shootingShare = [kindCount]float64{0.5, 0, 0.6, 0.1, 0.1, 0.05, 0.35, 1, 0.2, 0.75, 0, 0.5}
)

// wordsOf holds each kind's own outcomes by reading, as the vocabulary lists
// them: the commonest first.
var wordsOf = func() (all [kindCount][3][]events.Outcome) {
	for k, row := range events.Kinds {
		for _, o := range row.Outcomes {
			for r, word := range readingWords {
				if o.Reading == word {
					all[k][r] = append(all[k][r], o.Outcome)
				}
			}
		}
	}
	return all
}()

// outcome draws a word for an ask's reading. fits, where given, says which
// words go with what was seen before.
func (t *try) outcome(a *ask, fits func(events.Outcome) bool) events.Outcome {
	switch {
	case a.reading == broken && t.d.odds(foulShare[a.kind]):
		return events.Fouled
	case a.reading == held && chargeShare[a.kind] > 0 && t.d.odds(chargeShare[a.kind]):
		return events.ChargeDrawn
	}
	return t.d.wordFor(a.kind, a.reading, fits)
}

// wordFor draws one of a kind's own words for a reading; each is half as
// likely as the one before it. Where none fits, the bare reading is said.
func (d dice) wordFor(kind, reading int, fits func(events.Outcome) bool) events.Outcome {
	words := wordsOf[kind][reading]
	var w [3]float64
	var sum float64
	for i, o := range words {
		if fits == nil || fits(o) {
			w[i] = 1 / float64(int(1)<<i)
			sum += w[i]
		}
	}
	if sum == 0 {
		return events.Outcome(readingWords[reading])
	}
	return words[d.pick(w[:len(words)]...)]
}

// consequence is what an outcome does to the chance at once: ball won, foul.
func (t *try) consequence(a *ask, i int) {
	loser := t.off.five[i]
	switch a.outcome {
	case events.ChargeDrawn:
		t.turnover("charge", loser, nil)
	case "stripped":
		if t.d.odds(0.6) {
			t.turnover("steal", loser, a.defender)
		}
	case "deflected", "dug-out":
		if t.d.odds(0.5) {
			t.turnover("steal", loser, a.defender)
		} else if t.d.odds(0.3) {
			t.turnover("bad-pass", loser, nil)
		}
	case "hit", "trailed":
		if a.kind != transition && t.d.odds(0.02) {
			t.tell(a, "why", "illegal-screen", 1)
			t.turnover("illegal-screen", t.off.five[t.other(i, big)], nil)
		}
	case events.Fouled:
		t.fouled(a, i)
	}
	if t.over {
		return
	}
	if a.reading == held && t.d.odds(0.012) {
		t.heldBall()
	}
}

// fouled is two shots, three, or the ball again.
func (t *try) fouled(a *ask, i int) {
	bonus := t.whistled(a.defender)
	if t.d.odds(shootingShare[a.kind]) {
		t.tell(a, "foul", "shooting", 0.9)
		shots := 2
		if a.kind == closeout {
			shots = 3
		}
		t.line(i, events.FreeThrowEnd, shots)
		return
	}
	t.tell(a, "foul", t.d.say(word{"reach", 0.55}, word{"body", 0.45}), 0.8)
	if bonus {
		t.line(i, events.FreeThrowEnd, 2)
		return
	}
	t.edge = 0 // the offence throws in and starts again within the chance
}

func (t *try) turnover(how events.Turnover, loser, winner *player) {
	e := events.ChanceEnded{End: events.TurnoverEnd, Turnover: how}
	if loser != nil {
		e.LostBy = loser.id
	}
	if winner != nil {
		e.StealBy = winner.id
	}
	t.ends(e)
}

// giveAway is a ball lost by nobody's doing.
func (t *try) giveAway() {
	i := t.handler()
	if len(t.c.asks) == 0 {
		t.test([]int{deny, drive}[t.d.pick(0.4, 0.6)], i)
		if t.over {
			return
		}
	}
	if t.c.tempo == "late-clock" && t.d.odds(0.5) {
		t.turnover("shot-clock", nil, nil)
		return
	}
	how := t.d.say(word{"bad-pass", 0.55}, word{"travel", 0.22}, word{"out", 0.18}, word{"count", 0.05})
	t.turnover(events.Turnover(how), t.off.five[i], nil)
}

// heldBall goes to whom the arrow points at.
func (t *try) heldBall() {
	f := t.f
	next := events.Defence
	if f.arrow == t.c.offence {
		next = events.Offence
	}
	f.arrow = 1 - f.arrow
	t.ends(events.ChanceEnded{End: events.JumpBallEnd, Next: next})
}
