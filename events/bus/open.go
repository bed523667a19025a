package bus

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"github.com/nats-io/nats.go"
	"github.com/rs/zerolog"
)

// Options say how to open a ledger. The zero value is a good choice.
type Options struct {
	// ReadOnly refuses Append and Load, and creates nothing.
	ReadOnly bool
	// Log receives warnings and, at debug level, what the embedded server says.
	Log zerolog.Logger
	// Credentials is a file with a user's credentials for a nats:// ledger.
	Credentials string
	// CA is a file with the authority that signed a tls:// server's certificate.
	CA string
	// Replicas is how many servers of a cluster keep the ledger, when it is
	// created there: 1, 3 or 5. 0 is 1.
	Replicas int
	// Handover is for a directory: to whom its events are handed.
	Handover *Handover
}

// Open opens a ledger: a directory, created if it is missing; a nats:// or
// tls:// address, where the ledger is created if it is missing; or a file whose
// name ends in .jsonl, which can only be read. With Options.ReadOnly nothing is
// created: what is missing is ErrNotFound.
func Open(ctx context.Context, where string, o Options) (*Ledger, error) {
	switch {
	case where == "":
		return nil, errors.New("open ledger: no name given; want a directory, a .jsonl file or a nats:// address")
	case strings.Contains(where, "://"):
		return openRemote(ctx, where, o)
	case isFile(where):
		return openFile(where)
	}
	return openDir(ctx, where, o)
}

// isFile tells a .jsonl file from a directory: by what is there, else by name.
func isFile(where string) bool {
	if info, err := os.Stat(where); err == nil {
		return !info.IsDir()
	}
	return strings.HasSuffix(where, ".jsonl")
}

func openDir(ctx context.Context, dir string, o Options) (*Ledger, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("open ledger: %w", err)
	}
	if err := prepareDir(dir, o.ReadOnly); err != nil {
		return nil, err
	}
	h := &home{dir: dir, log: o.Log, handover: o.Handover}
	l, err := openHome(ctx, h, o)
	if err != nil {
		h.close()
		return nil, explain("open ledger "+dir, err)
	}
	return l, nil
}

func openHome(ctx context.Context, h *home, o Options) (*Ledger, error) {
	s, err := reach(ctx, h, o)
	if err != nil {
		return nil, err
	}
	l := newLedger(h.dir, o, s, func() { s.close(); h.close() })
	if h.here.Load() != nil {
		err = l.restore(ctx, h.dir, o.Log)
	}
	if err != nil {
		s.close()
	}
	return l, err
}

// reach connects, and again if the process that served the directory died in
// the middle of it: then another takes over, perhaps this one.
func reach(ctx context.Context, h *home, o Options) (*stream, error) {
	for try := 1; ; try++ {
		if err := h.settle(ctx); err != nil {
			return nil, err
		}
		s, err := connect(ctx, o, h, nats.DefaultURL, nats.SetCustomDialer(h))
		if err == nil || try == openTries || kindOf(err) != ErrUnreachable {
			return s, err
		}
	}
}

const openTries = 5

func prepareDir(dir string, readOnly bool) error {
	if readOnly {
		if _, err := os.Stat(filepath.Join(dir, storeFolder)); err != nil {
			return fmt.Errorf("open ledger %s: %w: there is no ledger in this directory", dir, ErrNotFound)
		}
		return nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return explain("open ledger", err)
	}
	return nil
}

// restore stores again what the guard saved from damaged files.
func (l *Ledger) restore(ctx context.Context, dir string, log zerolog.Logger) error {
	if l.readOnly {
		return nil
	}
	notes, err := blockNotes(dir)
	if err != nil {
		return err
	}
	for _, n := range notes {
		if n.Restored {
			continue
		}
		rep, err := l.Load(ctx, n.sound(dir), nil)
		if err != nil {
			return fmt.Errorf("store the events of %s again: %w", n.File, err)
		}
		log.Warn().Str("ledger", dir).Str("from", n.File).Int("events", rep.Added).Msg("events behind a damaged place were stored again")
		n.Restored = true
		if err := n.write(dir); err != nil {
			return err
		}
	}
	return nil
}

func openRemote(ctx context.Context, url string, o Options) (*Ledger, error) {
	opts := []nats.Option{}
	if o.Credentials != "" {
		opts = append(opts, nats.UserCredentials(o.Credentials))
	}
	if o.CA != "" {
		opts = append(opts, nats.RootCAs(o.CA))
	}
	s, err := connect(ctx, o, nil, url, opts...)
	if err != nil {
		return nil, explain("open ledger "+url, err)
	}
	return newLedger(url, o, s, s.close), nil
}

func newLedger(where string, o Options, s source, close func()) *Ledger {
	return &Ledger{where: where, readOnly: o.ReadOnly, log: s, close: sync.OnceFunc(close)}
}
