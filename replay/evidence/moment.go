package evidence

import (
	"errors"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// Films are the films of one chart.
type Films struct{ list []film.Film }

// FilmsOf reads a chart's films and what ties them to the game clock.
func FilmsOf(c *replay.Chart) Films { return Films{filmsOf(c)} }

// At finds a single moment of play on the film that shows it with the least
// doubt. The error says why none does.
func (f Films) At(w events.When) (*Shown, error) {
	if len(f.list) == 0 {
		return nil, errors.New("no film is linked to this chart")
	}
	var found *Shown
	var why error
	for _, one := range f.list {
		at, err := one.Place(momentOf(w))
		switch {
		case err != nil && why == nil:
			why = err
		case err == nil && (found == nil || at.Doubt < found.Doubt):
			found = &Shown{ID: events.Token(one.ID), Name: one.Name, At: max(0, at.At), End: max(0, at.At), Doubt: at.Doubt, By: at.By}
		}
	}
	if found == nil {
		return nil, why
	}
	return found, nil
}
