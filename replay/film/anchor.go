package film

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Anchor ties a film time to the game clock: at that film time the scoreboard
// showed that clock.
type Anchor struct {
	At     float64 `json:"at"`     // seconds from the film's start
	Period int     `json:"period"` // 1 is the first; overtimes count on
	Clock  float64 `json:"clock"`  // seconds left in the period
}

// Film is one film of a game.
type Film struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`             // its file name or address
	Length  float64  `json:"length,omitempty"` // seconds; 0: not known
	Anchors []Anchor `json:"anchors"`          // in any order
}

// Moment is a moment of play: on the game clock, on a film, or both. Film and At
// are set when the charter marked it on a film; such a moment needs no anchor
// there.
type Moment struct {
	Period int     `json:"period,omitempty"` // 0: the game clock is not known
	Clock  float64 `json:"clock,omitempty"`  // seconds left in the period
	Film   string  `json:"film,omitempty"`   // the film it was marked on; empty: none
	At     float64 `json:"at,omitempty"`     // seconds into that film
	Late   float64 `json:"late,omitempty"`   // how late the mark may be: 0 on a paused film, up to [Reaction] on a running one
}

// Place is where a moment lies on a film.
type Place struct {
	At    float64 `json:"at"`    // seconds from the film's start
	Doubt float64 `json:"doubt"` // it may lie this many seconds earlier or later
	By    string  `json:"by"`    // what it rests on, in words
}

const (
	// Reaction is how long a charter takes to see a thing, decide and press one
	// key, in seconds: one mental preparation and one keystroke of the
	// keystroke-level model (Card, Moran & Newell 1980: 1.35 s and 0.28 s, rounded).
	Reaction = 1.6
	// Reading is the doubt of one anchor, in seconds. A scoreboard shows whole
	// seconds for all but the last minute (common practice, no source).
	Reading = 0.5
)

// ErrNotPlaced is wrapped by every error that says a moment is not to be found
// on a film.
var ErrNotPlaced = errors.New("cannot be placed on film")

func notPlaced(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNotPlaced, fmt.Sprintf(format, args...))
}

// Place finds a moment on the film.
//
//   - Marked on this film: there, with the doubt of the mark.
//   - Between two anchors of its period, film and clock having run alike: in
//     step with both, with the doubt of one anchor and half of what they differ by.
//   - The clock stood still for a while in between (the film ran on, the clock did
//     not): it is not known when, so the doubt is half of the standstill more. The
//     moment lies within it for certain, if the anchors are right.
//   - The film jumps over play in between (a cut): never interpolated. It is
//     counted from the nearer anchor, on that anchor's side of the cut.
//   - Before the first anchor or after the last of its period, and beside a cut:
//     counted from the anchor with the clock running, and a second of doubt for
//     each second of game clock away from it, since film with its dead time runs up
//     to about twice as long as the clock (common practice, no source).
//   - A period without an anchor: an error that says so.
func (f Film) Place(m Moment) (Place, error) {
	if m.Film != "" && m.Film == f.ID {
		return Place{At: m.At, Doubt: m.Late, By: "marked on this film"}, nil
	}
	if m.Period < 1 {
		return Place{}, notPlaced("no game clock, and no mark on film %s", f.ID)
	}
	before, after := f.around(m.Period, m.Clock)
	var p Place
	var err error
	switch {
	case before == nil && after == nil:
		err = notPlaced("period %d has no anchor on film %s; set one", m.Period, f.ID)
	case after == nil:
		p = before.reach(m.Clock, "after the last anchor")
	case before == nil:
		p = after.reach(m.Clock, "before the first anchor")
	default:
		p, err = between(*before, *after, m.Clock)
	}
	if err != nil {
		return Place{}, err
	}
	p.Doubt += m.Late
	return p, nil
}

// around gives the anchors of a period nearest a clock on either side of it. At
// a clock that anchors show, they are the first and the last of these on film.
func (f Film) around(period int, clock float64) (before, after *Anchor) {
	var line []Anchor
	for _, a := range f.Anchors {
		if a.Period == period {
			line = append(line, a)
		}
	}
	slices.SortFunc(line, func(a, b Anchor) int { return cmp.Or(cmp.Compare(b.Clock, a.Clock), cmp.Compare(a.At, b.At)) })
	for i := range line {
		if a := &line[i]; a.Clock > clock || (a.Clock == clock && (before == nil || before.Clock > clock)) {
			before = a
		}
		if a := &line[i]; a.Clock == clock || (a.Clock < clock && after == nil) {
			after = a
		}
	}
	return before, after
}

// between places a clock between two anchors of one period.
func between(before, after Anchor, clock float64) (Place, error) {
	early := before.reach(clock, "beside a cut") // had the clock run on from the first anchor
	late := after.reach(clock, "beside a cut")   // had it run up to the second
	still := late.At - early.At                  // how long the clock stood still in between
	switch {
	case still < -2*Reading:
		return besideCut(before, after, early, late, clock)
	case before == after:
		return Place{At: early.At, Doubt: Reading, By: "at an anchor"}, nil
	}
	p := Place{At: (early.At + late.At) / 2, Doubt: Reading + math.Abs(still)/2, By: "between two anchors"}
	if still > 2*Reading {
		p.By = "between two anchors, the clock having stopped"
	}
	return p, nil
}

// besideCut counts from the nearer anchor, or from the other where that would
// leave the stretch of film that lies between the two.
func besideCut(before, after Anchor, early, late Place, clock float64) (Place, error) {
	inEarly, inLate := early.At <= after.At, late.At >= before.At
	switch {
	case inEarly && (early.Doubt <= late.Doubt || !inLate):
		return early, nil
	case inLate:
		return late, nil
	}
	return Place{}, notPlaced("the film cuts out period %d at %s", before.Period, clockText(clock))
}

// reach counts from one anchor with the clock running.
func (a Anchor) reach(clock float64, by string) Place {
	away := a.Clock - clock
	return Place{At: a.At + away, Doubt: Reading + math.Abs(away), By: by}
}

func clockText(clock float64) string {
	tenths := int(math.Round(clock * 10))
	return fmt.Sprintf("%d:%02d.%d", tenths/600, tenths/10%60, tenths%10)
}
