package synth

import (
	"encoding/hex"
	"fmt"
	"time"

	"stopledger/events"
)

// book is all that was charted of one game, and what was left wrong in it.
type book struct {
	plan    plan
	played  played
	events  []events.Event
	planted []Planted
}

func (s *Season) book(p plan) *book {
	b := &book{plan: p, played: s.playGame(p)}
	b.events = make([]events.Event, 0, 1000)
	mainChart(s, b)
	if p.second != nil {
		secondChart(s, b)
	}
	if p.focus {
		focusChart(s, b, s.player(s.options.FocusOn))
	}
	if p.second != nil || p.focus {
		adopt(s, b)
	}
	return b
}

// scribe writes one chart of one game.
type scribe struct {
	book    *book
	d       dice
	chart   events.Token
	charter events.Token
	pad     events.Token
	n       int64
	film    filmKind
	source  events.ClockSource
	start   time.Time // the charter's clock at the tip, or when he sat down to the film
	speed   float64   // seconds of the charter's time to one of the arena's
	last    int64     // milliseconds of the latest id
}

const filmID events.Token = "f1"

func (b *book) scribe(d dice, chart, charter events.Token, start time.Time, speed float64) *scribe {
	w := &scribe{book: b, d: d, chart: chart, charter: charter, start: start, speed: speed, source: "ticked"}
	w.newPad()
	return w
}

// newPad is what reloading the page does: a new pad, counting from one.
func (w *scribe) newPad() {
	w.pad = events.Token(fmt.Sprintf("%08x", w.d.Uint32()))
	w.n = 0
}

// at is the charter's clock when he writes down what happened at a second of
// the arena's, a little late as hands are.
func (w *scribe) at(real float64) time.Time {
	return w.start.Add(time.Duration((real*w.speed + w.d.between(0.6, 2.4)) * float64(time.Second)))
}

// write appends an event. Ids grow with the charter's clock, which never runs
// back.
func (w *scribe) write(real float64, when events.When, body events.Body) events.ID {
	return w.append(w.next(real, when, body))
}

func (w *scribe) next(real float64, when events.When, body events.Body) events.Event {
	ms := max(w.at(real).UnixMilli(), w.last+int64(60+w.d.IntN(200)))
	w.last = ms
	w.n++
	return events.Event{
		V: events.Version, ID: w.mint(ms), Game: w.book.plan.id, Chart: w.chart, Charter: w.charter, Pad: w.pad, N: w.n,
		Recorded: time.UnixMilli(ms).UTC(), When: when, Type: body.Type(), Body: body,
	}
}

func (w *scribe) append(e events.Event) events.ID {
	w.book.events = append(w.book.events, e)
	return e.ID
}

// mint makes a version 7 UUID (RFC 9562, section 5.7) from a time in
// milliseconds and the seeded dice.
func (w *scribe) mint(ms int64) events.ID {
	a, b := w.d.Uint64(), w.d.Uint64()
	var u [16]byte
	for i := range 6 {
		u[i] = byte(ms >> (40 - 8*i))
	}
	u[6], u[7] = 0x70|byte(a>>8)&0x0f, byte(a)
	for i := range 8 {
		u[8+i] = byte(b >> (8 * i))
	}
	u[8] = u[8]&0x3f | 0x80
	var text [36]byte
	hex.Encode(text[0:8], u[0:4])
	hex.Encode(text[9:13], u[4:6])
	hex.Encode(text[14:18], u[6:8])
	hex.Encode(text[19:23], u[8:10])
	hex.Encode(text[24:36], u[10:16])
	text[8], text[13], text[18], text[23] = '-', '-', '-', '-'
	return events.ID(text[:])
}

// moment is a When at a game clock, with the film time where the chart is made
// from film.
func (w *scribe) moment(m moment, clock float64) events.When {
	when := events.At(m.period, clock)
	when.From = w.source
	if w.source == "film" {
		when.Film = &events.FilmTime{ID: filmID, At: tenth(w.book.filmTime(m, clock))}
	}
	return when
}

// open writes what every chart begins with.
func (w *scribe) open(scope events.ChartScoped) {
	p := w.book.plan
	g := &events.GameOpened{
		Competition: "invented-eight", Level: "college", Rules: p.rules, Date: p.tip.Format(time.DateOnly),
		Home: events.Team{ID: p.home.id, Name: p.home.name}, Away: events.Team{ID: p.away.id, Name: p.away.name}, Invented: true,
	}
	for _, t := range []*team{p.home, p.away} {
		for _, pl := range t.players {
			g.Players = append(g.Players, events.Player{ID: pl.id, Team: t.id, Number: pl.number, Role: roleWords[pl.role]})
		}
	}
	w.write(-600, events.When{}, g)
	w.write(-580, events.When{}, &scope)
	if w.film != noFilm {
		name := fmt.Sprintf("%s.mp4", p.id)
		sum := fmt.Sprintf("%016x%016x", w.d.Uint64(), w.d.Uint64())
		w.write(-570, events.When{}, &events.FilmLinked{ID: filmID, Name: name, Bytes: int64(1.4e9 + w.d.Float64()*9e8), Fingerprint: sum})
	}
}

// anchor ties the film to the game clock where a period begins or ends, and on
// a broadcast on both sides of every long stop.
func (w *scribe) anchor(m moment) {
	if w.film == noFilm || !m.edge && (w.film == cut || m.stop < 15) {
		return
	}
	at := w.book.filmTime(m, m.clock)
	say := func(at float64) {
		w.write(m.real, events.When{}, &events.FilmAnchored{Film: filmID, At: tenth(at), Period: m.period, Clock: m.clock})
	}
	say(at)
	if m.stop > 0 {
		say(at + m.stop)
	}
}

// filmTime is where on the film a clock of the moment's stretch is seen.
func (b *book) filmTime(m moment, clock float64) float64 {
	lead := 40 + float64(b.plan.game%90)
	if b.plan.film == cut {
		played := 0.0
		for p := 1; p < m.period; p++ {
			played += b.played.rules.Length(p) + 6
		}
		return lead + played + b.played.rules.Length(m.period) - clock
	}
	return lead + m.real - (clock - m.clock)
}
