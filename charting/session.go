package charting

import (
	"fmt"
	"slices"
	"time"

	"stopledger/events"
	"stopledger/replay"
)

// Mint gives a session what it must not take for itself.
type Mint interface {
	// ID returns a new id; ids sort in the order they were given.
	ID() events.ID
	// Now is the device's clock. It must differ from one command to the next:
	// what was recorded at one time is one step, taken back as one.
	Now() time.Time
}

// Seat says who charts what, and on which pad.
type Seat struct {
	Game, Chart, Charter, Pad events.Token
}

// Session is one pad's part in one chart. It is not safe for concurrent use.
type Session struct {
	seat  Seat
	mint  Mint
	known []events.Event // of the chart, in the order they came
	ids   map[events.ID]bool
	n     int64
	when  events.When
	chart *replay.Chart // the fold of what is known; nil when out of date
	facts []replay.Fact
}

// Open takes a seat at a chart. Known are events of that chart, in any order;
// those of other games and charts are passed over. The pad's count goes on
// where its known events end.
func Open(seat Seat, mint Mint, known []events.Event) (*Session, error) {
	for _, t := range []struct {
		field string
		token events.Token
	}{{"game", seat.Game}, {"chart", seat.Chart}, {"charter", seat.Charter}, {"pad", seat.Pad}} {
		if !t.token.Valid() {
			return nil, refuse(t.field, "%q is no id", t.token)
		}
	}
	s := &Session{seat: seat, mint: mint, ids: make(map[events.ID]bool)}
	for _, e := range known {
		s.Take(e)
	}
	s.when = s.Chart().Now.When
	return s, nil
}

// Take hears of an event that was charted elsewhere: by another pad of this
// chart, or earlier by this one.
func (s *Session) Take(e events.Event) {
	if e.Game != s.seat.Game || e.Chart != s.seat.Chart || s.ids[e.ID] {
		return
	}
	s.ids[e.ID] = true
	s.known = append(s.known, e)
	if e.Pad == s.seat.Pad {
		s.n = max(s.n, e.N)
	}
	s.chart, s.facts = nil, nil
}

// Chart is the fold of everything the session knows.
func (s *Session) Chart() *replay.Chart {
	if s.chart == nil {
		s.chart = foldOf(s.seat, s.known)
	}
	return s.chart
}

func foldOf(seat Seat, list []events.Event) *replay.Chart {
	if c := replay.FoldGame(seat.Game, list).Chart(seat.Chart); c != nil {
		return c
	}
	return &replay.Chart{Name: seat.Chart}
}

// Events returns everything the session knows of its chart, in the order it
// came.
func (s *Session) Events() []events.Event { return slices.Clone(s.known) }

// At says where the game stands: the commands that follow carry this moment.
func (s *Session) At(w events.When) error {
	rules := s.Chart().Info.Rules
	switch {
	case w.Period < 1 || w.Period > 20:
		return refuse("when.period", "%d; want 1 to 20", w.Period)
	case w.Clock == nil:
	case !(*w.Clock >= 0) || rules.Periods > 0 && *w.Clock > rules.Length(w.Period):
		return refuse("when.clock", "%g; period %d has %g seconds", *w.Clock, w.Period, rules.Length(w.Period))
	}
	s.when = w
	return nil
}

// draft is an event without its number.
type draft struct {
	id   events.ID
	when events.When
	body events.Body
}

func (s *Session) now(body events.Body) draft { return draft{s.mint.ID(), s.when, body} }

// correction is a draft without a moment of its own: it moves no clock.
func (s *Session) correction(body events.Body) draft {
	return draft{s.mint.ID(), events.When{}, body}
}

// write numbers and seals one step's events and takes them in. When check
// refuses the chart they would make, or one of them is not valid, nothing has
// happened.
func (s *Session) write(check func(*replay.Chart) error, drafts ...draft) ([]events.Event, error) {
	recorded := s.mint.Now().UTC().Truncate(time.Millisecond)
	out := make([]events.Event, len(drafts))
	for i, d := range drafts {
		e := &out[i]
		*e = events.Event{
			V: events.Version, ID: d.id, Game: s.seat.Game, Chart: s.seat.Chart, Charter: s.seat.Charter, Pad: s.seat.Pad,
			N: s.n + int64(i) + 1, Recorded: recorded, When: d.when, Type: d.body.Type(), Body: d.body,
		}
		if err := e.Seal(); err != nil {
			return nil, err
		}
	}
	if check != nil {
		if err := check(foldOf(s.seat, append(slices.Clone(s.known), out...))); err != nil {
			return nil, err
		}
	}
	for _, e := range out {
		s.Take(e)
	}
	return out, nil
}

func refuse(field, format string, args ...any) error {
	return &events.FieldError{Field: field, Reason: fmt.Sprintf(format, args...)}
}

// standing returns what stands of the chart's originals, by id.
func (s *Session) standing() []replay.Fact {
	if s.facts == nil {
		s.facts = replay.Facts(s.known)
	}
	return s.facts
}

func (s *Session) fact(id events.ID) (replay.Fact, bool) {
	for _, f := range s.standing() {
		if f.Event.ID == id {
			return f, true
		}
	}
	return replay.Fact{}, false
}
