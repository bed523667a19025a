package bus

import (
	"context"
	"errors"
	"fmt"
	"net"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"
)

// home is a ledger's directory as one process sees it. Its Dial reaches the
// server wherever that runs: in this process, if it holds the lock or can take
// it, else through the socket of the process that does. As the connection dials
// anew whenever it is lost, a process takes over when the one that served the
// directory ends or dies.
type home struct {
	dir      string
	log      zerolog.Logger
	handover *Handover
	here     atomic.Pointer[embedded] // the server, if it runs in this process

	mu     sync.Mutex // held while the server is started or closed
	closed bool
}

// Dial implements nats.CustomDialer.
func (h *home) Dial(_, _ string) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return h.dial(ctx)
}

func (h *home) dial(ctx context.Context) (net.Conn, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return nil, ErrClosed
	}
	if e := h.here.Load(); e != nil {
		return e.InProcessConn()
	}
	held, err := takeLock(h.dir)
	if errors.Is(err, errHeld) {
		return dialSocket(ctx, h.dir)
	}
	if err != nil {
		return nil, err
	}
	e, err := embed(h.dir, held, h.log, h.handover)
	if err != nil {
		held.release()
		return nil, &cannotServe{err}
	}
	h.here.Store(e)
	return e.InProcessConn()
}

// cannotServe is a failure that waiting does not cure.
type cannotServe struct{ error }

func (c *cannotServe) Unwrap() error { return c.error }

// settle waits until the server can be reached: until the process that holds
// the lock serves its socket, if it is just starting, or lets go, if it is just
// ending.
func (h *home) settle(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for {
		conn, err := h.dial(ctx)
		if err == nil {
			return conn.Close()
		}
		var final *cannotServe
		if errors.As(err, &final) || kindOf(err) == ErrReadOnly || kindOf(err) == ErrFull {
			return err
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%w: another process holds %s and does not answer on %s (%w); end that process, then try again",
				ErrLocked, filepath.Join(h.dir, lockFile), socketFile, err)
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func (h *home) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	if e := h.here.Load(); e != nil {
		e.close()
	}
}
