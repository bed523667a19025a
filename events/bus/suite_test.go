package bus_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"stopledger/events"
	"stopledger/events/bus"
)

// suite is what a ledger that can be written to must do, wherever its server
// runs. fresh returns a new, empty ledger.
func suite(t *testing.T, fresh func(t *testing.T) *bus.Ledger) {
	for name, test := range map[string]func(t *testing.T, l *bus.Ledger){
		"appended events are read back in order":     appendedAreRead,
		"a repeated append is stored once":           repeatedOnce,
		"same id and other content is kept":          conflictIsKept,
		"an event that fails its check is refused":   badIsRefused,
		"a game is read alone":                       gameAlone,
		"reading ends where the ledger ended":        readEnds,
		"following catches up and goes on":           followGoesOn,
		"a second load adds nothing":                 secondLoad,
		"a load reports conflicts and bad lines":     loadReports,
		"the largest event fits":                     largestFits,
		"games are counted by chart and pad":         gamesAreCounted,
		"an empty ledger is empty":                   emptyIsEmpty,
		"a value is changed only by who saw it":      bucketCompareAndSet,
		"watching a bucket shows what changes":       bucketWatch,
		"an undisturbed ledger is found to be sound": inspectSound,
	} {
		t.Run(name, func(t *testing.T) { test(t, fresh(t)) })
	}
}

func appendedAreRead(t *testing.T, l *bus.Ledger) {
	want := notes(300, "hbr-mil", "kes-oda")
	for i, e := range want {
		if at := mustAppend(t, l, e); at != bus.Position(i+1) {
			t.Fatalf("event %d stored at position %d", i+1, at)
		}
	}
	sameEvents(t, all(t, l.Read(t.Context(), 0)), want)
	sameEvents(t, all(t, l.Read(t.Context(), 250)), want[250:])
	for e, err := range l.Entries(t.Context(), 10) {
		if err != nil || e.Position != 11 || e.Stored.IsZero() || e.Event.ID != want[10].ID {
			t.Fatalf("first entry after 10: %+v, %v", e, err)
		}
		break
	}
}

func repeatedOnce(t *testing.T, l *bus.Ledger) {
	e := note("hbr-mil", "pad1", 1)
	first, again := mustAppend(t, l, e), mustAppend(t, l, e)
	if first != again {
		t.Errorf("first at %d, repeated at %d", first, again)
	}
	sameEvents(t, all(t, l.Read(t.Context(), 0)), []events.Event{e})
}

func conflictIsKept(t *testing.T, l *bus.Ledger) {
	e := note("hbr-mil", "pad1", 1)
	other := e
	other.Raw, other.Body = nil, &events.Noted{Text: "another text under the same id"}
	if err := other.Seal(); err != nil {
		t.Fatal(err)
	}
	mustAppend(t, l, e)
	mustAppend(t, l, other)
	sameEvents(t, all(t, l.Read(t.Context(), 0)), []events.Event{e, other})
}

func badIsRefused(t *testing.T, l *bus.Ledger) {
	for _, game := range []events.Token{"hbr.mil", "*", ">", "hbr mil", ""} {
		e := note("hbr-mil", "pad1", 1)
		e.Game = game
		_, err := l.Append(t.Context(), &e)
		if field, ok := err.(*events.FieldError); !ok || field.Field != "game" {
			t.Errorf("game %q: got %v, want game to be refused", game, err)
		}
	}
	if last, err := l.Last(t.Context()); last != 0 || err != nil {
		t.Errorf("last = %d, %v", last, err)
	}
}

func gameAlone(t *testing.T, l *bus.Ledger) {
	list := notes(900, "hbr-mil", "kes-oda", "hbr-kes")
	mustLoad(t, l, list)
	var want []events.Event
	for _, e := range list {
		if e.Game == "kes-oda" {
			want = append(want, e)
		}
	}
	sameEvents(t, all(t, l.ReadGame(t.Context(), "kes-oda")), want)
	sameEvents(t, all(t, l.ReadGame(t.Context(), "nobody-played")), nil)
	for _, err := range l.ReadGame(t.Context(), "*") {
		if err == nil {
			t.Error("a wildcard was taken for a game")
		}
	}
}

