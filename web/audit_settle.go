package web

import (
	"fmt"
	"net/http"

	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/web/stamp"
)

// settleAsk names what is settled: charts of a game, on one of them, as the
// stop rates of everybody or of one player tell.
type settleAsk struct {
	Charts []string      `json:"charts"`
	Base   events.Token  `json:"base"`
	Player events.Token  `json:"player,omitempty"`
	Choose audit.Choices `json:"choices,omitempty"`
}

// settlingJSON is what the command settle gives, the definition it rests on, and
// where each disagreement is on film.
type settlingJSON struct {
	Game          events.Token                  `json:"game"`
	Digest        string                        `json:"digest"`
	Definition    string                        `json:"definition"`
	Hash          string                        `json:"hash"`
	Base          events.Token                  `json:"base"`
	Player        events.Token                  `json:"player,omitempty"`
	Invented      bool                          `json:"invented,omitempty"`
	Moves         []audit.Move                  `json:"moves"`
	Disagreements []audit.Disagreement          `json:"disagreements"`
	Film          map[events.ID]*evidence.Shown `json:"film"`    // by disagreement
	NoFilm        string                        `json:"no_film"` // why the first of the others is on none
}

// getSettling orders disagreements by how far each moves the stop rates under
// the definition in force: ?charts=a,b, ?base=a, ?player=, ?definition=.
func (s *Server) getSettling(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	ask := settleAsk{Charts: words(q.Get("charts")), Base: events.Token(q.Get("base")), Player: events.Token(q.Get("player"))}
	g, settling, d, err := s.settling(r, ask)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	key := fmt.Sprintf("weigh %s %q %s %s %s", g.Digest, ask.Charts, ask.Base, ask.Player, d.Hash())
	moves, err := workOut(s.audits, key, func() ([]audit.Move, error) { return settling.Weigh(audit.StopRates(d, ask.Player)) })
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out := settlingJSON{
		Game: g.ID, Digest: g.Digest, Definition: d.Name, Hash: d.Hash(), Base: ask.Base, Player: ask.Player, Invented: g.Info.Invented,
		Moves: moves, Disagreements: settling.Disagreements,
	}
	out.Film, out.NoFilm = onFilm(g, settling.Disagreements)
	s.answer(w, r, out)
}

// settling begins to settle what was asked.
func (s *Server) settling(r *http.Request, ask settleAsk) (*replay.Game, *audit.Settling, *definition.Definition, error) {
	g, err := s.askedGame(r)
	if err != nil {
		return nil, nil, nil, err
	}
	d, err := s.definitionAsked(r, r.URL.Query().Get("definition"))
	if err != nil {
		return nil, nil, nil, err
	}
	agreed, err := s.agree(g, ask.Charts, audit.Options{Resamples: -1})
	if err != nil {
		return nil, nil, nil, err
	}
	if !agreed.Comparable {
		return nil, nil, nil, faultf(invalid, "the charts cannot be settled: %s", agreed.Why)
	}
	settling, err := agreed.Settle(ask.Base)
	if err != nil {
		return nil, nil, nil, faultf(invalid, "%v", err)
	}
	return g, settling, d, nil
}

// onFilm finds disagreements on film: in the first chart that has them and whose
// film shows them.
func onFilm(g *replay.Game, list []audit.Disagreement) (map[events.ID]*evidence.Shown, string) {
	films := make(map[events.Token]evidence.Films)
	for _, c := range g.Charts {
		films[c.Name] = evidence.FilmsOf(c)
	}
	out, why := make(map[events.ID]*evidence.Shown), ""
	for _, d := range list {
		for _, v := range d.Versions {
			if !v.Seen || out[d.ID] != nil {
				continue
			}
			shown, err := films[v.Chart].At(events.When{Period: v.Place.Period, Clock: v.Place.Clock, Film: v.Place.Film})
			if err != nil {
				if why == "" {
					why = err.Error()
				}
				continue
			}
			out[d.ID] = shown
		}
	}
	return out, why
}

// postEffect says how far choices together move the rates; it changes nothing.
func (s *Server) postEffect(w http.ResponseWriter, r *http.Request) {
	if v := visitorOf(r.Context()); v.scoped() && !v.sees(events.Token(r.PathValue("game"))) {
		s.fail(w, r, faultf(forbidden, "your pass is for other games; ask for one that opens this"))
		return
	}
	var ask settleAsk
	if err := readJSON(r, &ask); err != nil {
		s.fail(w, r, err)
		return
	}
	_, settling, d, err := s.settling(r, ask)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	changes, err := settling.Effect(ask.Choose, audit.StopRates(d, ask.Player))
	if err != nil {
		s.fail(w, r, faultf(invalid, "%v", err))
		return
	}
	s.answer(w, r, map[string]any{"definition": d.Name, "hash": d.Hash(), "choices": len(ask.Choose), "changes": changes})
}

// settledSays is a settled chart to be written.
type settledSays struct {
	settleAsk
	Name  events.Token `json:"name"`
	By    events.Token `json:"by"`
	Adopt bool         `json:"adopt"`
}

// postSettled writes a settled chart as a new chart of the game.
func (s *Server) postSettled(w http.ResponseWriter, r *http.Request) {
	var in settledSays
	if err := readJSON(r, &in); err != nil {
		s.fail(w, r, err)
		return
	}
	switch {
	case !in.Name.Valid():
		s.fail(w, r, &fault{Kind: invalid, Field: "name", Reason: fmt.Sprintf("%q is no name of a chart: want 1 to 63 of a-z, 0-9 and -", in.Name)})
		return
	case !in.By.Valid():
		s.fail(w, r, &fault{Kind: invalid, Field: "by", Reason: fmt.Sprintf("%q is nobody's id: want 1 to 63 of a-z, 0-9 and -", in.By)})
		return
	case in.Adopt && visitorOf(r.Context()).pass.Role < analyst:
		s.fail(w, r, faultf(forbidden, "which chart is of record is for an analyst to say; write the chart without adopting it"))
		return
	}
	s.audits.writing.Lock()
	defer s.audits.writing.Unlock()
	g, settling, _, err := s.settling(r, in.settleAsk)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if g.Chart(in.Name) != nil {
		s.fail(w, r, &fault{Kind: invalid, Field: "name", Reason: fmt.Sprintf("the game has a chart %q already; give the settled one another name", in.Name)})
		return
	}
	writing := audit.Writing{By: string(in.By)}
	if in.Adopt {
		writing.Adopt = in.Name
	}
	list, err := settling.Events(in.Choose, stamp.New(g.ID, in.Name, in.By, "settle"), writing)
	if err != nil {
		s.fail(w, r, faultf(invalid, "%v", err))
		return
	}
	if err := s.chart(r.Context(), list); err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, map[string]any{"chart": in.Name, "events": len(list), "settled": len(in.Choose), "adopted": in.Adopt})
}
