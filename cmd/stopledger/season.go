package main

import (
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
	"stopledger/replay/shelf"
)

// season is a ledger folded into columns, and what to say of it.
type season struct {
	columns  *replay.Columns
	digest   string       // of the whole ledger
	position bus.Position // how far the ledger was read
	events   int          // stored, repeats included
	invented bool
	bad      int // lines that are no events
}

// season folds the ledger, or takes from the shelf beside it the games that
// have no newer events.
func (a *app) season(ctx context.Context, l *bus.Ledger) (*season, error) {
	who, err := people(ctx, l)
	if err != nil {
		return nil, err
	}
	s := &season{}
	if s.position, err = l.Last(ctx); err != nil {
		return nil, fmt.Errorf("look at %s: %w", l, err)
	}
	var parts []*replay.Columns
	if info, statErr := os.Stat(a.ledger); statErr == nil && info.IsDir() && a.asOf == "" {
		parts, err = a.fromShelf(ctx, l, shelf.In(filepath.Join(a.ledger, "columns")), s)
	} else {
		parts, err = a.foldEverything(ctx, l, s, nil)
	}
	if err != nil {
		return nil, err
	}
	s.columns = replay.Join(parts, who)
	digests := make(map[events.Token]string, len(s.columns.GameIDs))
	for i, id := range s.columns.GameIDs {
		digests[id] = s.columns.Digests[i]
	}
	s.digest = events.Digests(digests)
	s.invented = anyInvented(s.columns)
	if s.bad > 0 {
		fmt.Fprintf(a.errs, "%d entries of %s are no events and were passed over; verify says where\n", s.bad, l)
	}
	return s, nil
}

// foldEverything reads the whole ledger once. keep, if not nil, is called with
// every game's columns.
func (a *app) foldEverything(ctx context.Context, l *bus.Ledger, s *season, keep func(*replay.Game, *replay.Columns)) ([]*replay.Columns, error) {
	p := a.progress("events read")
	folded, err := replay.Fold(counted(a.warnings(a.read(ctx, l), &s.bad), &s.events, p))
	p.done()
	if err != nil {
		return nil, err
	}
	parts := make([]*replay.Columns, len(folded.Games))
	for i, g := range folded.Games {
		parts[i] = replay.GameColumns(g)
		if keep != nil {
			keep(g, parts[i])
		}
	}
	return parts, nil
}

// fromShelf takes what it can from the shelf and folds the rest. Where most
// games are missing it reads the ledger through once instead.
func (a *app) fromShelf(ctx context.Context, l *bus.Ledger, on shelf.Shelf, s *season) ([]*replay.Columns, error) {
	games, err := l.Games(ctx)
	if err != nil {
		return nil, fmt.Errorf("list the games of %s: %w", l, err)
	}
	origin, err := originOf(ctx, l)
	if err != nil {
		return nil, err
	}
	ids := slices.Sorted(maps.Keys(games))
	parts := make([]*replay.Columns, len(ids))
	missing := a.takeDown(on, origin, games, ids, parts)
	put := func(id events.Token, cols *replay.Columns) {
		if err := on.Put(id, shelf.Stamp(origin, games[id].Charts), cols); err != nil {
			a.log.Debug().Err(err).Msg("not kept")
		}
	}
	if 4*len(missing) > len(ids) {
		return a.foldEverything(ctx, l, s, func(g *replay.Game, cols *replay.Columns) { put(g.ID, cols) })
	}
	for _, id := range ids {
		s.events += games[id].Events
	}
	for _, i := range missing {
		n := 0
		folded, err := replay.Fold(a.warnings(counted(l.ReadGame(ctx, ids[i]), &n, a.progress("")), &s.bad))
		if err != nil {
			return nil, err
		}
		for _, g := range folded.Games {
			parts[i] = replay.GameColumns(g)
			put(ids[i], parts[i])
		}
	}
	return parts, nil
}

// takeDown fills parts from the shelf and returns the indexes it could not.
func (a *app) takeDown(on shelf.Shelf, origin string, games map[events.Token]bus.Tally, ids []events.Token, parts []*replay.Columns) (missing []int) {
	var wg sync.WaitGroup
	work := make(chan int)
	for range 2 {
		wg.Go(func() {
			for i := range work {
				if cols, ok := on.Get(ids[i], shelf.Stamp(origin, games[ids[i]].Charts)); ok {
					parts[i] = cols
				}
			}
		})
	}
	for i := range ids {
		work <- i
	}
	close(work)
	wg.Wait()
	for i, p := range parts {
		if p == nil {
			missing = append(missing, i)
		}
	}
	return missing
}

// originOf tells one ledger from another by its first event and when it was
// stored.
func originOf(ctx context.Context, l *bus.Ledger) (string, error) {
	for entry, err := range l.Entries(ctx, 0) {
		if err != nil && entry.Position == 0 {
			return "", fmt.Errorf("look at %s: %w", l, err)
		}
		return fmt.Sprintf("%s@%s", entry.Event.ID, entry.Stored.UTC().Format(time.RFC3339Nano)), nil
	}
	return "empty", nil
}

func anyInvented(c *replay.Columns) bool {
	invented := c.Games.Column("game.invented")
	for row := range c.Games.Rows {
		if invented.Numbers[invented.Code(row)] == 1 {
			return true
		}
	}
	return false
}
