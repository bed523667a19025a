package synth

import "stopledger/events"

// test asks the man on opponent i a thing that needs no further say.
func (t *try) test(kind, i int) *ask {
	came := t.came[i]
	if kind == transition && came == "zone" {
		came = "own" // nobody is in his zone yet
	}
	a := t.ask(kind, t.on[i], i, came)
	switch kind {
	case drive:
		t.describeDrive(a)
	case deny, post, transition:
		a.outcome = t.outcome(a, nil)
	}
	t.consequence(a, i)
	return a
}

// coverageCall is how the big plays ball screens in this scheme.
func (t *try) coverageCall(switched bool) string {
	if switched {
		return "switch"
	}
	switch t.c.scheme.principle {
	case "denial":
		return t.d.say(word{"hedge", 0.4}, word{"show", 0.3}, word{"trap", 0.2}, word{"drop", 0.1})
	case "no-middle":
		return t.d.say(word{"at-level", 0.5}, word{"drop", 0.3}, word{"show", 0.2})
	}
	return t.d.say(word{"drop", 0.6}, word{"at-level", 0.25}, word{"hedge", 0.15})
}

// screen is a man going round a screen, on the ball or away from it.
func (t *try) screen(kind, i int, switched bool) *ask {
	a := t.ask(kind, t.on[i], i, t.came[i])
	how := "switch"
	if !switched {
		if kind == ballScreen {
			how = t.d.say(word{"over", 0.6}, word{"under", 0.28}, word{"ice", 0.12})
		} else {
			how = t.d.say(word{"chased", 0.6}, word{"gap", 0.2}, word{"top-locked", 0.2})
		}
	}
	a.outcome = t.outcome(a, func(o events.Outcome) bool {
		switch o {
		case "switched-clean", "missed-switch":
			return switched
		case "navigated", "shot-gap", "trailed":
			return !switched || a.reading == even
		case "shot-over-it":
			return how == "under"
		}
		return true
	})
	at := "ball"
	if kind == chase {
		at = t.d.say(word{"down", 0.4}, word{"stagger", 0.2}, word{"flare", 0.15}, word{"back", 0.1}, word{"cross", 0.15})
	} else if t.d.odds(0.18) {
		at = "handoff"
	}
	t.tell(a, "at", at, 0.9)
	t.tell(a, "how", how, 0.8)
	if a.reading == broken {
		t.tell(a, "why", t.d.say(word{"saw-late", 0.4}, word{"feet", 0.3}, word{"size", 0.15}, word{"no-call", 0.15}), 0.7)
	}
	t.consequence(a, i)
	return a
}

// cover is the screener's man at a ball screen.
func (t *try) cover(j, handler int, call string) *ask {
	a := t.ask(coverage, t.on[j], j, t.came[j])
	a.outcome = t.outcome(a, func(o events.Outcome) bool {
		switch o {
		case "switched-clean":
			return call == "switch"
		case "showed-and-back":
			return call == "hedge" || call == "show" || call == "trap"
		case "split":
			return call != "drop" && call != "switch"
		}
		return true
	})
	t.tell(a, "call", call, 0.85)
	t.tell(a, "screener", t.d.say(word{"roll", 0.58}, word{"pop", 0.2}, word{"slip", 0.12}, word{"short-roll", 0.08}, word{"reject", 0.02}), 0.7)
	t.consequence(a, handler)
	return a
}

// faces is opponent i, or in a zone now and then nobody in particular.
func (t *try) faces(i int) int {
	if t.c.scheme.zone() && t.d.odds(0.25) {
		return -1
	}
	return i
}

// nobodys is a thing that somebody should have done and nobody did, as when a
// switch was called by one and not the other.
func (t *try) nobodys(kind, i int, outcome events.Outcome) {
	if !t.room(2) {
		return
	}
	t.c.asks = append(t.c.asks, ask{
		kind: kind, opponent: t.off.five[i], reading: broken, follows: -1,
		outcome: outcome, details: events.Details{"why": {"no-call"}},
	})
	t.edge += t.f.season.effects.push[kind][broken]
}

