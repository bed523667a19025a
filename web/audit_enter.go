package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
	"stopledger/web/stamp"
)

// chart puts events of one new pad onto its chart, through the same gate that
// pads go through, and returns once the pages see them. It goes on though the
// one who asked hangs up: half a settled chart helps nobody.
func (s *Server) chart(ctx context.Context, list []events.Event) error {
	ctx = context.WithoutCancel(ctx)
	key := chartKey{list[0].Game, list[0].Chart}
	seat, leave := s.seats.take(key)
	defer leave()
	line := &padLine{s, seat, make(map[events.Token]int64)}
	var last bus.Position
	for i := range list {
		told := line.judge(ctx, list[i].Raw)
		for try := 1; told.Op == "later" && try < 4; try++ {
			time.Sleep(time.Duration(try) * 100 * time.Millisecond)
			line.held = make(map[events.Token]int64)
			told = line.judge(ctx, list[i].Raw)
		}
		switch {
		case told.Op == "safe":
			last = max(last, told.At)
		case i == 0:
			return told.Error
		default:
			return &fault{Kind: told.Error.Kind, Reason: fmt.Sprintf(
				"chart %s holds %d of %d events and is not adopted: %s; settle again under another name", key.chart, i, len(list), told.Error.Reason)}
		}
	}
	return s.desk.shows(ctx, last)
}

// shows waits until the ledger was read up to a position. What is stored and not
// read yet is safe all the same.
func (d *desk) shows(ctx context.Context, at bus.Position) error {
	ctx, cancel := context.WithTimeout(ctx, writePatience)
	defer cancel()
	for d.position() < at {
		select {
		case <-ctx.Done():
			return faultf(unavailable, "it is stored, and the pages lag behind; look again in a moment")
		case <-time.After(2 * time.Millisecond):
		}
	}
	return nil
}

// entered is something said on a page about a chart.
type entered struct {
	Chart events.Token `json:"chart"`
	By    events.Token `json:"by"`
}

func (e entered) check(g *replay.Game) error {
	switch {
	case g.Chart(e.Chart) == nil:
		return &fault{Kind: notFound, Field: "chart", Reason: fmt.Sprintf("game %s has no chart %q", g.ID, e.Chart)}
	case !e.By.Valid():
		return &fault{Kind: invalid, Field: "by", Reason: fmt.Sprintf("%q is nobody's id: want 1 to 63 of a-z, 0-9 and -", e.By)}
	}
	return nil
}

// postRecord makes a chart the game's chart of record.
func (s *Server) postRecord(w http.ResponseWriter, r *http.Request) {
	var in entered
	g, err := s.askedGame(r)
	if err == nil {
		err = readJSON(r, &in)
	}
	if err == nil {
		err = in.check(g)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	e, err := stamp.New(g.ID, in.Chart, in.By, "audit").Event(&events.ChartAdopted{Chart: in.Chart})
	if err == nil {
		err = s.chart(r.Context(), []events.Event{e})
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, map[string]any{"record": in.Chart})
}

// postTotals enters official totals, or corrects those that stand.
func (s *Server) postTotals(w http.ResponseWriter, r *http.Request) {
	var in struct {
		entered
		Teams map[events.Token]events.Totals `json:"teams"`
	}
	g, err := s.askedGame(r)
	if err == nil {
		err = readJSON(r, &in)
	}
	if err == nil {
		err = in.check(g)
	}
	if err == nil {
		err = ofTheGame(g, in.Teams)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.audits.writing.Lock()
	defer s.audits.writing.Unlock()
	list, err := s.totals(g, in.entered, in.Teams)
	if err == nil {
		err = s.chart(r.Context(), list)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, map[string]any{"chart": list[0].Chart, "corrected": list[0].Type == "amended"})
}

// ofTheGame refuses totals of teams that do not play in the game, and totals
// that cannot be.
func ofTheGame(g *replay.Game, teams map[events.Token]events.Totals) error {
	if len(teams) == 0 {
		return &fault{Kind: invalid, Field: "teams", Reason: "totals of at least one team are wanted"}
	}
	for team, t := range teams {
		why := ""
		switch {
		case team != g.Info.Home.ID && team != g.Info.Away.ID:
			why = fmt.Sprintf("does not play here; %s and %s do", g.Info.Home.ID, g.Info.Away.ID)
		case t.FGM > t.FGA, t.ThreeM > t.ThreeA, t.FTM > t.FTA:
			why = "made more than were tried"
		case t.ThreeA > t.FGA, t.ThreeM > t.FGM:
			why = "more threes than shots"
		default:
			continue
		}
		return &fault{Kind: invalid, Field: "teams." + string(team), Reason: string(team) + " " + why}
	}
	return nil
}

// totals are the events that make these totals stand: an amendment of what the
// chart, or the first other chart with any, has; else a first entry. Totals by
// player stay as they were.
func (s *Server) totals(g *replay.Game, in entered, teams map[events.Token]events.Totals) ([]events.Event, error) {
	charts := append([]*replay.Chart{g.Chart(in.Chart)}, g.Charts...)
	for _, c := range charts {
		if c.Official == nil {
			continue
		}
		return s.totalsAmended(g, c, in.By, teams)
	}
	e, err := stamp.New(g.ID, in.Chart, in.By, "audit").Event(&events.TotalsEntered{Teams: teams})
	return []events.Event{e}, err
}

func (s *Server) totalsAmended(g *replay.Game, c *replay.Chart, by events.Token, teams map[events.Token]events.Totals) ([]events.Event, error) {
	body, err := json.Marshal(&events.TotalsEntered{Teams: teams, Players: c.Official.Players})
	if err != nil {
		return nil, err
	}
	stored, _ := s.desk.behind(chartKey{g.ID, c.Name}, 0)
	list := make([]events.Event, len(stored))
	for i, e := range stored {
		list[i] = e.Event
	}
	pad := stamp.New(g.ID, c.Name, by, "audit")
	var out []events.Event
	for _, f := range replay.Facts(list) {
		if f.Event.Type != "totals-entered" || f.Voided {
			continue
		}
		e, err := pad.Event(&events.Amended{Target: f.Event.ID, Base: f.Revision, Body: body, Why: "totals corrected"})
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	if len(out) == 0 {
		return nil, faultf(unavailable, "the totals of chart %s are being changed; look again in a moment", c.Name)
	}
	return out, nil
}