func readEnds(t *testing.T, l *bus.Ledger) {
	mustLoad(t, l, notes(20, "hbr-mil"))
	n := 0
	for _, err := range l.Read(t.Context(), 0) {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n < 10 {
			mustAppend(t, l, note("hbr-mil", "pad2", n))
		}
	}
	if n != 20 {
		t.Errorf("read %d events, want the 20 that were there at the start", n)
	}
}

func followGoesOn(t *testing.T, l *bus.Ledger) {
	want := notes(500, "hbr-mil")
	mustLoad(t, l, want[:400])
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var got []events.Event
	for e, err := range l.Follow(ctx, 100) {
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, e.Event)
		if int(e.Position) != 100+len(got) {
			t.Fatalf("event %d came with position %d", len(got), e.Position)
		}
		switch {
		case len(got) >= 300 && len(got) < 400:
			mustAppend(t, l, want[len(got)+100])
		case len(got) == 400:
			cancel()
		}
	}
	sameEvents(t, got, want[100:])
}

func secondLoad(t *testing.T, l *bus.Ledger) {
	list := notes(2500, "hbr-mil", "kes-oda")
	if rep := mustLoad(t, l, list); rep.Added != 2500 || rep.AlreadyThere != 0 || rep.Read != 2500 {
		t.Errorf("first load: %+v", rep)
	}
	if rep := mustLoad(t, l, list); rep.Added != 0 || rep.AlreadyThere != 2500 || len(rep.Conflicting)+len(rep.Refused) != 0 {
		t.Errorf("second load: %+v", rep)
	}
	sameEvents(t, all(t, l.Read(t.Context(), 0)), list)
}

func loadReports(t *testing.T, l *bus.Ledger) {
	first := note("hbr-mil", "pad1", 1)
	other := first
	other.Raw, other.Body = nil, &events.Noted{Text: "another text under the same id"}
	if err := other.Seal(); err != nil {
		t.Fatal(err)
	}
	lines := []string{
		string(first.Raw),
		"this is no event",
		"",
		string(first.Raw),
		string(other.Raw),
		strings.Replace(string(note("hbr-mil", "pad1", 2).Raw), `"game":"hbr-mil"`, `"game":"hbr*"`, 1),
		string(note("hbr-mil", "pad1", 3).Raw),
	}
	load := func() bus.LoadReport {
		rep, err := l.Load(t.Context(), events.ReadLines(strings.NewReader(strings.Join(lines, "\n"))), nil)
		if err != nil {
			t.Fatal(err)
		}
		return rep
	}
	rep := load()
	if rep.Added != 3 || rep.AlreadyThere != 1 || len(rep.Conflicting) != 1 || rep.Conflicting[0].ID != first.ID {
		t.Errorf("first load: %+v", rep)
	}
	if len(rep.Refused) != 2 || rep.Refused[0].Line != 2 || !strings.Contains(rep.Refused[1].Err.Error(), "game") {
		t.Errorf("refused: %+v", rep.Refused)
	}
	if rep := load(); rep.Added != 0 || rep.AlreadyThere != 4 || len(rep.Refused) != 2 {
		t.Errorf("second load: %+v", rep)
	}
}

func largestFits(t *testing.T, l *bus.Ledger) {
	e := note("hbr-mil", "pad1", 1)
	room := events.MaxBytes - len(e.Raw) + len(e.Body.(*events.Noted).Text)
	e.Raw, e.Body = nil, &events.Noted{Text: strings.Repeat("x", room)}
	if err := e.Seal(); err != nil {
		t.Fatal(err)
	}
	if len(e.Raw) != events.MaxBytes {
		t.Fatalf("the test's event has %d bytes", len(e.Raw))
	}
	mustAppend(t, l, e)
	next := note("hbr-mil", "pad1", 2)
	mustLoad(t, l, []events.Event{e, next})
	sameEvents(t, all(t, l.Read(t.Context(), 0)), []events.Event{e, next})
}

