package bus_test

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"testing"
	"time"

	"github.com/google/uuid"

	"stopledger/events"
	"stopledger/events/bus"
)

// note makes an invented event; every call mints a new id.
func note(game, pad string, n int) events.Event {
	e := events.Event{
		V: 1, ID: events.ID(uuid.Must(uuid.NewV7()).String()),
		Game: events.Token(game), Chart: "main", Charter: "ana", Pad: events.Token(pad), N: int64(n),
		Recorded: time.Date(2031, 1, 14, 19, 22, 7, 0, time.UTC),
		Type:     "noted", Body: &events.Noted{Text: fmt.Sprintf("note %d of pad %s", n, pad)},
	}
	if err := e.Seal(); err != nil {
		panic(err)
	}
	return e
}

// notes makes n events over some games, in turn.
func notes(n int, games ...string) []events.Event {
	out := make([]events.Event, n)
	for i := range out {
		out[i] = note(games[i%len(games)], "pad1", i/len(games)+1)
	}
	return out
}

func each(list []events.Event) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	}
}

func open(t testing.TB, where string, o bus.Options) *bus.Ledger {
	t.Helper()
	l, err := bus.Open(t.Context(), where, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// all reads a sequence to its end; any error fails the test.
func all(t testing.TB, in iter.Seq2[events.Event, error]) []events.Event {
	t.Helper()
	var out []events.Event
	for e, err := range in {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}

func mustAppend(t testing.TB, l *bus.Ledger, e events.Event) bus.Position {
	t.Helper()
	at, err := l.Append(t.Context(), &e)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func mustLoad(t testing.TB, l *bus.Ledger, list []events.Event) bus.LoadReport {
	t.Helper()
	rep, err := l.Load(t.Context(), each(list), nil)
	if err != nil {
		t.Fatal(err)
	}
	return rep
}

// sameEvents compares ids and bytes in order.
func sameEvents(t testing.TB, got, want []events.Event) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("got %d events, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i].ID != want[i].ID || string(got[i].Raw) != string(want[i].Raw) {
			t.Fatalf("event %d: got %s, want %s", i, got[i].Raw, want[i].Raw)
		}
	}
}

func wantError(t testing.TB, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Fatalf("got error %v, want one that is %v", err, want)
	}
}

func background() (context.Context, context.CancelFunc) {
	return context.WithTimeout(context.Background(), 30*time.Second)
}
