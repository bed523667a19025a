package rulebook_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events/bus"
	"stopledger/metrics/definition"
	"stopledger/web/rulebook"
)

const mine = `name: my-stops
about: No points is a stop.
stop:
  default: 'chance.points == 0'
examples:
  - chance: {end: missed-2, rebound: offence}
    action: {kind: drive, outcome: stopped}
    expect: {stop: true}
`

func book(t *testing.T) *rulebook.Book {
	t.Helper()
	l, err := bus.Open(context.Background(), t.TempDir(), bus.Options{Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	b, err := rulebook.Open(context.Background(), l)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestVersionsAndTheOneInForce(t *testing.T) {
	ctx, b := context.Background(), book(t)
	inForce := func() string {
		t.Helper()
		d, err := b.InForce(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return d.Hash()
	}
	if inForce() != definition.Default().Hash() {
		t.Errorf("where nobody chose, another than the default is in force")
	}
	at := time.Date(2031, 1, 14, 20, 0, 0, 0, time.UTC)
	save := func(text, note string) *definition.Definition {
		t.Helper()
		d, err := b.Save(ctx, []byte(text), "ana", note, at)
		if err != nil {
			t.Fatalf("save: %v", err)
		}
		return d
	}
	first := save(mine, "a start")
	save("# a remark\n"+mine, "only a comment")
	second := save(strings.Replace(mine, "points == 0", "points <= 0", 1), "the same on paper, another rule")
	names, err := b.Names(ctx)
	if err != nil {
		t.Fatal(err)
	}
	last := names[len(names)-1]
	if last.Name != "my-stops" || len(last.Versions) != 2 || last.Versions[0].Hash != first.Hash() || last.Versions[1].By != "ana" {
		t.Errorf("versions %+v; want two, a comment being none", last)
	}
	if text, err := b.Text(ctx, first.Hash()); err != nil || !strings.HasPrefix(string(text), "# a remark") {
		t.Errorf("text %q, %v; want it with the comment that came later", text, err)
	}
	if inForce() == first.Hash() {
		t.Errorf("saving alone put a definition in force")
	}
	for _, hash := range []string{first.Hash(), second.Hash(), first.Hash()} {
		if _, err := b.Choose(ctx, hash, "ana", "meeting", at); err != nil {
			t.Fatal(err)
		}
		if inForce() != hash {
			t.Errorf("%s is not in force after it was chosen", hash)
		}
	}
	if trail, err := b.Trail(ctx); err != nil || len(trail) != 3 || trail[1].Hash != second.Hash() || trail[1].Why != "meeting" {
		t.Errorf("trail %+v, %v; want the three choices", trail, err)
	}
	if d, err := b.ByName(ctx, "my-stops"); err != nil || d.Hash() != second.Hash() {
		t.Errorf("by name: %v; want the newest version", err)
	}
}

func TestRefusals(t *testing.T) {
	ctx, b := context.Background(), book(t)
	var problems definition.Problems
	for name, text := range map[string]string{
		"a misspelt field":                  strings.Replace(mine, "chance.points", "chance.point", 1),
		"an example that contradicts":       strings.Replace(mine, "stop: true", "stop: false", 1),
		"an expression that divides by nil": strings.Replace(mine, "chance.points == 0", "1/0 == chance.points", 1),
	} {
		if _, err := b.Save(ctx, []byte(text), "ana", "", time.Now()); !errors.As(err, &problems) {
			t.Errorf("%s: %v; want problems at their places", name, err)
		}
	}
	if _, err := b.Save(ctx, []byte(strings.Replace(mine, "my-stops", "ball-won", 1)), "ana", "", time.Now()); !errors.Is(err, rulebook.ErrShippedName) {
		t.Errorf("a shipped name: %v; want it refused", err)
	}
	if _, err := b.Choose(ctx, strings.Repeat("0", 64), "ana", "", time.Now()); !errors.Is(err, bus.ErrNotFound) {
		t.Errorf("a hash nobody saved: %v; want it not found", err)
	}
	if _, err := b.Choose(ctx, "in-force", "ana", "", time.Now()); !errors.Is(err, bus.ErrNotFound) {
		t.Errorf("a key that is no hash: %v; want it not found", err)
	}
	if _, err := rulebook.Over(nil).Save(ctx, []byte(mine), "ana", "", time.Now()); !errors.Is(err, bus.ErrReadOnly) {
		t.Errorf("a ledger without definitions: %v; want it read-only", err)
	}
}