func gamesAreCounted(t *testing.T, l *bus.Ledger) {
	mustLoad(t, l, notes(30, "hbr-mil", "kes-oda", "hbr-kes"))
	mustAppend(t, l, note("hbr-mil", "pad2", 1))
	games, err := l.Games(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	g := games["hbr-mil"]
	if len(games) != 3 || g.Events != 11 || g.Charts["main"]["pad1"] != 10 || g.Charts["main"]["pad2"] != 1 {
		t.Errorf("games: %+v", games)
	}
}

func emptyIsEmpty(t *testing.T, l *bus.Ledger) {
	sameEvents(t, all(t, l.Read(t.Context(), 0)), nil)
	games, err := l.Games(t.Context())
	if err != nil || len(games) != 0 {
		t.Errorf("games: %v, %v", games, err)
	}
	if c, err := l.Inspect(t.Context()); err != nil || !c.Sound() || c.Last != 0 {
		t.Errorf("condition: %+v, %v", c, err)
	}
}

func bucketCompareAndSet(t *testing.T, l *bus.Ledger) {
	ctx := t.Context()
	b, err := l.Bucket(ctx, bus.Access)
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Get(ctx, "ana")
	wantError(t, err, bus.ErrNotFound)
	first, err := b.Put(ctx, "ana", []byte("charter"), bus.NoRevision)
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Put(ctx, "ana", []byte("owner"), bus.NoRevision)
	wantError(t, err, bus.ErrConflict)
	second, err := b.Put(ctx, "ana", []byte("analyst"), first)
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.Put(ctx, "ana", []byte("owner"), first)
	wantError(t, err, bus.ErrConflict)
	wantError(t, b.Delete(ctx, "ana", first), bus.ErrConflict)
	if v, err := b.Get(ctx, "ana"); err != nil || string(v.Bytes) != "analyst" || v.Revision != second {
		t.Errorf("got %+v, %v", v, err)
	}
	if err := b.Delete(ctx, "ana", second); err != nil {
		t.Fatal(err)
	}
	_, err = b.Get(ctx, "ana")
	wantError(t, err, bus.ErrNotFound)
	if _, err := b.Put(ctx, "ana", []byte("back"), bus.NoRevision); err != nil {
		t.Errorf("put after delete: %v", err)
	}
	for _, key := range []string{"", "*", "a.>", "a b", "..", ".a", strings.Repeat("k", 201)} {
		if _, err := b.Put(ctx, key, nil, bus.AnyRevision); err == nil {
			t.Errorf("key %q was taken", key)
		}
	}
	if _, err := b.Put(ctx, "bea", []byte("coach"), bus.AnyRevision); err != nil {
		t.Fatal(err)
	}
	if keys, err := b.Keys(ctx); err != nil || !slices.Equal(keys, []string{"ana", "bea"}) {
		t.Errorf("keys %v, %v", keys, err)
	}
}

func bucketWatch(t *testing.T, l *bus.Ledger) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	b, err := l.Bucket(ctx, bus.Definitions)
	if err != nil {
		t.Fatal(err)
	}
	put := func(key, value string) {
		if _, err := b.Put(ctx, key, []byte(value), bus.AnyRevision); err != nil {
			t.Fatal(err)
		}
	}
	put("ball-won", "one")
	var seen []string
	for v, err := range b.Watch(ctx) {
		if err != nil {
			t.Fatal(err)
		}
		said := v.Key + "=" + string(v.Bytes)
		if v.Deleted {
			said = v.Key + " deleted"
		}
		switch seen = append(seen, said); len(seen) {
		case 1:
			put("ball-won", "two")
		case 2:
			if err := b.Delete(ctx, "ball-won", bus.AnyRevision); err != nil {
				t.Fatal(err)
			}
		case 3:
			cancel()
		}
	}
	if want := []string{"ball-won=one", "ball-won=two", "ball-won deleted"}; !slices.Equal(seen, want) {
		t.Errorf("saw %q, want %q", seen, want)
	}
}

func inspectSound(t *testing.T, l *bus.Ledger) {
	mustLoad(t, l, notes(1200, "hbr-mil", "kes-oda"))
	mustAppend(t, l, note("hbr-mil", "pad2", 1))
	c, err := l.Inspect(t.Context())
	if err != nil || !c.Sound() || c.Events != 1201 || c.First != 1 || c.Last != 1201 || c.Games != 2 {
		t.Errorf("condition: %+v, %v", c, err)
	}
}
