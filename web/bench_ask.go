package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"stopledger/events/bus"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/web/season"
)

// filterFields are the filters that every page of numbers takes in its address,
// and the field that each of them tests.
var filterFields = []struct{ name, field string }{
	{"game", "game.id"},
	{"level", "game.level"},
	{"competition", "game.competition"},
	{"period", "chance.period"},
	{"base", "chance.base"},
	{"principle", "chance.principle"},
	{"against", "chance.offence"}, // the other team
	{"opponent", "opponent.id"},
	{"role", "opponent.role"},
}

// filtersOf reads the filters of an address: each may be given several times,
// meaning any of them; since is a day.
func filtersOf(q url.Values) []evidence.Filter {
	var list []evidence.Filter
	for _, f := range filterFields {
		if values := q[f.name]; len(values) > 0 && !slices.Equal(values, []string{""}) {
			list = append(list, evidence.Filter{Field: f.field, Values: values})
		}
	}
	if since := q.Get("since"); since != "" {
		list = append(list, evidence.Filter{Field: "game.date", From: since})
	}
	return list
}

// asked is what a page of numbers is about.
type asked struct {
	view       *season.View // narrowed
	definition *definition.Definition
	asOf       string
}

// ask reads what an address asks for: ?definition=, ?as_of= and the filters.
func (s *Server) ask(r *http.Request) (asked, error) {
	q := r.URL.Query()
	a := asked{asOf: q.Get("as_of")}
	var err error
	if a.definition, err = s.definitionAsked(r, q.Get("definition")); err != nil {
		return a, err
	}
	whole, err := s.season(r, a.asOf)
	if err != nil {
		return a, err
	}
	if a.view, err = whole.Narrow(filtersOf(q)); err != nil {
		return a, faultf(invalid, "%v", err)
	}
	return a, nil
}

// definitionAsked finds a definition by its name or hash; none means the one in
// force.
func (s *Server) definitionAsked(r *http.Request, name string) (*definition.Definition, error) {
	book, err := s.room.rules(r.Context())
	if err != nil {
		return nil, err
	}
	var d *definition.Definition
	switch {
	case name == "":
		d, err = book.InForce(r.Context())
	case len(name) == 64:
		d, err = book.Definition(r.Context(), name)
	default:
		d, err = book.ByName(r.Context(), name)
	}
	if errors.Is(err, bus.ErrNotFound) {
		return nil, faultf(notFound, "%v", err)
	}
	return d, err
}

// season is the ledger in columns, now or as it stood, with the games that the
// visitor may see.
func (s *Server) season(r *http.Request, asOf string) (*season.View, error) {
	if err := s.desk.open(); err != nil {
		return nil, err
	}
	if err := s.room.meet(r.Context()); err != nil {
		return nil, err
	}
	v := visitorOf(r.Context())
	if asOf == "" {
		folded := s.desk.season()
		position := uint64(s.desk.position())
		if !v.scoped() {
			return s.room.seasons.Now(folded.Games, position), nil
		}
		return s.room.kept(fmt.Sprintf("%d %q", position, v.pass.Games), func() (*season.View, error) {
			return s.room.seasons.Past(seen(folded.Games, v), position), nil
		})
	}
	m, err := parseMoment(asOf)
	if err != nil {
		return nil, err
	}
	key := asOf + fmt.Sprintf(" %q", v.pass.Games)
	if !m.time.IsZero() || m.position > s.desk.position() { // what is still to come may count
		key += fmt.Sprint(s.desk.position())
	}
	return s.room.kept(key, func() (*season.View, error) {
		list, err := s.desk.until(m)
		if err != nil {
			return nil, err
		}
		folded, err := foldEntries(list)
		if err != nil {
			return nil, err
		}
		position := uint64(0)
		if len(list) > 0 {
			position = uint64(list[len(list)-1].Position)
		}
		return s.room.seasons.Past(seen(folded.Games, v), position), nil
	})
}

func seen(games []*replay.Game, v visitor) []*replay.Game {
	return slices.DeleteFunc(slices.Clone(games), func(g *replay.Game) bool { return v.scoped() && !v.sees(g.ID) })
}

// source is what every result says of where it came from.
type source struct {
	Definition string `json:"definition"`
	Hash       string `json:"hash"`
	Digest     string `json:"digest"`
	Position   uint64 `json:"position"`
	Events     int    `json:"events"`
	Games      int    `json:"games"`
	AsOf       string `json:"as_of,omitempty"`
	Invented   bool   `json:"invented,omitempty"`
}

func (a asked) source() source {
	games := 0
	used := make([]bool, len(a.view.Columns.GameIDs))
	for _, g := range a.view.Columns.ChanceGame {
		if !used[g] {
			used[g] = true
			games++
		}
	}
	return source{
		Definition: a.definition.Name, Hash: a.definition.Hash(), Digest: a.view.Digest, Position: a.view.Position,
		Events: a.view.Events, Games: games, AsOf: a.asOf, Invented: a.view.Invented,
	}
}

// words splits a comma-separated list.
func words(text string) []string {
	return slices.DeleteFunc(strings.Split(text, ","), func(w string) bool { return w == "" })
}
