package web

import (
	"context"
	"maps"
	"net/http"
	"sync"
	"time"

	"stopledger/events"
	"stopledger/replay"
)

// boardBook keeps every game's tallies, so that a chance charted counts one
// game anew and not the season.
type boardBook struct {
	mu    sync.Mutex
	games map[events.Token]gameTally
}

type gameTally struct {
	digest   string
	cells    map[cell]tally
	ever     map[events.Token]bool // players who have or had a row of this game
	players  map[events.Token]events.Player
	teams    map[events.Token]string
	invented bool
}

// update counts a game anew if it changed, and returns the players whose rows
// it may have moved: those with a row, and those whose last action was voided.
func (b *boardBook) update(g *replay.Game) map[events.Token]bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	old := b.games[g.ID]
	if old.digest == g.Digest {
		return old.ever
	}
	next := gameTally{
		digest: g.Digest, cells: tallyGame(g), invented: g.Info.Invented,
		players: make(map[events.Token]events.Player), teams: make(map[events.Token]string),
	}
	for _, p := range g.Info.Players {
		next.players[p.ID] = p
	}
	for _, t := range []events.Team{g.Info.Home, g.Info.Away} {
		next.teams[t.ID] = t.Name
	}
	next.ever = maps.Clone(old.ever)
	if next.ever == nil {
		next.ever = make(map[events.Token]bool)
	}
	for k := range next.cells {
		next.ever[k.player] = true
	}
	b.games[g.ID] = next
	return next.ever
}

// boardPlayer is one player with all his rows.
type boardPlayer struct {
	ID     events.Token `json:"id"`
	Team   events.Token `json:"team,omitempty"`
	Number string       `json:"number,omitempty"`
	Role   events.Role  `json:"role,omitempty"`
	Rows   []boardRow   `json:"rows"`
}

// players gives the rows of those players, or of everybody, over the games the
// reader sees.
func (b *boardBook) players(only map[events.Token]bool, sees func(events.Token) bool) []boardPlayer {
	b.mu.Lock()
	defer b.mu.Unlock()
	sums := make(map[cell]tally)
	about := make(map[events.Token]events.Player)
	for id, g := range b.games {
		if !sees(id) {
			continue
		}
		for k, t := range g.cells {
			if only == nil || only[k.player] {
				sum := sums[k]
				sum.add(t)
				sums[k] = sum
				about[k.player] = g.players[k.player]
			}
		}
	}
	rows := make([]boardRow, 0, len(sums))
	for k, t := range sums {
		rows = append(rows, rowOf(k, t))
	}
	sortRows(rows)
	return byPlayer(rows, about, only)
}

func byPlayer(rows []boardRow, about map[events.Token]events.Player, only map[events.Token]bool) []boardPlayer {
	out := []boardPlayer{}
	have := make(map[events.Token]bool)
	for _, row := range rows {
		if n := len(out); n == 0 || out[n-1].ID != row.Player {
			p := about[row.Player]
			out = append(out, boardPlayer{ID: row.Player, Team: p.Team, Number: p.Number, Role: p.Role})
			have[row.Player] = true
		}
		last := &out[len(out)-1]
		last.Rows = append(last.Rows, row)
	}
	for id := range only { // his last row is gone: say so
		if !have[id] {
			out = append(out, boardPlayer{ID: id, Rows: []boardRow{}})
		}
	}
	return out
}

func (b *boardBook) about(sees func(events.Token) bool) (teams map[events.Token]string, invented bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	teams = make(map[events.Token]string)
	for id, g := range b.games {
		if !sees(id) {
			continue
		}
		invented = invented || g.invented
		for id, name := range g.teams {
			teams[id] = name
		}
	}
	return teams, invented
}

// What the server says to a board over /ws/board:
//
//	{"op":"board", definition, teams, games, players}  first, everything
//	{"op":"changed", "game","digest","events"}          a game moved
//	{"op":"players", "players":[…]}                     new rows of those players
type boardSays struct {
	Op         string                  `json:"op"`
	Definition string                  `json:"definition,omitempty"`
	Teams      map[events.Token]string `json:"teams,omitempty"`
	Games      int                     `json:"games,omitempty"`
	Invented   bool                    `json:"invented,omitempty"`
	Game       events.Token            `json:"game,omitempty"`
	Digest     string                  `json:"digest,omitempty"`
	Events     int                     `json:"events,omitempty"`
	Players    []boardPlayer           `json:"players,omitempty"`
}

func (s *Server) wholeBoard(v visitor) boardSays {
	games := 0
	for _, g := range s.desk.season().Games {
		s.book.update(g)
		if v.sees(g.ID) {
			games++
		}
	}
	teams, invented := s.book.about(v.sees)
	return boardSays{
		Op: "board", Definition: "ball-won", Teams: teams, Games: games,
		Invented: invented, Players: s.book.players(nil, v.sees),
	}
}

func (s *Server) getBoard(w http.ResponseWriter, r *http.Request) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, s.wholeBoard(visitorOf(r.Context())))
}

func (s *Server) boardSocket(w http.ResponseWriter, r *http.Request) {
	k, leave, ok := s.upgrade(w, r)
	if !ok {
		return
	}
	defer leave()
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	go func() { defer stop(); s.tellBoard(ctx, k, visitorOf(ctx)) }()
	go func() { <-ctx.Done(); k.close(why(ctx)) }()
	for { // a board has nothing to say; reading notices when it leaves
		var nothing struct{}
		if k.read(ctx, &nothing) != nil {
			return
		}
	}
}

func (s *Server) tellBoard(ctx context.Context, k *socket, v visitor) {
	watch, leave := s.desk.watchBoard()
	defer leave()
	tick := time.NewTicker(pingEvery)
	defer tick.Stop()
	err := k.write(s.wholeBoard(v))
	for err == nil {
		select {
		case <-ctx.Done():
			return
		case <-watch.nudge:
			err = s.sendChanges(k, watch, v)
		case <-tick.C:
			err = k.ping()
		}
	}
}

func (s *Server) sendChanges(k *socket, watch *boardWatch, v visitor) error {
	touched := make(map[events.Token]bool)
	for _, id := range s.desk.changes(watch) {
		g := s.desk.game(id)
		if g == nil || !v.sees(id) {
			continue
		}
		maps.Copy(touched, s.book.update(g))
		if err := k.write(boardSays{Op: "changed", Game: g.ID, Digest: g.Digest, Events: g.Events}); err != nil {
			return err
		}
	}
	if len(touched) == 0 {
		return nil
	}
	return k.write(boardSays{Op: "players", Players: s.book.players(touched, v.sees)})
}
