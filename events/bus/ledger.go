package bus

import (
	"context"
	"iter"
	"time"

	"stopledger/events"
)

// Position is a place in the ledger, counted from 1 in the order of storing.
// 0 is before the first event. Positions do not change while a ledger is open;
// the repair of a damaged store may give events new ones.
type Position uint64

// Entry is an event where it stands.
type Entry struct {
	Position Position
	Stored   time.Time // the store's clock; zero for a file
	Event    events.Event
}

// Ledger is an open ledger. Its methods may be called from several goroutines.
type Ledger struct {
	where    string
	readOnly bool
	log      source
	close    func()
}

// source is what a ledger is read from, and written to where that is possible.
type source interface {
	// entries yields what stands after q.after. What cannot be read as an event
	// comes as an *events.LineError together with its position.
	entries(ctx context.Context, q query) iter.Seq2[Entry, error]
	last(ctx context.Context) (Position, error)
	// end is a position to read up to: last, or beyond it where last is dear.
	end(ctx context.Context) (Position, error)
	games(ctx context.Context) (map[events.Token]Tally, error)
	append(ctx context.Context, e *events.Event) (Position, error)
	load(ctx context.Context, in iter.Seq2[events.Event, error], progress func(LoadReport)) (LoadReport, error)
	bucket(ctx context.Context, name BucketName) (Bucket, error)
	inspect(ctx context.Context) (Condition, error)
}

// query says what to read.
type query struct {
	after Position
	until Position     // the last position wanted; 0: no end, wait for more
	game  events.Token // only this game; empty: all
	how   manner
}

// manner is what is done with a stored message.
type manner int

const (
	decoding    manner = iota // read as an event
	identifying               // only Event.Raw and Event.ID are filled, which is faster
	checking                  // read as an event and compared with what the store says of it
)

// String is the ledger's name as it was given to Open.
func (l *Ledger) String() string { return l.where }

// ReadOnly reports whether Append and Load are refused.
func (l *Ledger) ReadOnly() bool { return l.readOnly }

// Close ends the use of the ledger. Everything acknowledged is on disk before;
// if this process ran the server, it stops, the directory's lock is free, and a
// process that worked through it takes over. Close may be called again.
func (l *Ledger) Close() error {
	l.close()
	return nil
}

// Append stores an event and returns its position once it is safe. The event
// is checked first, and sealed if it was made in code; the error is an
// [*events.FieldError] if it is refused. After any other error the event may or
// may not be stored: append the same event again. While a server is gone for a
// moment Append keeps trying, as long as ctx allows but at most ten seconds.
func (l *Ledger) Append(ctx context.Context, e *events.Event) (Position, error) {
	if l.readOnly {
		return 0, explain("append to "+l.where, ErrReadOnly)
	}
	if err := ready(e); err != nil {
		return 0, err
	}
	return l.log.append(ctx, e)
}

// ready checks an event and makes sure that there are bytes to store.
func ready(e *events.Event) error {
	if len(e.Raw) == 0 {
		return e.Seal()
	}
	return events.Check(e)
}

// Last is the position of the newest event, 0 for an empty ledger.
func (l *Ledger) Last(ctx context.Context) (Position, error) { return l.log.last(ctx) }

// Read yields the events behind a position, 0 for all, up to the end as it was
// when the reading began. What is missing or cannot be read as an event comes
// as an [*events.LineError] whose line is the position, and the reading goes
// on; any other error ends it.
func (l *Ledger) Read(ctx context.Context, after Position) iter.Seq2[events.Event, error] {
	return eventsOnly(l.Entries(ctx, after))
}

// ReadGame is Read for one game.
func (l *Ledger) ReadGame(ctx context.Context, game events.Token) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		if !game.Valid() {
			yield(events.Event{}, &events.FieldError{Field: "game", Reason: "\"" + string(game) + "\" is no game's id"})
			return
		}
		for e, err := range l.upToNow(ctx, query{game: game}) {
			if !yield(e.Event, err) {
				return
			}
		}
	}
}

// Entries is Read with the positions.
func (l *Ledger) Entries(ctx context.Context, after Position) iter.Seq2[Entry, error] {
	return l.upToNow(ctx, query{after: after})
}

// Follow yields the events behind a position and goes on with new ones as they
// are stored, until ctx ends; it then ends without an error. It outlasts a
// server that goes away and comes back, and skips nothing. What cannot be read
// as an event comes as an [*events.LineError] with its position in the entry.
func (l *Ledger) Follow(ctx context.Context, after Position) iter.Seq2[Entry, error] {
	return l.log.entries(ctx, query{after: after})
}

// upToNow reads to the end as it is now.
func (l *Ledger) upToNow(ctx context.Context, q query) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		end, err := l.log.end(ctx)
		if err != nil {
			yield(Entry{}, err)
			return
		}
		if q.until = end; q.until <= q.after {
			return
		}
		for e, err := range l.log.entries(ctx, q) {
			if !yield(e, err) {
				return
			}
		}
	}
}

func eventsOnly(in iter.Seq2[Entry, error]) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for e, err := range in {
			if !yield(e.Event, err) {
				return
			}
		}
	}
}
