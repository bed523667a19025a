package bus

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"

	"github.com/nats-io/nats.go/jetstream"

	"stopledger/events"
)

// Condition is what can be told of a ledger's storage without knowing what the
// events mean.
type Condition struct {
	First, Last Position
	Events      int     // messages that are whole and read as events
	Bytes       uint64  // as the store counts them
	Faults      []Fault // what is not as it was stored, in order
	Games       int     // games named by the store's index
}

// Fault is a stretch of positions that cannot be read, and why. In a file the
// positions of a fault are lines.
type Fault struct {
	From, To Position
	What     string
}

// Sound reports whether nothing is wrong.
func (c Condition) Sound() bool { return len(c.Faults) == 0 }

// Inspect reads the whole ledger and reports what is missing, what the server
// knows to be lost, what does not read as an event, what lies under another
// subject than its event says, and what differs from the sum in its message id.
func (l *Ledger) Inspect(ctx context.Context) (Condition, error) { return l.log.inspect(ctx) }

func (s *stream) inspect(ctx context.Context) (Condition, error) {
	info, err := s.info(ctx)
	if err != nil {
		return Condition{}, s.explain("inspect the ledger", err)
	}
	state := info.State
	c := Condition{First: Position(state.FirstSeq), Last: Position(state.LastSeq), Bytes: state.Bytes}
	if lost := state.Lost; lost != nil {
		for _, seq := range lost.Msgs {
			c.fault(Position(seq), Position(seq), "the server found its stored bytes damaged and left it out")
		}
	}
	if c.First > 1 {
		c.fault(1, c.First-1, "nothing is stored before the first event")
	}
	if s.place != nil {
		notes, err := blockNotes(s.place.dir)
		if err != nil {
			return c, fmt.Errorf("inspect the ledger: %w", err)
		}
		for _, n := range notes {
			c.Faults = append(c.Faults, n.faults()...)
		}
	}
	games, err := s.games(ctx)
	if err != nil {
		return c, err
	}
	c.Games = len(games)
	if c.Last == 0 {
		return c, nil
	}
	return c, c.read(s.entries(ctx, query{until: c.Last, how: checking}))
}

// read goes through a ledger and notes what is wrong.
func (c *Condition) read(in iter.Seq2[Entry, error]) error {
	for e, err := range in {
		var bad *events.LineError
		switch {
		case errors.As(err, &bad):
			c.fault(Position(bad.Line), max(Position(bad.Line), e.Position), bad.Err.Error())
		case err != nil:
			return err
		default:
			c.Events++
		}
	}
	slices.SortStableFunc(c.Faults, func(a, b Fault) int { return cmp.Compare(a.From, b.From) })
	return nil
}

func (c *Condition) fault(from, to Position, what string) {
	c.Faults = append(c.Faults, Fault{from, to, what})
}

func (f file) inspect(ctx context.Context) (Condition, error) {
	games := make(map[events.Token]bool)
	c := Condition{First: 1}
	err := c.read(func(yield func(Entry, error) bool) {
		for e, err := range f.entries(ctx, query{until: endOfFile}) {
			if err == nil {
				games[e.Event.Game] = true
				c.Bytes += uint64(len(e.Event.Raw))
			}
			if c.Last = e.Position; !yield(e, err) {
				return
			}
		}
	})
	c.Games = len(games)
	return c, err
}

// whole compares a stored message with its subject and its message id.
func whole(m jetstream.Msg, e *events.Event) error {
	if want := subject(e); m.Subject() != want {
		return fmt.Errorf("%w: stored under %s, but it is an event of %s", ErrDamaged, m.Subject(), want)
	}
	id, part, ok := cutMessageID(m.Headers().Get(messageIDHeader))
	if ok && (id != e.ID || part != sumText(e)) {
		return fmt.Errorf("%w: its bytes are not those that were appended", ErrDamaged)
	}
	return events.Check(e)
}
