package web

import (
	"context"
	"iter"

	"stopledger/events"
)

// Stored is an event with its position in the ledger.
type Stored struct {
	At    uint64
	Event events.Event
}

// Ledger is what the server needs of the ledger.
type Ledger interface {
	// Append stores a checked event and returns its position once it is safe.
	// An error means that it may not be stored; the same event may be appended
	// again.
	Append(ctx context.Context, e *events.Event) (uint64, error)
	// Last is the position of the newest event, 0 for an empty ledger.
	Last(ctx context.Context) (uint64, error)
	// Follow yields the events behind a position in their order and goes on
	// with new ones until ctx ends. An *events.LineError concerns one event and
	// does not end the sequence; any other error does.
	Follow(ctx context.Context, after uint64) iter.Seq2[Stored, error]
}
