package bus_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"stopledger/events"
	"stopledger/events/bus"
)

// season is about as many events as a league's season of 1,200 games has in a
// quarter of its chances: enough to fill several of the store's files.
const (
	seasonGames  = 1200
	seasonEvents = 240_000
)

func gameNames() []string {
	names := make([]string, seasonGames)
	for i := range names {
		names[i] = fmt.Sprintf("game-%04d", i)
	}
	return names
}

// actions makes events of the common kind and size, game after game, or with
// the games mixed as when many are charted at once.
func actions(n int, mixed bool) []events.Event {
	names, list := gameNames(), make([]events.Event, n)
	per := n / seasonGames
	body := &events.Action{Chance: note("g", "p", 1).ID, Kind: "chase", Defender: "mil-12", Opponent: "hbr-3", Outcome: "hit",
		Details: events.Details{"at": {"down"}, "how": {"chased"}, "why": {"saw-late"}}, Spot: &events.Spot{X: 6.1, Y: 2.4}}
	for i := range list {
		game := names[min(i/max(1, per), seasonGames-1)]
		if mixed {
			game = names[i%seasonGames]
		}
		e := note(game, "7f3c9a1e", i+1)
		e.Type, e.Body, e.When, e.Raw = "action", body, events.At(2, 412.3), nil
		if err := e.Seal(); err != nil {
			panic(err)
		}
		list[i] = e
	}
	return list
}

// reportMedian adds the median and the 99th percentile of single durations.
func reportMedian(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "µs-median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "µs-p99")
}

func BenchmarkAppend(b *testing.B) {
	l := open(b, b.TempDir(), bus.Options{})
	list := notes(b.N, "hbr-mil")
	took := make([]time.Duration, 0, b.N)
	b.ResetTimer()
	for i := range list {
		start := time.Now()
		if _, err := l.Append(b.Context(), &list[i]); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	reportMedian(b, took)
}

// BenchmarkBareSyncedPublish is the yardstick of BenchmarkAppend: the same bytes
// published straight into a server with the same settings.
func BenchmarkBareSyncedPublish(b *testing.B) {
	_, js := bareServer(b, b.TempDir())
	if _, err := js.CreateStream(b.Context(), jetstream.StreamConfig{Name: "BARE", Subjects: []string{"bare.>"}}); err != nil {
		b.Fatal(err)
	}
	list := notes(b.N, "hbr-mil")
	took := make([]time.Duration, 0, b.N)
	b.ResetTimer()
	for i := range list {
		start := time.Now()
		if _, err := js.Publish(b.Context(), "bare.hbr-mil.main.pad1", list[i].Raw); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	reportMedian(b, took)
}

// bareServer runs a server with the embedded ledger's settings and nothing else.
func bareServer(b testing.TB, dir string) (*nats.Conn, jetstream.JetStream) {
	srv, err := server.NewServer(&server.Options{DontListen: true, NoSigs: true, NoLog: true, JetStream: true, StoreDir: dir, SyncAlways: true})
	if err != nil {
		b.Fatal(err)
	}
	srv.Start()
	if !srv.ReadyForConnections(10 * time.Second) {
		b.Fatal("the server did not start")
	}
	conn, err := nats.Connect(nats.DefaultURL, nats.InProcessServer(srv))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		conn.Close()
		srv.Shutdown()
		srv.WaitForShutdown()
	})
	js, err := jetstream.New(conn)
	if err != nil {
		b.Fatal(err)
	}
	return conn, js
}

// stopwatch measures time, and the processor's time, which on a busy machine
// says more.
type stopwatch struct {
	start time.Time
	cpu   time.Duration
}

func startWatch() stopwatch { return stopwatch{time.Now(), processorTime()} }

func (w stopwatch) report(b *testing.B, n int, name string) {
	b.ReportMetric(float64(n)/time.Since(w.start).Seconds(), name+"/s")
	b.ReportMetric(float64((processorTime()-w.cpu).Nanoseconds())/1000/float64(n), "cpu-µs/"+name)
}

func processorTime() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		panic(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func BenchmarkLoad(b *testing.B) {
	list := actions(60_000, false)
	path := filepath.Join(b.TempDir(), "season.jsonl")
	writeLines(b, path, list)
	for b.Loop() {
		l := open(b, b.TempDir(), bus.Options{})
		w := startWatch()
		rep := loadPath(b, l, path)
		w.report(b, rep.Added, "added")
		w = startWatch()
		if rep = loadPath(b, l, path); rep.Added != 0 {
			b.Fatalf("the second load: %+v", rep)
		}
		w.report(b, rep.AlreadyThere, "again")
		l.Close()
	}
}

// loadSeason fills a directory and returns it closed.
func loadSeason(b *testing.B, mixed bool) string {
	dir := b.TempDir()
	l := open(b, dir, bus.Options{})
	mustLoad(b, l, actions(seasonEvents, mixed))
	l.Close()
	return dir
}

func BenchmarkRead(b *testing.B) {
	dir := loadSeason(b, false)
	b.Run("events", func(b *testing.B) {
		l := open(b, dir, bus.Options{})
		rate(b, func() (n int) {
			for _, err := range l.Read(b.Context(), 0) {
				if err != nil {
					b.Fatal(err)
				}
				n++
			}
			return n
		})
		l.Close()
	})
	b.Run("bare-ordered-consumer", func(b *testing.B) {
		_, js := bareServer(b, dir)
		rate(b, func() (n int) {
			c, err := js.OrderedConsumer(b.Context(), "LEDGER", jetstream.OrderedConsumerConfig{})
			if err != nil {
				b.Fatal(err)
			}
			done := make(chan bool)
			running, err := c.Consume(func(jetstream.Msg) {
				if n++; n == seasonEvents {
					close(done)
				}
			})
			if err != nil {
				b.Fatal(err)
			}
			<-done
			running.Stop()
			return n
		})
	})
}

func rate(b *testing.B, read func() int) {
	for b.Loop() {
		w := startWatch()
		if n := read(); n != seasonEvents {
			b.Fatalf("%d events", n)
		}
		w.report(b, seasonEvents, "event")
	}
}

func BenchmarkOpenOneGame(b *testing.B) {
	for name, mixed := range map[string]bool{"game-after-game": false, "games-mixed": true} {
		b.Run(name, func(b *testing.B) {
			dir := loadSeason(b, mixed)
			for b.Loop() {
				l := open(b, dir, bus.Options{})
				start := time.Now()
				if n := len(all(b, l.ReadGame(b.Context(), "game-0700"))); n != seasonEvents/seasonGames {
					b.Fatalf("%d events", n)
				}
				b.ReportMetric(float64(time.Since(start).Microseconds())/1000, "ms-first")
				start = time.Now()
				all(b, l.ReadGame(b.Context(), "game-0701"))
				b.ReportMetric(float64(time.Since(start).Microseconds())/1000, "ms-next")
				l.Close()
			}
		})
	}
}

func BenchmarkOpenDirectory(b *testing.B) {
	dir := loadSeason(b, false)
	for b.Loop() {
		l := open(b, dir, bus.Options{})
		l.Close()
	}
}

func loadPath(b testing.TB, l *bus.Ledger, path string) bus.LoadReport {
	b.Helper()
	f, err := os.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	rep, err := l.Load(b.Context(), events.ReadLines(f), nil)
	if err != nil {
		b.Fatal(err)
	}
	return rep
}
