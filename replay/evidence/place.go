package evidence

import (
	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// filmsOf are the films of a chart with the anchors that tie them to the clock.
// A film that was anchored and never linked goes by its id.
func filmsOf(c *replay.Chart) []film.Film {
	var films []film.Film
	at := map[events.Token]int{}
	for _, f := range c.Films {
		if _, twice := at[f.ID]; !twice {
			at[f.ID] = len(films)
			films = append(films, film.Film{ID: string(f.ID), Name: f.Name})
		}
	}
	add := func(id events.Token) int {
		i, ok := at[id]
		if !ok {
			i = len(films)
			at[id] = i
			films = append(films, film.Film{ID: string(id), Name: string(id)})
		}
		return i
	}
	for _, a := range c.Anchors {
		f := &films[add(a.Film)]
		f.Anchors = append(f.Anchors, film.Anchor{At: a.At, Period: a.Period, Clock: a.Clock})
	}
	for i := range c.Chances { // marks alone place a chance on a film
		if m := c.Chances[i].When.Film; m != nil {
			add(m.ID)
		}
	}
	return films
}

// momentOf is a moment of play. A mark on film was made while it ran, as far
// as anybody knows, so it may be late by a reaction.
func momentOf(w events.When) film.Moment {
	var m film.Moment
	if w.Clock != nil {
		m.Period, m.Clock = w.Period, *w.Clock
	}
	if w.Film != nil {
		m.Film, m.At, m.Late = string(w.Film.ID), w.Film.At, film.Reaction
	}
	return m
}

// place finds the row on the film that shows it with the least doubt.
func (r *Row) place(films []film.Film) {
	var why error
	for _, f := range films {
		from, err := f.Place(r.from)
		if err == nil {
			var to film.Place
			if to, err = f.Place(r.to); err == nil {
				doubt, by := from.Doubt, from.By
				if to.Doubt > doubt {
					doubt, by = to.Doubt, to.By
				}
				if r.Film == nil || doubt < r.Film.Doubt {
					r.Film = &Shown{ID: events.Token(f.ID), Name: f.Name, At: max(0, from.At), End: max(from.At, to.At), Doubt: doubt, By: by}
				}
				continue
			}
		}
		if why == nil {
			why = err
		}
	}
	switch {
	case r.Film != nil:
	case why != nil:
		r.NoFilm = why.Error()
	default:
		r.NoFilm = "no film is linked to this chart"
	}
}
