package web

import (
	"net/http"

	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// auditRow is one game in the list: whether its charts can be trusted, at a
// glance.
type auditRow struct {
	Game        events.Token `json:"game"`
	Digest      string       `json:"digest"`
	Date        string       `json:"date,omitempty"`
	Competition events.Token `json:"competition,omitempty"`
	Home        string       `json:"home"`
	Away        string       `json:"away"`
	Invented    bool         `json:"invented,omitempty"`
	Record      events.Token `json:"record"`
	Charts      []auditChart `json:"charts"`
}

// auditChart is one chart of it.
type auditChart struct {
	Chart     events.Token            `json:"chart"`
	Charters  []events.Token          `json:"charters"`
	Holds     string                  `json:"holds"`
	Closed    bool                    `json:"closed"`
	Chances   int                     `json:"chances"`
	Actions   int                     `json:"actions"`
	Counts    map[replay.Severity]int `json:"counts"`
	Gravest   string                  `json:"gravest,omitempty"` // the first finding, in words
	Coverage  audit.Coverage          `json:"coverage"`
	Totals    string                  `json:"totals"` // agree, differ or none
	Differing []string                `json:"differing,omitempty"`
	NoTotals  string                  `json:"no_totals,omitempty"`
}

func (s *Server) getAudits(w http.ResponseWriter, r *http.Request) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return
	}
	games := []*auditRow{}
	for _, g := range seen(s.desk.season().Games, visitorOf(r.Context())) {
		games = append(games, s.audits.row(g.ID, g.Digest, func() *auditRow { return rowOf(g, s.review(g)) }))
	}
	s.answer(w, r, map[string]any{"games": games})
}

// review audits all charts of a game, as the command audit does.
func (s *Server) review(g *replay.Game) *audit.GameReport {
	return audit.ReviewGame(g, g.Charts, audit.Limits{})
}

func rowOf(g *replay.Game, report *audit.GameReport) *auditRow {
	row := &auditRow{
		Game: g.ID, Digest: g.Digest, Date: g.Info.Date, Competition: g.Info.Competition, Home: nameOf(g.Info.Home), Away: nameOf(g.Info.Away),
		Invented: g.Info.Invented, Record: g.Record, Charts: make([]auditChart, len(g.Charts)),
	}
	for i, c := range g.Charts {
		row.Charts[i] = chartRow(c, report.Charts[i])
	}
	return row
}

func chartRow(c *replay.Chart, report *audit.Report) auditChart {
	row := auditChart{
		Chart: c.Name, Charters: []events.Token{}, Holds: report.Holds, Closed: report.Closed, Chances: len(c.Chances), Actions: len(c.Actions),
		Counts: report.Counts, Coverage: report.Coverage, Totals: "none", NoTotals: report.NoTotals,
	}
	for _, who := range c.Charters {
		row.Charters = append(row.Charters, who.Charter)
	}
	if len(report.Findings) > 0 {
		row.Gravest = report.Findings[0].Text
	}
	if t := report.Totals; t != nil {
		row.Totals = "differ"
		if t.Agrees {
			row.Totals = "agree"
		}
		row.Differing = t.Differing()
	}
	return row
}

// getAudit gives what the command audit gives, for every chart of the game.
func (s *Server) getAudit(w http.ResponseWriter, r *http.Request) {
	g, err := s.askedGame(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	report, err := workOut(s.audits, "review "+g.Digest, func() (*audit.GameReport, error) { return s.review(g), nil })
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, report)
}
