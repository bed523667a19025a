package bus_test

import (
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"stopledger/charting/synth"
	"stopledger/events/bus"
	"stopledger/replay"
)

// BenchmarkFoldLedger folds an invented season from JetStream into columns, and
// beside it, in the same run, lets a bare ordered consumer receive the same
// stream without looking at it.
func BenchmarkFoldLedger(b *testing.B) {
	dir, total := loadInvented(b, 300)
	perSecond := func(b *testing.B, read func()) {
		for b.Loop() {
			start := time.Now()
			read()
			b.ReportMetric(float64(total)/time.Since(start).Seconds(), "events/s")
		}
	}
	b.Run("bare-ordered-consumer", func(b *testing.B) {
		_, js := bareServer(b, dir)
		perSecond(b, func() { receive(b, js, total) })
	})
	l := open(b, dir, bus.Options{})
	defer l.Close()
	b.Run("decoded", func(b *testing.B) {
		perSecond(b, func() {
			for _, err := range l.Read(b.Context(), 0) {
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	})
	b.Run("folded-into-columns", func(b *testing.B) {
		perSecond(b, func() {
			season, err := replay.Fold(l.Read(b.Context(), 0))
			if err != nil {
				b.Fatal(err)
			}
			replay.ColumnsOf(season, nil)
		})
	})
}

// loadInvented fills a directory with an invented season and returns it closed,
// with its number of events.
func loadInvented(b *testing.B, games int) (dir string, total int) {
	o := synth.Defaults()
	o.Games = games
	season, err := synth.New(o)
	if err != nil {
		b.Fatal(err)
	}
	dir = b.TempDir()
	l := open(b, dir, bus.Options{})
	defer l.Close()
	r, err := l.Load(b.Context(), season.Events(), nil)
	if err != nil {
		b.Fatal(err)
	}
	return dir, r.Added
}

// receive counts messages until all have come.
func receive(b *testing.B, js jetstream.JetStream, total int) {
	c, err := js.OrderedConsumer(b.Context(), "LEDGER", jetstream.OrderedConsumerConfig{})
	if err != nil {
		b.Fatal(err)
	}
	n, done := 0, make(chan bool)
	running, err := c.Consume(func(jetstream.Msg) {
		if n++; n == total {
			close(done)
		}
	})
	if err != nil {
		b.Fatal(err)
	}
	<-done
	running.Stop()
}
