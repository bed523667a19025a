package web

import (
	"fmt"
	"net/http"
	"strings"

	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// chartsAsked finds two or more charts of a game by their names.
func chartsAsked(g *replay.Game, names []string) ([]*replay.Chart, error) {
	var known []string
	for _, c := range g.Charts {
		known = append(known, string(c.Name))
	}
	var list []*replay.Chart
	have := make(map[string]bool)
	for _, name := range names {
		c := g.Chart(events.Token(name))
		if c == nil {
			return nil, faultf(notFound, "game %s has no chart %q, only %s", g.ID, name, strings.Join(known, ", "))
		}
		if have[name] {
			return nil, faultf(invalid, "chart %q is named twice", name)
		}
		have[name] = true
		list = append(list, c)
	}
	if len(list) < 2 {
		return nil, faultf(invalid, "charts: name at least two of %s", strings.Join(known, ", "))
	}
	return list, nil
}

// agreementJSON is what the command agree gives.
type agreementJSON struct {
	Game     events.Token `json:"game"`
	Digest   string       `json:"digest"`
	Invented bool         `json:"invented,omitempty"`
	*audit.Agreement
}

// getAgreement lays charts beside each other: ?charts=a,b[,c].
func (s *Server) getAgreement(w http.ResponseWriter, r *http.Request) {
	g, err := s.askedGame(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	agreed, err := s.agree(g, words(r.URL.Query().Get("charts")), audit.Options{})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, agreementJSON{g.ID, g.Digest, g.Info.Invented, agreed})
}

func (s *Server) agree(g *replay.Game, names []string, o audit.Options) (*audit.Agreement, error) {
	charts, err := chartsAsked(g, names)
	if err != nil {
		return nil, err
	}
	key := fmt.Sprintf("agree %s %q %+v", g.Digest, names, o)
	return workOut(s.audits, key, func() (*audit.Agreement, error) { return audit.Agree(charts, o), nil })
}

// trainingJSON is what the command train gives, and of which charts.
type trainingJSON struct {
	Game    events.Token `json:"game"`
	Digest  string       `json:"digest"`
	Chart   events.Token `json:"chart"`
	Against events.Token `json:"against"`
	*audit.Training
}

// getTraining holds a learner's chart against a settled one: ?chart= and
// ?against=, which defaults to the chart of record.
func (s *Server) getTraining(w http.ResponseWriter, r *http.Request) {
	g, err := s.askedGame(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	learner, against := r.URL.Query().Get("chart"), r.URL.Query().Get("against")
	if against == "" {
		against = string(g.Record)
	}
	if learner == against {
		s.fail(w, r, faultf(invalid, "chart %q is the one it would be held against; name another", learner))
		return
	}
	charts, err := chartsAsked(g, []string{learner, against})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	t, err := workOut(s.audits, fmt.Sprintf("train %s %q %q", g.Digest, learner, against), func() (*audit.Training, error) {
		return audit.Train(charts[0], charts[1], audit.Options{}), nil
	})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, trainingJSON{g.ID, g.Digest, charts[0].Name, charts[1].Name, t})
}

// getCharters follows everybody who charted, over the games that the visitor
// sees, as the command charters does.
func (s *Server) getCharters(w http.ResponseWriter, r *http.Request) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return
	}
	games := seen(s.desk.season().Games, visitorOf(r.Context()))
	digests := make(map[events.Token]string, len(games))
	for _, g := range games {
		digests[g.ID] = g.Digest
	}
	digest := events.Digests(digests)
	reports, err := workOut(s.audits, "charters "+digest, func() ([]audit.CharterReport, error) {
		return audit.Charters(games, audit.Options{}), nil
	})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, map[string]any{"digest": digest, "games": len(games), "charters": reports})
}
