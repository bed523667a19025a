package bus

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/rs/zerolog"
)

// startTimeout is generous: after a crash the server reads its last blocks.
const startTimeout = 30 * time.Second

// embedded is a server inside this process, and what goes with it: the lock it
// runs under and the socket that others come in by.
type embedded struct {
	dir    string
	lock   *lock
	log    zerolog.Logger
	to     *Handover
	bridge *bridge

	done chan struct{} // closed by close

	mu  sync.RWMutex // held while the server is replaced
	now *running
}

// running is a server, and its log, which knows whether it can still write.
type running struct {
	*server.Server
	log *serverLog
}

// embed starts a server on a directory whose lock is held.
func embed(dir string, held *lock, log zerolog.Logger, to *Handover) (*embedded, error) {
	srv, err := startServer(dir, log, to)
	if err != nil {
		return nil, explain("open ledger "+dir, err)
	}
	e := &embedded{dir: dir, lock: held, log: log, to: to, done: make(chan struct{}), now: srv}
	e.watch(srv)
	if e.bridge, err = serveSocket(dir, e.InProcessConn); err != nil {
		// The ledger is whole without it; only other processes must wait.
		log.Warn().Err(err).Str("ledger", dir).Msg("no socket: other commands cannot use this ledger until this one ends")
	}
	return e, nil
}

func startServer(dir string, log zerolog.Logger, to *Handover) (*running, error) {
	if err := checkWritable(dir); err != nil {
		return nil, err
	}
	if err := guard(dir, log); err != nil {
		return nil, err
	}
	opts := &server.Options{
		ServerName: "stopledger",
		DontListen: true,
		NoSigs:     true,
		JetStream:  true,
		StoreDir:   dir,
		SyncAlways: true,
		// Limits of our own would be counted against a nearly full disk when the
		// server starts, and keep it from opening what is there. The disk is the
		// limit; see place.
		JetStreamMaxMemory: 256 << 20,
		JetStreamMaxStore:  1 << 50,
	}
	if err := to.settle(opts); err != nil {
		return nil, err
	}
	srv, err := server.NewServer(opts)
	if err != nil {
		return nil, err
	}
	listening := newServerLog(log)
	srv.SetLoggerV2(listening, false, false, false)
	srv.Start()
	if !srv.ReadyForConnections(startTimeout) || !srv.JetStreamEnabled() {
		srv.Shutdown()
		if reason := listening.lastError(); reason != "" {
			return nil, fmt.Errorf("the embedded server did not start: %s", reason)
		}
		return nil, fmt.Errorf("the embedded server did not start within %s", startTimeout)
	}
	return &running{srv, listening}, nil
}

// checkWritable finds out what the server would only log.
func checkWritable(dir string) error {
	f, err := os.CreateTemp(dir, ".w")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	return f.Close()
}

// InProcessConn connects to the server, whichever runs now.
func (e *embedded) InProcessConn() (net.Conn, error) {
	e.mu.RLock()
	defer e.mu.RUnlock()
	return e.now.InProcessConn()
}

// restart replaces a server that has given its store up after a failed write.
// Connections are made again by themselves. broken is the server that failed:
// of several callers only the first acts.
func (e *embedded) restart(broken *running) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.now != broken || e.closing() {
		return nil
	}
	e.log.Warn().Str("ledger", e.dir).Msg("a write failed; starting the embedded server anew")
	broken.stop()
	srv, err := startServer(e.dir, e.log, e.to)
	if err != nil {
		return err
	}
	e.now = srv
	e.watch(srv)
	return nil
}

// watch starts the server anew after a failed write as soon as there is room,
// also when nobody in this process writes.
func (e *embedded) watch(srv *running) {
	context.AfterFunc(srv.log.writing, func() {
		there, err := placeOf(e.dir)
		for err != nil || there.check(0) != nil || e.restart(srv) != nil {
			select {
			case <-e.done:
				return
			case <-time.After(time.Second):
			}
			if err != nil {
				there, err = placeOf(e.dir)
			}
		}
	})
}

func (e *embedded) closing() bool {
	select {
	case <-e.done:
		return true
	default:
		return false
	}
}

func (e *embedded) current() *running {
	e.mu.RLock()
	defer e.mu.RUnlock()
	return e.now
}

func (e *embedded) close() {
	close(e.done)
	if e.bridge != nil {
		e.bridge.close()
		os.Remove(filepath.Join(e.dir, socketFile))
	}
	e.current().stop()
	e.lock.release()
}

func (r *running) stop() {
	r.Shutdown()
	r.WaitForShutdown()
}
