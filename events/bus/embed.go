package bus

import (
	"fmt"
	"os"
	"path/filepath"
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
	server *server.Server
	bridge *bridge
}

// embed starts a server on a directory whose lock is held.
func embed(dir string, held *lock, log zerolog.Logger) (*embedded, error) {
	srv, err := startServer(dir, log)
	if err != nil {
		return nil, explain("open ledger "+dir, err)
	}
	e := &embedded{dir: dir, lock: held, server: srv}
	if e.bridge, err = serveSocket(dir, srv.InProcessConn); err != nil {
		// The ledger is whole without it; only other processes must wait.
		log.Warn().Err(err).Str("ledger", dir).Msg("no socket: other commands cannot use this ledger until this one ends")
	}
	return e, nil
}

func startServer(dir string, log zerolog.Logger) (*server.Server, error) {
	if err := checkWritable(dir); err != nil {
		return nil, err
	}
	srv, err := server.NewServer(&server.Options{
		ServerName: "stopledger",
		DontListen: true,
		NoSigs:     true,
		JetStream:  true,
		StoreDir:   dir,
		SyncAlways: true,
		// Limits of our own would be counted against a nearly full disk when the
		// server starts, and keep it from opening what is there. The disk is the
		// limit; room.go watches it.
		JetStreamMaxMemory: 256 << 20,
		JetStreamMaxStore:  1 << 50,
	})
	if err != nil {
		return nil, err
	}
	trouble := &serverLog{log: log}
	srv.SetLoggerV2(trouble, false, false, false)
	srv.Start()
	if !srv.ReadyForConnections(startTimeout) || !srv.JetStreamEnabled() {
		srv.Shutdown()
		if reason := trouble.last(); reason != "" {
			return nil, fmt.Errorf("the embedded server did not start: %s", reason)
		}
		return nil, fmt.Errorf("the embedded server did not start within %s", startTimeout)
	}
	return srv, nil
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

func (e *embedded) close() {
	if e.bridge != nil {
		e.bridge.close()
		os.Remove(filepath.Join(e.dir, socketFile))
	}
	e.server.Shutdown()
	e.server.WaitForShutdown()
	e.lock.release()
}
