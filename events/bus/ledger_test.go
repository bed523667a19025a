package bus_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

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
		url, _ := runServer(t)
		return open(t, url, bus.Options{})
	})
}

// A stream that somebody else set up may not take batches.
func TestLedgerOnAServerWithoutBatches(t *testing.T) {
	suite(t, func(t *testing.T) *bus.Ledger {
		url, _ := runServer(t)
		conn, err := nats.Connect(url)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		js, err := jetstream.New(conn)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := js.CreateStream(t.Context(), jetstream.StreamConfig{Name: "LEDGER", Subjects: []string{"ledger.*.*.*"}}); err != nil {
			t.Fatal(err)
		}
		return open(t, url, bus.Options{})
	})
}

// runServer runs a server of its own on the loopback address and returns its
// address for Open.
func runServer(t testing.TB) (string, *server.Server) {
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
	return srv.ClientURL(), srv
}
