package web

import (
	"net/http"
	"slices"
	"strings"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/replay"
)

// ruleSet is what a page needs of a rule set to run a clock.
type ruleSet struct {
	Name            events.RuleName `json:"name"`
	Periods         int             `json:"periods"`
	Minutes         float64         `json:"minutes"`
	OvertimeMinutes float64         `json:"overtime_minutes"`
}

// getVocabulary gives every word the pages show, straight from the tables.
func (s *Server) getVocabulary(w http.ResponseWriter, r *http.Request) {
	var rules []ruleSet
	for _, name := range events.RuleName("").Words() {
		set, _ := events.RuleSet(events.RuleName(name))
		rules = append(rules, ruleSet{set.Name, set.Periods, set.Minutes, set.OvertimeMinutes})
	}
	s.answer(w, r, map[string]any{
		"version":    events.VocabularyVersion,
		"kinds":      events.Kinds,
		"every_kind": events.EveryKind,
		"details":    events.DetailRows,
		"rules":      rules,
		"words": map[string][]string{
			"reading":     events.Reading("").Words(),
			"role":        events.Role("").Words(),
			"level":       events.Level("").Words(),
			"origin":      events.Origin("").Words(),
			"tempo":       events.Tempo("").Words(),
			"end":         events.End("").Words(),
			"turnover":    events.Turnover("").Words(),
			"side":        events.Side("").Words(),
			"last_shot":   events.LastShot("").Words(),
			"base":        events.Base("").Words(),
			"principle":   events.Principle("").Words(),
			"pressure":    events.Pressure("").Words(),
			"focus":       events.Focus("").Words(),
			"ends":        events.Ends("").Words(),
			"penalty_why": events.PenaltyWhy("").Words(),
		},
	})
}

// courtJSON is a court with its lines and what a spot needs to be judged.
type courtJSON struct {
	court.Court
	Bend      float64       `json:"bend"`      // where the three-point arc meets its straight parts
	Tolerance float64       `json:"tolerance"` // so near the line a spot says nothing
	Shapes    []court.Shape `json:"shapes"`
}

func (s *Server) getCourt(w http.ResponseWriter, r *http.Request) {
	c, err := court.For(r.PathValue("rules"))
	if err != nil {
		s.fail(w, r, faultf(notFound, "%v", err))
		return
	}
	s.answer(w, r, courtJSON{c, c.ArcMeetsStraight(), court.LineTolerance, c.HalfCourt()})
}

// gameJSON is one game as the pages list it.
type gameJSON struct {
	ID       events.Token      `json:"id"`
	Info     events.GameOpened `json:"info"`
	Record   events.Token      `json:"record,omitempty"`
	Digest   string            `json:"digest"`
	Events   int               `json:"events"`
	Charts   []chartJSON       `json:"charts"`
	Findings []replay.Finding  `json:"findings,omitempty"`
}

type chartJSON struct {
	Chart    events.Token         `json:"chart"`
	Scope    events.ChartScoped   `json:"scope"`
	Chances  int                  `json:"chances"`
	Actions  int                  `json:"actions"`
	Closed   bool                 `json:"closed"`
	Charters []events.Token       `json:"charters"`
	Score    map[events.Token]int `json:"score"`
	Period   int                  `json:"period,omitempty"`
	Findings []replay.Finding     `json:"findings,omitempty"`
}

func gameOf(g *replay.Game, whole bool) gameJSON {
	out := gameJSON{ID: g.ID, Info: g.Info, Record: g.Record, Digest: g.Digest, Events: g.Events, Charts: []chartJSON{}}
	if !whole {
		out.Info.Players = nil
	} else {
		out.Findings = g.Findings
	}
	for _, c := range g.Charts {
		cj := chartJSON{
			Chart: c.Name, Scope: c.Scope, Chances: len(c.Chances), Actions: len(c.Actions), Closed: c.Closed,
			Charters: []events.Token{}, Score: c.Now.Score, Period: c.Now.When.Period,
		}
		for _, who := range c.Charters {
			cj.Charters = append(cj.Charters, who.Charter)
		}
		if whole {
			cj.Findings = c.Findings
		}
		out.Charts = append(out.Charts, cj)
	}
	return out
}

func (s *Server) getGames(w http.ResponseWriter, r *http.Request) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return
	}
	games, v := []gameJSON{}, visitorOf(r.Context())
	for _, g := range s.desk.season().Games {
		if !v.sees(g.ID) {
			continue
		}
		games = append(games, gameOf(g, false))
	}
	s.answer(w, r, map[string]any{"games": games})
}

func (s *Server) getGame(w http.ResponseWriter, r *http.Request) {
	g, err := s.askedGame(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, gameOf(g, true))
}

func (s *Server) askedGame(r *http.Request) (*replay.Game, error) {
	if err := s.desk.open(); err != nil {
		return nil, err
	}
	id := events.Token(r.PathValue("game"))
	if !id.Valid() {
		return nil, faultf(invalid, "%q is no game's id", id)
	}
	g := s.desk.game(id)
	if g == nil {
		return nil, faultf(notFound, "the ledger knows no game %q", id)
	}
	return g, nil
}

func (s *Server) getEvents(w http.ResponseWriter, r *http.Request) {
	if _, err := s.askedGame(r); err != nil {
		s.fail(w, r, err)
		return
	}
	list, at := s.desk.behind(chartKey{events.Token(r.PathValue("game")), events.Token(r.PathValue("chart"))}, 0)
	s.answer(w, r, map[string]any{"at": at, "events": storedList(list)})
}

// teamJSON is a team with the roster of its latest game, so that the next game
// opens without typing it again.
type teamJSON struct {
	events.Team
	Players  []events.Player `json:"players"`
	Date     string          `json:"date,omitempty"`
	Games    int             `json:"games"`
	Invented bool            `json:"invented,omitempty"`
	Rules    events.Rules    `json:"rules"`
	Level    events.Level    `json:"level,omitempty"`
}

func (s *Server) getTeams(w http.ResponseWriter, r *http.Request) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return
	}
	teams, v := make(map[events.Token]*teamJSON), visitorOf(r.Context())
	for _, g := range s.desk.season().Games {
		if !v.sees(g.ID) {
			continue
		}
		for _, t := range []events.Team{g.Info.Home, g.Info.Away} {
			if t.ID != "" {
				rosterInto(teams, t, g.Info)
			}
		}
	}
	list := make([]*teamJSON, 0, len(teams))
	for _, t := range teams {
		list = append(list, t)
	}
	slices.SortFunc(list, func(a, b *teamJSON) int { return strings.Compare(string(a.ID), string(b.ID)) })
	s.answer(w, r, map[string]any{"teams": list})
}

func rosterInto(teams map[events.Token]*teamJSON, t events.Team, g events.GameOpened) {
	known, ok := teams[t.ID]
	if !ok {
		known = &teamJSON{Players: []events.Player{}}
		teams[t.ID] = known
	}
	known.Games++
	if ok && g.Date < known.Date {
		return
	}
	known.Team, known.Date, known.Invented, known.Rules, known.Level = t, g.Date, g.Invented, g.Rules, g.Level
	known.Players = known.Players[:0]
	for _, p := range g.Players {
		if p.Team == t.ID {
			known.Players = append(known.Players, p)
		}
	}
}
