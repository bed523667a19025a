package web

import (
	"context"
	"iter"

	"stopledger/events"
	"stopledger/events/bus"
)

// Ledger is what the server needs of the ledger; *bus.Ledger offers it.
type Ledger interface {
	// Append stores an event and returns its position once it is safe. The
	// error is an *events.FieldError if the event is refused for good; after any
	// other it may or may not be stored, and may be appended again.
	Append(ctx context.Context, e *events.Event) (bus.Position, error)
	// Last is the position of the newest event, 0 for an empty ledger.
	Last(ctx context.Context) (bus.Position, error)
	// Follow yields the events behind a position in their order and goes on
	// with new ones until ctx ends. An *events.LineError concerns one event and
	// does not end the sequence; any other error does.
	Follow(ctx context.Context, after bus.Position) iter.Seq2[bus.Entry, error]
}
