package synth

import (
	"time"

	"stopledger/events"
)

// habits are how a charter departs from what truly happened. Whistled actions
// (fouls and charges drawn) are read as they were.
type habits struct {
	charter events.Token
	// labels[r] is how a true reading r is written: held, even, broken,
	// unclear. Rows sum to one.
	labels [3][4]float64
	// hindsight is how often a held reading is written broken because the
	// charter saw the offence score.
	hindsight float64
	blind     float64 // share of readings taken before the result was seen
	otherKind float64 // how often a kind is written as its neighbour
	otherWord float64 // how often another word of the same reading is written
	missed    float64 // actions not seen
	skipped   float64 // chances not charted at all
	offset    float64 // seconds his clock is ahead
	jitter    float64 // standard deviation of the clock by chance
}

// secondCharters are the two who chart games a second time: one careful, one
// hasty and led by the scoreboard.
var secondCharters = [2]habits{
	{"edda", [3][4]float64{{0.90, 0.06, 0.02, 0.02}, {0.12, 0.74, 0.12, 0.02}, {0.03, 0.07, 0.88, 0.02}},
		0.02, 0.5, 0.02, 0.10, 0.06, 0.000, 1.4, 0.4},
	{"finn", [3][4]float64{{0.80, 0.12, 0.05, 0.03}, {0.18, 0.58, 0.20, 0.04}, {0.08, 0.14, 0.74, 0.04}},
		0.20, 0.1, 0.06, 0.25, 0.14, 0.015, -4.2, 0.8},
}

// focusCharter watches one player at a time.
var focusCharter = habits{"gus", [3][4]float64{{0.93, 0.04, 0.01, 0.02}, {0.08, 0.82, 0.08, 0.02}, {0.01, 0.05, 0.92, 0.02}},
	0, 0.6, 0, 0.05, 0.03, 0, 0.5, 0.3}

// neighbour is the kind each kind is mistaken for: common practice, no source.
var neighbour = [kindCount]int{
	drive: closeout, deny: chase, post: drive, ballScreen: drive, coverage: gapHelp, chase: deny,
	closeout: contest, contest: closeout, gapHelp: rotation, rotation: gapHelp, boxOut: boxOut, transition: drive,
}

// reader charts with habits and without second thoughts.
type reader struct {
	*scribe
	habits
	shift   float64 // of the clock, in the chance at hand
	earlier float64 // his clock at the event before, which it never exceeds
	period  int
}

func secondChart(s *Season, b *book) {
	d := newDice(s.options.Seed, streamSecond+uint64(b.plan.game))
	h := *b.plan.second
	r := &reader{scribe: b.scribe(d, "second", h.charter, b.plan.tip.Add(40*time.Hour), 1.5), habits: h}
	r.film, r.source = b.plan.film, "film"
	r.open(events.ChartScoped{Ends: events.BothEnds})
	for _, m := range b.played.moments {
		switch {
		case m.chance != nil:
			r.chance(m)
		case m.fact != nil:
			r.write(m.real, r.when(m, m.clock), m.fact)
		default:
			r.anchor(m)
		}
	}
	r.write(b.played.last().real+300, events.When{}, &events.GameClosed{})
}

func (r *reader) chance(m moment) {
	c := m.chance
	if r.d.odds(r.skipped) {
		r.book.planted = append(r.book.planted, Planted{
			Game: r.book.plan.id, Chart: r.scribe.chart, What: "chance-not-charted", Text: "the second charter skipped a chance", Period: m.period, Clock: m.clock})
		return
	}
	r.shift = r.d.normal(0, r.jitter)
	began := &events.ChanceBegan{Offence: r.book.played.sides[c.offence].team.id, Origin: c.origin, Tempo: c.tempo}
	id := r.write(m.real-(c.began-m.clock), r.when(m, c.began), began)
	for i := range c.asks {
		if a := &c.asks[i]; !r.d.odds(r.missed) {
			r.write(m.real-(a.clock-m.clock), r.when(m, a.clock), r.read(id, c, a))
		}
	}
	end, trip := c.end, c.trip
	end.Chance = id
	if trip.Attempted > 0 {
		joinTrip(&end, trip)
	}
	r.write(m.real, r.when(m, m.clock), &end)
}

// when is a moment on this charter's clock.
func (r *reader) when(m moment, clock float64) events.When {
	when := r.moment(m, clock)
	if m.period != r.period {
		r.period, r.earlier = m.period, r.book.played.rules.Length(m.period)
	}
	r.earlier = tenth(max(0, min(r.earlier, clock+r.offset+r.shift)))
	*when.Clock = r.earlier
	return when
}

// read is what this charter makes of an ask.
func (r *reader) read(id events.ID, c *chance, a *ask) *events.Action {
	blind := r.d.odds(r.blind)
	kind, outcome := a.kind, a.outcome
	if a.reading != noReading && outcome != events.Fouled && outcome != events.ChargeDrawn {
		kind, outcome = r.label(c, a, blind)
	}
	body := &events.Action{Chance: id, Kind: kindWord(kind), Outcome: outcome, Spot: a.spot}
	if a.defender != nil {
		body.Defender = a.defender.id
	}
	if a.opponent != nil {
		body.Opponent = a.opponent.id
	}
	if kind == a.kind && outcome == a.outcome && r.d.odds(0.8) {
		body.Details = a.details
	}
	saw := "yes"
	if blind {
		saw = "no"
	}
	body.Details = with(body.Details, "saw_end", saw)
	return body
}

// label is the kind and the outcome he writes for a true reading.
func (r *reader) label(c *chance, a *ask, blind bool) (int, events.Outcome) {
	kind := a.kind
	if r.d.odds(r.otherKind) {
		kind = neighbour[kind]
	}
	var reading int
	if a.reading == held && !blind && c.points(r.book.played.rules) > 0 && r.d.odds(r.hindsight) {
		reading = broken
	} else {
		row := r.labels[a.reading]
		reading = r.d.pick(row[:]...)
	}
	switch {
	case reading > broken:
		return kind, events.NotClear
	case kind == a.kind && reading == a.reading && !r.d.odds(r.otherWord):
		return kind, a.outcome
	}
	return kind, r.d.wordFor(kind, reading, nil)
}
