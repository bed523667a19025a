package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"stopledger/events"
	"stopledger/metrics/definition"
)

// boardPlayer is somebody a Board can be opened for.
type boardPlayer struct {
	ID      events.Token `json:"id"`
	Team    events.Token `json:"team,omitempty"`
	Number  string       `json:"number,omitempty"`
	Role    events.Role  `json:"role,omitempty"`
	Actions int          `json:"actions"`
	Chances int          `json:"chances"`
	Games   int          `json:"games"`
}

// boardJSON is what a Board begins with: who is there, and what can be asked.
type boardJSON struct {
	source
	Teams   map[events.Token]string `json:"teams"`
	Players []boardPlayer           `json:"players"`
	Choices map[string][]string     `json:"choices"` // values that the filters may take
	Played  []boardGame             `json:"played"`
}

// boardGame is a game that a filter may name.
type boardGame struct {
	ID    events.Token `json:"id"`
	Date  string       `json:"date,omitempty"`
	Home  string       `json:"home"`
	Away  string       `json:"away"`
	Rules string       `json:"rules,omitempty"`
}

func (s *Server) getBoard(w http.ResponseWriter, r *http.Request) {
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
	out := boardJSON{source: a.source(), Teams: map[events.Token]string{}, Choices: map[string][]string{}, Played: []boardGame{}}
	known := map[events.Token]*boardPlayer{}
	for _, g := range whole.Games {
		info := g.Info
		if c := g.OfRecord(); c != nil {
			info = c.Info
		}
		for _, t := range []events.Team{info.Home, info.Away} {
			if t.ID != "" {
				out.Teams[t.ID] = t.Name
			}
		}
		for _, p := range g.Info.Players {
			known[p.ID] = &boardPlayer{ID: p.ID, Team: p.Team, Number: p.Number, Role: p.Role}
		}
		out.Played = append(out.Played, boardGame{g.ID, info.Date, nameOf(info.Home), nameOf(info.Away), string(info.Rules.Name)})
	}
	t, err := definition.Tally(a.definition, a.view.Columns, []string{"defender"})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for _, g := range t.Groups {
		if p := known[events.Token(g.Key[0])]; p != nil {
			p.Actions, p.Chances, p.Games = g.Actions, g.Chances, g.Games
		}
	}
	out.Players = make([]boardPlayer, 0, len(known))
	for _, p := range known {
		out.Players = append(out.Players, *p)
	}
	slices.SortFunc(out.Players, func(a, b boardPlayer) int { return strings.Compare(string(a.ID), string(b.ID)) })
	for _, f := range filterFields {
		out.Choices[f.name] = choicesOf(whole.Columns, f.field)
	}
	s.answer(w, r, out)
}

func nameOf(t events.Team) string {
	if t.Name != "" {
		return t.Name
	}
	return string(t.ID)
}

// What the server says to a board over /ws/board: where the ledger is, first,
// and again whenever a game moved or another definition came into force. A board
// then asks for what it shows.
type boardSays struct {
	Op       string         `json:"op"` // "moved"
	Position uint64         `json:"position"`
	Games    []events.Token `json:"games"` // that changed since
}

func (s *Server) boardSocket(w http.ResponseWriter, r *http.Request) {
	k, leave, ok := s.upgrade(w, r)
	if !ok {
		return
	}
	defer leave()
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	go func() { defer stop(); s.tellBoard(ctx, k) }()
	go func() { <-ctx.Done(); k.close(why(r.Context())) }()
	for { // a board has nothing to say; reading notices when it leaves
		var nothing struct{}
		if k.read(ctx, &nothing) != nil {
			return
		}
	}
}

// boardPause is how long news is gathered before a board hears of it: a charter
// sends an action and its chance's end within a moment of each other.
const boardPause = 120 * time.Millisecond

func (s *Server) tellBoard(ctx context.Context, k *socket) {
	watch, leave := s.desk.watchBoard()
	defer leave()
	tick := time.NewTicker(pingEvery)
	defer tick.Stop()
	err := k.write(boardSays{Op: "moved", Position: uint64(s.desk.position()), Games: []events.Token{}})
	for err == nil {
		select {
		case <-ctx.Done():
			return
		case <-watch.nudge:
			select {
			case <-ctx.Done():
				return
			case <-time.After(boardPause):
			}
			changed := slices.DeleteFunc(s.desk.changes(watch), func(g events.Token) bool {
				v := visitorOf(ctx)
				return v.scoped() && !v.sees(g)
			})
			slices.Sort(changed)
			err = k.write(boardSays{Op: "moved", Position: uint64(s.desk.position()), Games: changed})
		case <-tick.C:
			err = k.ping()
		}
	}
}
