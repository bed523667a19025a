package bus_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

func TestFileIsALedgerToRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "season.jsonl")
	list := notes(40, "hbr-mil", "kes-oda")
	writeLines(t, path, list)
	l := open(t, path, bus.Options{})
	ctx := t.Context()
	sameEvents(t, all(t, l.Read(ctx, 0)), list)
	sameEvents(t, all(t, l.Read(ctx, 35)), list[35:])
	if got := all(t, l.ReadGame(ctx, "kes-oda")); len(got) != 20 || got[0].ID != list[1].ID {
		t.Errorf("one game: %d events", len(got))
	}
	if last, err := l.Last(ctx); last != 40 || err != nil {
		t.Errorf("last %d, %v", last, err)
	}
	if games, err := l.Games(ctx); err != nil || len(games) != 2 || games["hbr-mil"].Events != 20 {
		t.Errorf("games %v, %v", games, err)
	}
	if c, err := l.Inspect(ctx); err != nil || !c.Sound() || c.Events != 40 || c.Games != 2 {
		t.Errorf("condition %+v, %v", c, err)
	}
	_, err := l.Append(ctx, &list[0])
	wantError(t, err, bus.ErrReadOnly)
	_, err = l.Load(ctx, each(list), nil)
	wantError(t, err, bus.ErrReadOnly)
	short, cancel := context.WithTimeout(ctx, 50*time.Millisecond)
	defer cancel()
	n := 0
	for range l.Follow(short, 0) {
		n++
	}
	if n != 40 {
		t.Errorf("followed %d events", n)
	}
}

func TestFileWithBadLines(t *testing.T) {
	path := filepath.Join(t.TempDir(), "season.jsonl")
	list := notes(2, "hbr-mil")
	text := slices.Concat(list[0].Raw, []byte("\n\x00\xff binary\n\n{\"v\":1}\n"), list[1].Raw, []byte("\n{\"v\":1,\"id\":\"cut o"))
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	l := open(t, path, bus.Options{})
	var good, bad []int
	for e, err := range l.Entries(t.Context(), 0) {
		var line *events.LineError
		switch {
		case errors.As(err, &line):
			bad = append(bad, line.Line)
		case err != nil:
			t.Fatal(err)
		default:
			good = append(good, int(e.Position))
		}
	}
	if !slices.Equal(good, []int{1, 4}) || !slices.Equal(bad, []int{2, 4, 6}) {
		t.Errorf("events at %v, bad lines %v", good, bad)
	}
	if c, err := l.Inspect(t.Context()); err != nil || len(c.Faults) != 3 || c.Events != 2 {
		t.Errorf("condition %+v, %v", c, err)
	}
}

func TestMissingFile(t *testing.T) {
	_, err := bus.Open(t.Context(), filepath.Join(t.TempDir(), "nothing.jsonl"), bus.Options{})
	wantError(t, err, bus.ErrNotFound)
}

func TestPeopleBesideAFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "season.jsonl")
	writeLines(t, path, notes(1, "hbr-mil"))
	l := open(t, path, bus.Options{})
	if b, err := l.Bucket(t.Context(), bus.People); err != nil {
		t.Errorf("no people.jsonl: %v", err)
	} else if keys, _ := b.Keys(t.Context()); len(keys) != 0 {
		t.Errorf("no people.jsonl, keys %v", keys)
	}
	people := "{\"id\":\"mil-12\",\"name\":\"Invented Name\"}\n{\"id\":\"hbr-3\"}\n"
	if err := os.WriteFile(filepath.Join(dir, "people.jsonl"), []byte(people), 0o600); err != nil {
		t.Fatal(err)
	}
	b, err := l.Bucket(t.Context(), bus.People)
	if err != nil {
		t.Fatal(err)
	}
	if keys, err := b.Keys(t.Context()); err != nil || !slices.Equal(keys, []string{"hbr-3", "mil-12"}) {
		t.Errorf("keys %v, %v", keys, err)
	}
	if v, err := b.Get(t.Context(), "mil-12"); err != nil || string(v.Bytes) != `{"id":"mil-12","name":"Invented Name"}` {
		t.Errorf("got %s, %v", v.Bytes, err)
	}
	_, err = b.Put(t.Context(), "mil-12", nil, bus.AnyRevision)
	wantError(t, err, bus.ErrReadOnly)
	wantError(t, b.Delete(t.Context(), "mil-12", bus.AnyRevision), bus.ErrReadOnly)
	_, err = l.Bucket(t.Context(), bus.Access)
	wantError(t, err, bus.ErrNotFound)
}
