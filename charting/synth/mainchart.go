package synth

import (
	"time"

	"stopledger/events"
)

// mainCharter writes the chart of record: everything, with the slips of a
// human hand, nearly all of which he puts right.
type mainCharter struct {
	*scribe
	misread  misread
	mergeIn  int // in how many chances he will begin one twice; below 0: never again
	reloadIn int // and reload the page
	slipped  bool
}

// Shares of the main chart.
const (
	blindShare   = 0.20 // readings taken before the result was seen, and marked so
	unclearShare = 0.02 // the film does not show it; never so of what was whistled
	bareShare    = 0.04 // no time for more than the reading
)

func mainChart(s *Season, b *book) {
	p := b.plan
	start, speed := p.tip, 1.0
	if p.film == fromFilm {
		start, speed = p.tip.Add(15*time.Hour), 1.35
	}
	d := newDice(s.options.Seed, streamMain+uint64(p.game))
	w := &mainCharter{scribe: b.scribe(d, "main", p.charter, start, speed), mergeIn: -1, reloadIn: -1}
	w.film = p.film
	if p.film == fromFilm {
		w.source = "film"
	}
	if d.odds(0.25) {
		w.mergeIn = d.IntN(120)
	}
	if d.odds(0.2) {
		w.reloadIn = d.IntN(150)
	}
	w.open(events.ChartScoped{Ends: events.BothEnds})
	for _, m := range b.played.moments {
		switch {
		case m.chance != nil:
			w.writeChance(m)
		case m.fact != nil:
			w.write(m.real, w.moment(m, m.clock), m.fact)
		default:
			w.anchor(m)
		}
	}
	w.putRight(b.played.last())
	w.finish()
}

func (p played) last() moment { return p.moments[len(p.moments)-1] }

func (w *mainCharter) writeChance(m moment) {
	c := m.chance
	if w.reloadIn--; w.reloadIn == 0 {
		w.newPad()
	}
	back := func(clock float64) float64 { return m.real - (clock - m.clock) }
	began := &events.ChanceBegan{Offence: w.book.played.sides[c.offence].team.id, Origin: c.origin, Tempo: c.tempo}
	id := w.write(back(c.began), w.moment(m, c.began), began)
	w.turnPage(m)
	ids := make([]events.ID, len(c.asks))
	var late []int
	merge := w.mergeIn == 0 && len(c.asks) >= 2
	if w.mergeIn > 0 {
		w.mergeIn--
	}
	for i := range c.asks {
		under := id
		if merge && i == 1 {
			under = w.beginTwice(m, began)
		}
		if len(c.asks) > 1 && i > 0 && !merge && w.d.odds(0.0015) {
			late = append(late, i)
			continue
		}
		ids[i] = w.writeAsk(m, under, c, i, ids, "")
		if under != id {
			w.write(m.real, w.moment(m, c.asks[i].clock), &events.ChanceMerged{Keep: id, Drop: under})
			w.mergeIn = -1
		}
	}
	w.writeEnd(m, id)
	for _, i := range late {
		behind := id
		if ids[i-1] != "" {
			behind = ids[i-1]
		}
		ids[i] = w.writeAsk(m, id, c, i, ids, behind)
	}
}

// beginTwice begins a chance a second time, as a hurried hand does.
func (w *mainCharter) beginTwice(m moment, began *events.ChanceBegan) events.ID {
	again := *began
	clock := m.chance.asks[1].clock
	return w.write(m.real-(clock-m.clock), w.moment(m, clock), &again)
}

// action is what the charter writes of a truly asked thing.
func (w *mainCharter) action(id events.ID, a *ask, ids []events.ID) *events.Action {
	body := &events.Action{Chance: id, Kind: kindWord(a.kind), Outcome: a.outcome, Details: a.details, Spot: a.spot}
	if a.defender != nil {
		body.Defender = a.defender.id
	}
	if a.opponent != nil {
		body.Opponent = a.opponent.id
	}
	if a.follows >= 0 && ids[a.follows] != "" && w.d.odds(0.5) {
		body.Details = with(body.Details, "follows", string(ids[a.follows]))
	}
	switch u := w.d.Float64(); {
	case u < blindShare:
		body.Details = with(body.Details, "saw_end", "no")
	case u < blindShare+0.1:
		body.Details = with(body.Details, "saw_end", "yes")
	}
	if a.outcome == events.Fouled || a.outcome == events.ChargeDrawn {
		return body
	}
	switch u := w.d.Float64(); {
	case u < unclearShare:
		body.Outcome = events.NotClear
	case u < unclearShare+bareShare:
		body.Outcome = events.Outcome(readingWords[a.reading])
	}
	return body
}

// with is a copy of details with one more; the truth's own stay as they are.
func with(d events.Details, name, value string) events.Details {
	out := make(events.Details, len(d)+1)
	for k, v := range d {
		out[k] = v
	}
	out[name] = []string{value}
	return out
}

// writeEnd writes how the chance ended. Free throws stand with it, or follow
// as an event of their own once they have been taken.
func (w *mainCharter) writeEnd(m moment, id events.ID) {
	c := m.chance
	end, trip := c.end, c.trip
	end.Chance, trip.Chance = id, id
	w.leaveWrong(m, &end, &trip)
	later := trip.Attempted > 0 && w.d.odds(0.3)
	if trip.Attempted > 0 && !later {
		joinTrip(&end, trip)
	}
	w.endWithSlip(m, &end)
	if later {
		w.write(m.real+30, w.moment(m, m.clock), &trip)
	}
}

// joinTrip puts the free throws into the end.
func joinTrip(end *events.ChanceEnded, trip events.ShotsTaken) {
	end.Made, end.Attempted = trip.Made, trip.Attempted
	if trip.Last == events.LastOffence || trip.Last == events.LastDefence {
		end.Rebound, end.ReboundBy, end.TeamRebound = events.Side(trip.Last), trip.ReboundBy, trip.TeamRebound
	}
}

// finish enters the official totals, which come from the table and not from
// the chart, and closes the game.
func (w *mainCharter) finish() {
	m := w.book.played.last()
	if w.book.plan.slip != noTotals {
		totals := w.book.played.totals()
		if !w.d.odds(0.35) {
			totals.Players = nil
		}
		w.write(m.real+240, events.When{}, &totals)
	}
	if w.d.odds(0.4) {
		w.write(m.real+300, events.When{}, &events.Noted{Text: w.d.say(
			word{"invented game; second half charted with sound off", 1},
			word{"invented game; camera lost the weak side for two minutes of the third", 1},
			word{"invented game; shirt numbers hard to read from this end", 1})})
	}
	w.write(m.real+310, events.When{}, &events.GameClosed{})
}

// adopt makes the main chart the chart of record, once the others are done.
func adopt(s *Season, b *book) {
	d := newDice(s.options.Seed, streamMain+uint64(b.plan.game)+1<<31)
	w := b.scribe(d, "main", b.plan.charter, b.plan.tip.Add(5*24*time.Hour), 1)
	w.write(0, events.When{}, &events.ChartAdopted{Chart: "main"})
}
