package bus_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"stopledger/events/bus"
)

func TestLedgerInADirectory(t *testing.T) {
	suite(t, func(t *testing.T) *bus.Ledger {
		return open(t, filepath.Join(t.TempDir(), "made", "on", "opening"), bus.Options{})
	})
}

func TestLedgerThroughTheSocketOfAnotherProcess(t *testing.T) {
	suite(t, func(t *testing.T) *bus.Ledger {
		dir := t.TempDir()
		start(t, "serve", dir).mustSay("open")
		return open(t, dir, bus.Options{})
	})
}

func TestLedgerOnAServer(t *testing.T) {
	suite(t, func(t *testing.T) *bus.Ledger {
		return open(t, runServer(t), bus.Options{})
	})
}

// runServer runs a server of its own on the loopback address and returns its
// address for Open.
func runServer(t testing.TB) string {
	t.Helper()
	srv, err := server.NewServer(&server.Options{
		Host: "127.0.0.1", Port: server.RANDOM_PORT, NoSigs: true, NoLog: true,
		JetStream: true, StoreDir: t.TempDir(), SyncAlways: true,
	})
	if err != nil {
		t.Fatal(err)
	}
	srv.Start()
	if !srv.ReadyForConnections(10 * time.Second) {
		t.Fatal("the server did not start")
	}
	t.Cleanup(func() {
		srv.Shutdown()
		srv.WaitForShutdown()
	})
	return srv.ClientURL()
}
