package synth

import (
	"encoding/json"

	"stopledger/events"
)

// misread is a shirt number read wrongly over a stretch of the game.
type misread struct {
	right, wrong events.Token
	left         int // actions until it is noticed
	targets      []events.ID
	done         bool
}

// turnPage begins a misreading now and then: one stretch in a third of games.
func (w *mainCharter) turnPage(m moment) {
	if w.misread.done || w.misread.right != "" || !w.d.odds(0.0025) {
		return
	}
	c := m.chance
	p := c.five[w.d.IntN(5)]
	t := w.book.played.sides[1-c.offence].team
	w.misread = misread{right: p.id, wrong: t.players[8+w.d.IntN(3)].id, left: 3 + w.d.IntN(5)}
	if w.misread.wrong == p.id {
		w.misread = misread{}
	}
}

// putRight reassigns what was misread, in one step.
func (w *mainCharter) putRight(m moment) {
	r := w.misread
	if len(r.targets) > 0 {
		w.write(m.real+2, events.When{}, &events.Reassigned{From: r.wrong, To: r.right, Targets: r.targets})
		w.misread = misread{done: true}
	}
}

// writeAsk writes an action, and with it now and then a mistake and what puts
// it right. behind places a late one.
func (w *mainCharter) writeAsk(m moment, id events.ID, c *chance, i int, ids []events.ID, behind events.ID) events.ID {
	a := &c.asks[i]
	body := w.action(id, a, ids)
	real, when := m.real-(a.clock-m.clock), w.moment(m, a.clock)
	if behind != "" {
		e := w.next(m.real+20, when, body)
		e.After = behind
		return w.append(e)
	}
	if w.misread.right != "" && body.Defender == w.misread.right {
		return w.writeMisread(real, when, m, body)
	}
	if w.source != "film" && w.d.odds(0.08) {
		when = events.When{} // the pad's clock was not tapped; it takes the previous event's
	}
	switch u := w.d.Float64() / 0.02; {
	case u > 1:
		return w.write(real, when, body)
	case u < 0.45:
		return w.writeThenAmend(real, when, body, a, 1)
	case u < 0.55:
		return w.writeThenAmend(real, when, body, a, 2)
	case u < 0.65:
		return w.voidAndRestore(real, when, body)
	case u < 0.82:
		return w.writeOneTooMany(real, when, body, a)
	}
	return w.correctClock(real, m, body, a)
}

func (w *mainCharter) writeMisread(real float64, when events.When, m moment, body *events.Action) events.ID {
	r := &w.misread
	body.Defender = r.wrong
	id := w.write(real, when, body)
	r.targets = append(r.targets, id)
	if r.left--; r.left == 0 {
		w.putRight(m)
	}
	return id
}

// wrongly is the action with a wrong outcome.
func (w *mainCharter) wrongly(body *events.Action, a *ask) *events.Action {
	bad := *body
	bad.Outcome = w.d.wordFor(a.kind, w.d.IntN(3), func(o events.Outcome) bool { return o != body.Outcome })
	if bad.Outcome == body.Outcome {
		bad.Outcome = events.NotClear
	}
	return &bad
}

// writeThenAmend writes a wrong outcome and amends it, once or twice over.
func (w *mainCharter) writeThenAmend(real float64, when events.When, body *events.Action, a *ask, times int) events.ID {
	id := w.write(real, when, w.wrongly(body, a))
	base := id
	for n := range times {
		said := body
		if n < times-1 {
			said = w.wrongly(body, a)
		}
		base = w.amend(real+3, id, base, said)
	}
	return id
}

func (w *mainCharter) amend(real float64, target, base events.ID, body events.Body) events.ID {
	raw, err := json.Marshal(body)
	if err != nil {
		panic(err) // a body of our own making
	}
	return w.write(real, events.When{}, &events.Amended{Target: target, Base: base, Body: raw})
}

// voidAndRestore voids a right action by mistake and amends over the void.
func (w *mainCharter) voidAndRestore(real float64, when events.When, body *events.Action) events.ID {
	id := w.write(real, when, body)
	void := w.write(real+1, events.When{}, &events.Voided{Target: id, Base: id, Why: "wrong line"})
	w.amend(real+4, id, void, body)
	return id
}

// writeOneTooMany charts something that did not happen, takes it out, and
// charts what did.
func (w *mainCharter) writeOneTooMany(real float64, when events.When, body *events.Action, a *ask) events.ID {
	id := w.write(real, when, w.wrongly(body, a))
	w.write(real+1, events.When{}, &events.Voided{Target: id, Base: id})
	return w.write(real+2, when, body)
}

// correctClock writes an action with a wrong clock and corrects the clock.
func (w *mainCharter) correctClock(real float64, m moment, body *events.Action, a *ask) events.ID {
	off := min(w.book.played.rules.Length(m.period), a.clock+float64(10+w.d.IntN(50)))
	wrong := events.At(m.period, off)
	wrong.From = "typed"
	id := w.write(real, wrong, body)
	right := w.moment(m, a.clock)
	w.write(real+5, events.When{}, &events.Amended{Target: id, Base: id, When: &right, Why: "clock"})
	return id
}

// endWithSlip writes an end; one in a hundred wrongly at first.
func (w *mainCharter) endWithSlip(m moment, end *events.ChanceEnded) {
	when := w.moment(m, m.clock)
	if !w.d.odds(0.01) || !end.End.Shot() || end.Heave {
		w.write(m.real, when, end)
		return
	}
	bad := *end
	swap := map[events.End]events.End{
		events.Made2: events.Made3, events.Made3: events.Made2, events.Missed2: events.Missed3, events.Missed3: events.Missed2}
	bad.End = swap[end.End]
	id := w.write(m.real, when, &bad)
	w.amend(m.real+3, id, id, end)
}

// leaveWrong makes the one mistake that stays, if this game has one.
func (w *mainCharter) leaveWrong(m moment, end *events.ChanceEnded, trip *events.ShotsTaken) {
	if w.slipped || m.period < 2 {
		return
	}
	text := ""
	switch {
	case w.book.plan.slip == threeAsTwo && end.End == events.Made3 && trip.Attempted == 0:
		end.End = events.Made2
		text = "a made three charted as two"
	case w.book.plan.slip == lostShot && trip.Attempted == 2 && trip.Made == 2:
		trip.Made, trip.Attempted = 1, 1
		text = "two made free throws charted as one"
	case w.book.plan.slip == wrongRebound && end.Rebound == events.Defence && end.ReboundBy != "":
		end.ReboundBy, end.TeamRebound = "", true
		text = "a defensive rebound charted as the team's"
	default:
		return
	}
	w.slipped = true
	w.book.planted = append(w.book.planted, Planted{
		Game: w.book.plan.id, Chart: "main", What: string(w.book.plan.slip), Text: text, Chance: end.Chance, Period: m.period, Clock: m.clock})
}
