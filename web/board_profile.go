package web

import (
	"net/http"
	"strings"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/web/brief"
)

// profileJSON is what the Board shows of a player: the numbers of package
// metrics as they are, and his name where it is known.
type profileJSON struct {
	source
	Name    string           `json:"name,omitempty"`
	Moving  bool             `json:"moving,omitempty"` // last digits are still to settle
	Profile *metrics.Profile `json:"profile"`
}

func (s *Server) getProfile(w http.ResponseWriter, r *http.Request) {
	a, err := s.ask(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	id := events.Token(r.PathValue("player"))
	p, err := a.view.Profile(a.definition, id)
	if err != nil {
		s.fail(w, r, faultf(notFound, "%v", err))
		return
	}
	s.answer(w, r, profileJSON{a.source(), s.room.seasons.Name(id), a.view.Quick(a.definition), p})
}

// getBrief is the print view: the page that the command brief writes.
func (s *Server) getBrief(w http.ResponseWriter, r *http.Request) {
	a, err := s.ask(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	whole, err := s.season(r, a.asOf)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	b, err := brief.Make(a.view.Study(a.definition), events.Token(r.PathValue("player")), brief.Options{
		Games: whole.Games, People: s.room.seasons.People(), Position: a.view.Position, AsOf: a.asOf, Filters: filterWords(r),
	})
	if err != nil {
		s.fail(w, r, faultf(notFound, "%v", err))
		return
	}
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	if r.URL.Query().Get("format") == "md" {
		h.Set("Content-Type", "text/markdown; charset=utf-8")
		err = b.WriteMarkdown(w)
	} else {
		h.Set("Content-Type", "text/html; charset=utf-8")
		h.Set("Content-Security-Policy", "default-src 'none'; style-src "+brief.StyleSource()+"; base-uri 'none'; frame-ancestors 'none'")
		err = b.WriteHTML(w)
	}
	if err != nil {
		s.log.Error().Err(err).Str("path", r.URL.Path).Msg("brief broke off")
	}
}

// filterWords says what a page's film is narrowed to.
func filterWords(r *http.Request) []string {
	var list []string
	q := r.URL.Query()
	for _, f := range filterFields {
		if values := q[f.name]; len(values) > 0 && values[0] != "" {
			list = append(list, f.name+" "+strings.Join(values, " or "))
		}
	}
	if since := q.Get("since"); since != "" {
		list = append(list, "since "+since)
	}
	return list
}
