package events

import "time"

// Version is the newest event version this program understands. An event of a
// newer version is kept verbatim and never interpreted.
const Version = 1

// ID is an event's identity: a UUID in lower case, version 7, minted where the
// event is recorded.
type ID string

// Token is the id of a game, chart, charter, team, player, film or pad. Tokens
// are subject tokens and file names, so they match [a-z0-9][a-z0-9-]{0,62}.
type Token string

// Event is one fact that somebody charted. The Go value is a reading of the
// stored line; Raw is the line itself.
type Event struct {
	V        int       `json:"v"`
	ID       ID        `json:"id"`
	Game     Token     `json:"game"`
	Chart    Token     `json:"chart"`
	Charter  Token     `json:"charter"`
	Pad      Token     `json:"pad"`
	N        int64     `json:"n"`                 // counts up from 1 per game, chart and pad
	Recorded time.Time `json:"recorded,omitzero"` // the device's clock; orders nothing
	When     When      `json:"when,omitzero"`     // the moment of play
	After    ID        `json:"after,omitempty"`   // places the event right behind another
	Type     Type      `json:"type"`
	Body     Body      `json:"body"` // nil for a newer version

	// Raw is the event as stored, one line without its newline. It is empty
	// until [Seal] for an event made in code.
	Raw []byte `json:"-"`
}

// When is a moment of play: the game clock, the film, or both.
type When struct {
	Period int         `json:"period,omitempty"` // 1 is the first; overtimes count on
	Clock  *float64    `json:"clock,omitempty"`  // seconds left in the period; nil: not known
	From   ClockSource `json:"from,omitempty"`
	Film   *FilmTime   `json:"film,omitempty"`
}

// FilmTime is a place on a film.
type FilmTime struct {
	ID Token   `json:"id"`
	At float64 `json:"at"` // seconds from the film's start
}

// Spot is a place on the half court in metres. The origin is on the floor
// under the basket's centre, x runs toward the sideline on the shooter's right
// as he faces the basket, y toward midcourt.
type Spot struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Newer reports whether the event is of a version this program does not know.
func (e *Event) Newer() bool { return e.V > Version }

// Invented reports whether the event opens a game marked as invented.
func (e *Event) Invented() bool {
	g, ok := e.Body.(*GameOpened)
	return ok && g.Invented
}

// At is a When at a period and clock.
func At(period int, clock float64) When { return When{Period: period, Clock: &clock} }
