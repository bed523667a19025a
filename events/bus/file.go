package bus

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"

	"stopledger/events"
)

// file is a .jsonl ledger: read-only, read anew each time. A position is the
// line's place among the lines that are not empty.
type file struct{ path string }

func openFile(path string) (*Ledger, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("open ledger %s: %w: no such file; a ledger that is to be written is a directory", path, ErrNotFound)
	}
	if err != nil {
		return nil, fmt.Errorf("open ledger: %w", err)
	}
	f.Close()
	return &Ledger{where: path, readOnly: true, log: file{path}, close: func() {}}, nil
}

func (f file) entries(ctx context.Context, q query) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		in, err := os.Open(f.path)
		if err != nil {
			yield(Entry{}, fmt.Errorf("read ledger: %w", err))
			return
		}
		defer in.Close()
		var at Position
		for e, err := range events.ReadLines(in) {
			if at++; ctx.Err() != nil {
				yield(Entry{}, fmt.Errorf("read %s: %w", f.path, context.Cause(ctx)))
				return
			}
			if at <= q.after || err == nil && q.game != "" && e.Game != q.game {
				continue
			}
			if !yield(Entry{Position: at, Event: e}, err) || at == q.until {
				return
			}
		}
		if q.until == 0 {
			<-ctx.Done() // a file does not grow; who follows waits for nothing
		}
	}
}

func (f file) last(ctx context.Context) (Position, error) {
	var last Position
	for e, err := range f.entries(ctx, query{until: endOfFile}) {
		var bad *events.LineError
		if err != nil && !errors.As(err, &bad) {
			return 0, err
		}
		last = e.Position
	}
	return last, nil
}

func (f file) end(context.Context) (Position, error) { return endOfFile, nil }

// endOfFile is an end beyond any file's.
const endOfFile = Position(1<<63 - 1)

func (f file) games(ctx context.Context) (map[events.Token]Tally, error) {
	games := make(map[events.Token]Tally)
	for e, err := range f.entries(ctx, query{until: endOfFile}) {
		var bad *events.LineError
		switch {
		case errors.As(err, &bad):
		case err != nil:
			return nil, err
		default:
			t := games[e.Event.Game]
			t.add(e.Event.Chart, e.Event.Pad, 1)
			games[e.Event.Game] = t
		}
	}
	return games, nil
}

func (f file) append(context.Context, *events.Event) (Position, error) { return 0, ErrReadOnly }

func (f file) load(context.Context, iter.Seq2[events.Event, error], func(LoadReport)) (LoadReport, error) {
	return LoadReport{}, ErrReadOnly
}
