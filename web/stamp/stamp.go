// Package stamp gives identity to events that the program itself charts: a
// settled chart, official totals typed into a page, the choice of a chart of
// record. Begin with New; every Stamper is a pad of its own.
package stamp

import (
	"time"

	"github.com/google/uuid"

	"stopledger/events"
)

// Stamper numbers the events of one pad on one chart.
type Stamper struct {
	game, chart, charter, pad events.Token
	n                         int64
	now                       time.Time
}

// New is a new pad, named for what it is used for.
func New(game, chart, charter, purpose events.Token) *Stamper {
	return &Stamper{
		game: game, chart: chart, charter: charter, now: time.Now().UTC(),
		pad: purpose + "-" + events.Token(uuid.NewString()[:8]),
	}
}

// Stamp makes an event the pad's next.
func (s *Stamper) Stamp(e *events.Event) {
	s.n++
	e.ID = events.ID(uuid.Must(uuid.NewV7()).String())
	e.Game, e.Chart, e.Charter, e.Pad, e.N, e.Recorded = s.game, s.chart, s.charter, s.pad, s.n, s.now
}

// Event makes a sealed event of a body: the pad's next.
func (s *Stamper) Event(body events.Body) (events.Event, error) {
	e := events.Event{V: events.Version, Type: body.Type(), Body: body}
	s.Stamp(&e)
	return e, e.Seal()
}
