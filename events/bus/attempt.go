package bus

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

const (
	// patience is how long one call waits for a server that is gone for a moment.
	patience = 10 * time.Second
	// answerTime is how long one request waits for its answer before it is made
	// again. A cluster that loses its leader forgets the requests in its hands.
	answerTime = 3 * time.Second
)

// errInterrupted: the connection was lost, or no answer came in time.
var errInterrupted = fmt.Errorf("%w: no answer", ErrUnreachable)

// line is whether the connection holds. Requests on their way when it is lost
// are never answered and need not wait.
type line struct {
	mu   sync.Mutex
	held context.Context
	drop context.CancelFunc
}

func newLine() *line {
	l := &line{}
	l.held, l.drop = context.WithCancel(context.Background())
	return l
}

// lost ends what waits on the connection as it was.
func (l *line) lost() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.drop()
	l.held, l.drop = context.WithCancel(context.Background())
}

func (l *line) context() context.Context {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.held
}

// attempt makes one request. It returns an errInterrupted if the connection is
// lost meanwhile or the time is up before ctx ends.
func (s *stream) attempt(ctx context.Context, time time.Duration, do func(context.Context) error) error {
	once, cancel := context.WithTimeout(ctx, time)
	defer cancel()
	defer context.AfterFunc(s.line.context(), cancel)()
	err := do(once)
	if err != nil && once.Err() != nil && ctx.Err() == nil {
		return fmt.Errorf("%w: %w", errInterrupted, err)
	}
	return err
}

// withPatience bounds a call whose caller set no bound.
func withPatience(ctx context.Context) (context.Context, context.CancelFunc) {
	if _, limited := ctx.Deadline(); limited {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, patience)
}

// isPassing reports whether the same request may succeed in a moment: the
// connection is being made again, or a cluster is choosing a leader. The
// message id makes the repetition of an append harmless.
func isPassing(err error) bool {
	return errors.Is(err, errInterrupted) || isOffline(err) &&
		!errors.Is(err, nats.ErrConnectionClosed) && !errors.Is(err, jetstream.ErrJetStreamNotEnabled)
}

// pause waits a little before the next try; false when there is none.
func (s *stream) pause(ctx context.Context) bool {
	if s.conn.IsClosed() || s.place.gone() != nil {
		return false
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(50 * time.Millisecond):
		return true
	}
}
