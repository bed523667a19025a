package keep_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/events/bus/keep"
)

func note(n int) events.Event {
	e := events.Event{
		V: 1, ID: events.ID(uuid.Must(uuid.NewV7()).String()), Game: "hbr-mil", Chart: "main", Charter: "ana", Pad: "p1", N: int64(n),
		Recorded: time.Date(2031, 1, 14, 19, 22, 7, 0, time.UTC), Type: "noted", Body: &events.Noted{Text: fmt.Sprintf("note %d", n)},
	}
	if err := e.Seal(); err != nil {
		panic(err)
	}
	return e
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

func open(t *testing.T, dir string) *bus.Ledger {
	t.Helper()
	l, err := bus.Open(t.Context(), dir, bus.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func silent(int) {}

// filled is a ledger with n events, two people (invented), a definition, a note.
func filled(t *testing.T, dir string, n int) *bus.Ledger {
	l := open(t, dir)
	list := make([]events.Event, n)
	for i := range list {
		list[i] = note(i + 1)
	}
	must(l.Load(t.Context(), each(list), nil))(t)
	people := must(l.Bucket(t.Context(), bus.People))(t)
	for _, p := range []events.Person{{ID: "mil-12", Name: "Invented Oakridge"}, {ID: "hbr-3", Name: "Invented Pell"}} {
		text, _ := json.Marshal(p)
		must(people.Put(t.Context(), string(p.ID), text, bus.AnyRevision))(t)
	}
	definitions := must(l.Bucket(t.Context(), bus.Definitions))(t)
	must(definitions.Put(t.Context(), "d1", []byte("name: x\n\x00"), bus.AnyRevision))(t)
	if err := l.Note(t.Context(), bus.TrailNote{Who: "test", What: "changed", About: "d1"}); err != nil {
		t.Fatal(err)
	}
	return l
}

func raw(t *testing.T, l *bus.Ledger) string {
	t.Helper()
	var text strings.Builder
	for e, err := range l.Entries(t.Context(), 0) {
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&text, "%d %s\n", e.Position, e.Event.Raw)
	}
	return text.String()
}

func TestWhatComesBackIsWhatWasCopied(t *testing.T) {
	dir := t.TempDir()
	from := filled(t, filepath.Join(dir, "from"), 2500)
	copied := filepath.Join(dir, "copy")
	m := must(keep.Write(t.Context(), from, copied, silent))(t)
	if m.Events != 2500 || m.Last != 2500 || m.People != 2 || len(m.Unreadable) != 0 {
		t.Errorf("manifest %+v", m)
	}
	to := open(t, filepath.Join(dir, "to"))
	for again := range 2 { // a restore that was killed is run again
		r := must(keep.Restore(t.Context(), copied, to, silent))(t)
		if r.MovedMany != 0 || r.Load.Added != 2500*(1-again) || r.People != 2*(1-again) {
			t.Errorf("restored %+v", r)
		}
	}
	if a, b := raw(t, from), raw(t, to); a != b {
		t.Error("positions or bytes differ")
	}
	d := must(must(to.Bucket(t.Context(), bus.Definitions))(t).Get(t.Context(), "d1"))(t)
	if string(d.Bytes) != "name: x\n\x00" {
		t.Errorf("definition %q", d.Bytes)
	}
	notes := 0
	for n, err := range to.Trail(t.Context()) {
		if notes++; err != nil || n.About != "d1" {
			t.Errorf("trail %+v, %v", n, err)
		}
	}
	if notes != 1 {
		t.Errorf("%d notes", notes)
	}
	// A backup is a ledger by itself.
	file := must(bus.Open(t.Context(), filepath.Join(copied, "events.jsonl"), bus.Options{ReadOnly: true}))(t)
	if last := must(file.Last(t.Context()))(t); last != 2500 {
		t.Errorf("the file holds %d", last)
	}
}

func TestADamagedBackupIsNotRestored(t *testing.T) {
	dir := t.TempDir()
	from := filled(t, filepath.Join(dir, "from"), 50)
	sound := filepath.Join(dir, "sound")
	must(keep.Write(t.Context(), from, sound, silent))(t)
	for name, spoil := range map[string]func(text []byte) []byte{
		"a flipped bit":   func(b []byte) []byte { b[len(b)/2] ^= 4; return b },
		"a lost line":     func(b []byte) []byte { return b[bytes.IndexByte(b, '\n')+1:] },
		"a cut-off end":   func(b []byte) []byte { return b[:len(b)-10] },
		"an added line":   func(b []byte) []byte { return append(b, b[:bytes.IndexByte(b, '\n')+1]...) },
		"an emptied file": func([]byte) []byte { return nil },
	} {
		for _, file := range []string{"events.jsonl", "positions.txt", "people.jsonl", "definitions.jsonl", "trail.jsonl"} {
			copied := filepath.Join(t.TempDir(), "copy")
			if err := os.CopyFS(copied, os.DirFS(sound)); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(copied, file)
			text := must(os.ReadFile(path))(t)
			if err := os.WriteFile(path, spoil(text), 0o600); err != nil {
				t.Fatal(err)
			}
			if _, err := keep.Check(copied); err == nil || !strings.Contains(err.Error(), file) {
				t.Errorf("%s in %s: %v", name, file, err)
			}
		}
	}
	if _, err := keep.Check(dir); !errors.Is(err, keep.ErrNoBackup) {
		t.Errorf("a folder that is none: %v", err)
	}
	if _, err := keep.Write(t.Context(), from, dir, silent); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("a folder in use: %v", err)
	}
}

// A person forgotten stays forgotten: in the ledger's files, after a restore of
// an older backup into the same ledger, and in a backup that was told.
func TestForgottenIsForgotten(t *testing.T) {
	dir := t.TempDir()
	home := filepath.Join(dir, "ledger")
	l := filled(t, home, 10)
	early := filepath.Join(dir, "early")
	must(keep.Write(t.Context(), l, early, silent))(t)
	if known := must(keep.Forget(t.Context(), l, "mil-12", "test"))(t); !known {
		t.Error("he was not known")
	}
	late := filepath.Join(dir, "late")
	must(keep.Write(t.Context(), l, late, silent))(t)

	if r := must(keep.Restore(t.Context(), early, l, silent))(t); r.Forgotten != 1 || r.People != 0 {
		t.Errorf("an early backup into this ledger: %+v", r)
	}
	fresh := open(t, filepath.Join(dir, "fresh")) // the late backup's trail tells a new ledger
	must(keep.Restore(t.Context(), late, fresh, silent))(t)
	if r := must(keep.Restore(t.Context(), early, fresh, silent))(t); r.Forgotten != 1 {
		t.Errorf("an early backup behind a late one: %+v", r)
	}
	if known := must(keep.ForgetInBackup(early, "mil-12", bus.TrailNote{Who: "test", At: time.Now().UTC()}))(t); !known {
		t.Error("the early backup did not know him")
	}
	must(keep.Check(early))(t)
	other := open(t, filepath.Join(dir, "other"))
	if r := must(keep.Restore(t.Context(), early, other, silent))(t); r.People != 1 {
		t.Errorf("a backup that was told: %+v", r)
	}
	l.Close()
	for _, where := range []string{home, early, late} {
		walkFor(t, where, "Oakridge")
	}

	if err := keep.Remember(t.Context(), other, "mil-12", "test"); err != nil {
		t.Fatal(err)
	}
	if gone := must(keep.Forgotten(t.Context(), other))(t); gone.Has("mil-12") || gone.Has("hbr-3") {
		t.Errorf("still forgotten: %v", gone)
	}
}

// walkFor looks for a name in every byte under a folder.
func walkFor(t *testing.T, dir, name string) {
	t.Helper()
	err := filepath.Walk(dir, func(path string, info os.FileInfo, err error) error {
		if err != nil || !info.Mode().IsRegular() {
			return err
		}
		text, err := os.ReadFile(path)
		if bytes.Contains(text, []byte(name)) {
			t.Errorf("%s is in %s", name, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