// weak chooses a helper: not the man on i.
func (t *try) weak(i int) int {
	w := make([]float64, 5)
	for j, p := range t.on {
		if j != i {
			w[j] = []float64{0.8, 1, 1.3}[p.role]
		}
	}
	return t.d.pick(w...)
}

// rotate is help from the weak side on man i.
func (t *try) rotate(i int) *ask { return t.help(rotation, i) }

// dig is help one pass away.
func (t *try) dig(i int) *ask { return t.help(gapHelp, i) }

func (t *try) help(kind, i int) *ask {
	j := t.weak(i)
	came := "rotation"
	if kind == gapHelp {
		came = t.came[j]
	}
	a := t.ask(kind, t.on[j], t.faces(i), came)
	a.outcome = t.outcome(a, nil)
	t.tell(a, "left", string(t.off.five[j].id), 0.6)
	t.tell(a, "on", string(t.off.five[i].id), 0.6)
	share := 0.35 // of help sent by the scheme
	if t.c.scheme.principle == "gap" || t.c.scheme.zone() {
		share = 0.7
	}
	why := "read"
	if t.d.odds(share) {
		why = "scheme"
	}
	t.tell(a, "because", why, 0.75)
	choice := t.d.say(word{"driver", 0.5}, word{"roller", 0.3}, word{"cutter", 0.2})
	t.tell(a, "choice", choice, 0.4)
	if a.reading == broken {
		t.tell(a, "ball_went", t.d.say(word{"shooter", 0.5}, word{"driver", 0.3}, word{"roller", 0.2}), 0.4)
		t.tell(a, "why", t.d.say(word{"saw-late", 0.55}, word{"feet", 0.25}, word{"no-call", 0.2}), 0.4)
	}
	t.consequence(a, i)
	return a
}

// close is a closeout to shooter j, long when he comes from help.
func (t *try) close(j int, fromHelp bool) *ask {
	came, far := t.came[j], "short"
	if fromHelp {
		far = "long"
	} else if t.d.odds(0.3) {
		far = "long"
	}
	a := t.ask(closeout, t.on[j], j, came)
	a.outcome = t.outcome(a, nil)
	then := t.d.say(word{"shot", 0.5}, word{"drive", 0.25}, word{"pass", 0.25})
	switch a.outcome {
	case "late", "short":
		then = "shot"
	case "blown-by", "ran-off":
		then = "drive"
	}
	if !t.room(2) {
		then = "shot"
	}
	t.tell(a, "from", far, 0.8)
	t.tell(a, "then", then, 1)
	t.consequence(a, j)
	return a
}

func (t *try) describeDrive(a *ask) {
	a.outcome = t.outcome(a, nil)
	to := []word{{"middle", 0.42}, {"baseline", 0.33}, {"straight-line", 0.25}}
	if t.c.scheme.principle == "no-middle" {
		to[0].weight, to[1].weight = 0.15, 0.6
	}
	t.tell(a, "to", t.d.say(to...), 0.85)
	t.tell(a, "hand", t.d.say(word{"strong", 0.66}, word{"weak", 0.34}), 0.8)
	t.tell(a, "before", t.d.say(word{"first-step", 0.35}, word{"jab", 0.15}, word{"combo", 0.25}, word{"hesitation", 0.17}, word{"spin", 0.08}), 0.4)
	if a.reading == held {
		t.tell(a, "technique", t.d.say(word{"body-up", 0.35}, word{"hands-trace-ball", 0.2}, word{"cut-off", 0.3}, word{"length", 0.15}), 0.4)
	}
}

// tell adds a detail, if the charter bothers.
func (t *try) tell(a *ask, name, value string, how float64) {
	if !t.d.odds(how) {
		return
	}
	if a.details == nil {
		a.details = make(events.Details, 4)
	}
	a.details[name] = []string{value}
}
