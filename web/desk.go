package web

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
)

// desk holds what was read of the ledger and tells pads and boards what is
// new. Readers keep a place of their own in a chart's list and are only nudged,
// so a slow one costs nothing but its own delay.
type desk struct {
	mu     sync.Mutex
	live   *replay.Live
	charts map[chartKey]*sheet
	sums   map[events.ID]events.Sum
	boards map[*boardWatch]struct{}
	at     bus.Position
	ready  bool
}

type chartKey struct{ game, chart events.Token }

// sheet is the events of one chart as they came, and who looks at it.
type sheet struct {
	list  []bus.Entry
	nudge map[chan struct{}]struct{}
}

// boardWatch is one board's collection of games that changed since it looked.
type boardWatch struct {
	nudge   chan struct{}
	changed map[events.Token]struct{}
}

func newDesk() *desk {
	return &desk{
		live:   replay.NewLive(),
		charts: make(map[chartKey]*sheet),
		sums:   make(map[events.ID]events.Sum),
		boards: make(map[*boardWatch]struct{}),
	}
}

// Follow reads the ledger from its start and goes on until ctx ends.
func (s *Server) Follow(ctx context.Context) error {
	last, err := s.ledger.Last(ctx)
	if err != nil {
		return fmt.Errorf("ask the ledger for its newest event: %w", err)
	}
	s.desk.reached(0, last)
	go s.warm(ctx)
	for entry, err := range s.ledger.Follow(ctx, 0) {
		var line *events.LineError
		switch {
		case errors.As(err, &line):
			s.log.Warn().Err(err).Msg("passed over in the ledger")
		case err != nil && ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			return fmt.Errorf("follow the ledger: %w", err)
		default:
			s.desk.take(entry)
		}
		s.desk.reached(entry.Position, last)
	}
	return ctx.Err()
}

// reached opens the desk once everything that was there at the start is read.
func (d *desk) reached(at, last bus.Position) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.ready = d.ready || at >= last
}

// take files one event and nudges whoever looks at its chart or its game.
func (d *desk) take(s bus.Entry) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.at = max(d.at, s.Position)
	sum := s.Event.Sum()
	if old, ok := d.sums[s.Event.ID]; ok && old == sum {
		return
	}
	d.sums[s.Event.ID] = sum
	sh := d.sheet(chartKey{s.Event.Game, s.Event.Chart})
	sh.list = append(sh.list, s)
	for c := range sh.nudge {
		poke(c)
	}
	if !d.live.Add(s.Event) {
		return
	}
	for b := range d.boards {
		b.changed[s.Event.Game] = struct{}{}
		poke(b.nudge)
	}
}

func poke(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

func (d *desk) sheet(k chartKey) *sheet {
	sh, ok := d.charts[k]
	if !ok {
		sh = &sheet{nudge: make(map[chan struct{}]struct{})}
		d.charts[k] = sh
	}
	return sh
}

// has reports whether this very event was read already: then appending it
// again would only lengthen the ledger.
func (d *desk) has(e *events.Event) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	sum, ok := d.sums[e.ID]
	return ok && sum == e.Sum()
}

// open reports whether the ledger has been read to where it stood at the start.
func (d *desk) open() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.ready {
		return faultf(unavailable, "the ledger is still being read; try again in a moment")
	}
	return nil
}

// behind returns a chart's events behind a position, and the position of the
// last event read.
func (d *desk) behind(k chartKey, after bus.Position) ([]bus.Entry, bus.Position) {
	d.mu.Lock()
	defer d.mu.Unlock()
	sh, ok := d.charts[k]
	if !ok {
		return nil, d.at
	}
	list := sh.list
	i := len(list)
	for i > 0 && list[i-1].Position > after {
		i--
	}
	return list[i:len(list):len(list)], d.at
}

// watchChart nudges the channel whenever the chart has news, until the
// returned function is called.
func (d *desk) watchChart(k chartKey) (nudge chan struct{}, leave func()) {
	d.mu.Lock()
	defer d.mu.Unlock()
	nudge = make(chan struct{}, 1)
	sh := d.sheet(k)
	sh.nudge[nudge] = struct{}{}
	return nudge, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		delete(sh.nudge, nudge)
		if len(sh.list) == 0 && len(sh.nudge) == 0 {
			delete(d.charts, k)
		}
	}
}

func (d *desk) watchBoard() (*boardWatch, func()) {
	d.mu.Lock()
	defer d.mu.Unlock()
	b := &boardWatch{nudge: make(chan struct{}, 1), changed: make(map[events.Token]struct{})}
	d.boards[b] = struct{}{}
	return b, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		delete(d.boards, b)
	}
}

// changes hands over the games that changed since the last call.
func (d *desk) changes(b *boardWatch) []events.Token {
	d.mu.Lock()
	defer d.mu.Unlock()
	games := make([]events.Token, 0, len(b.changed))
	for g := range b.changed {
		games = append(games, g)
	}
	clear(b.changed)
	return games
}

// game folds one game as it stands, nil for one never heard of.
func (d *desk) game(id events.Token) *replay.Game {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.live.Game(id)
}

// season folds whatever changed and returns every game.
func (d *desk) season() *replay.Season {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.live.Season()
}
