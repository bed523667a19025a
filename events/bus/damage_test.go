package bus_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"stopledger/events"
	"stopledger/events/bus"
)

// block is the file in which the store keeps a ledger's first events.
func block(dir string) string {
	return filepath.Join(dir, "jetstream", "$G", "streams", "LEDGER", "msgs", "1.blk")
}

// A ledger is closed or its process killed, its bytes are spoilt, and it is
// opened again. Every sound event must be readable, and the damage told.
func TestDamagedStore(t *testing.T) {
	const n = 1200
	for _, tc := range []struct {
		name  string
		lost  int // events that no longer exist in the files
		spoil func(text []byte, list []events.Event) []byte
	}{
		{"one letter of one event", 1, func(text []byte, list []events.Event) []byte {
			text[bytes.Index(text, list[600].Raw)+200] ^= 0x20
			return text
		}},
		{"the length of one record", 1, func(text []byte, list []events.Event) []byte {
			at := bytes.LastIndex(text[:bytes.Index(text, list[300].Raw)], []byte("ledger.hbr-mil"))
			text[at-21] ^= 0x01
			return text
		}},
		{"the sequence of one record, by 10^15", 1, func(text []byte, list []events.Event) []byte {
			at := bytes.LastIndex(text[:bytes.Index(text, list[300].Raw)], []byte("ledger.hbr-mil"))
			text[at-12] ^= 0x04
			return text
		}},
		{"a hole in the middle", 3, func(text []byte, list []events.Event) []byte {
			from, to := bytes.Index(text, list[400].Raw), bytes.Index(text, list[402].Raw)
			copy(text[from:to+10], make([]byte, to+10-from))
			return text
		}},
		{"the end cut off", 200, func(text []byte, list []events.Event) []byte {
			return text[:bytes.Index(text, list[1000].Raw)+50]
		}},
	} {
		for _, killed := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, killed %t", tc.name, killed), func(t *testing.T) {
				dir, list := t.TempDir(), notes(n, "hbr-mil", "kes-oda")
				fillAndEnd(t, dir, list, killed)
				text, err := os.ReadFile(block(dir))
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(block(dir), tc.spoil(text, list), 0o600); err != nil {
					t.Fatal(err)
				}
				l := open(t, dir, bus.Options{})
				have := make(map[events.ID]string)
				for e, err := range l.Read(t.Context(), 0) {
					var line *events.LineError
					if err != nil && !errors.As(err, &line) {
						t.Fatal(err)
					}
					if err == nil {
						have[e.ID] = string(e.Raw)
					}
				}
				missing := 0
				for _, e := range list {
					if raw, ok := have[e.ID]; !ok {
						missing++
					} else if raw != string(e.Raw) {
						t.Errorf("event %s reads %s", e.ID, raw)
					}
				}
				if missing != tc.lost {
					t.Errorf("%d events are missing, want %d", missing, tc.lost)
				}
				c, err := l.Inspect(t.Context())
				if err != nil {
					t.Fatal(err)
				}
				// An end that is cut off a killed ledger's file cannot be told from a
				// write that was never finished; the pads' own counting tells it.
				if c.Sound() && !(killed && tc.name == "the end cut off") {
					t.Error("the damage was not found")
				}
				t.Logf("%d of %d events are whole; %v", c.Events, n, c.Faults)
				mustAppend(t, l, note("hbr-mil", "pad2", 1))
				if rep := mustLoad(t, l, list); rep.Added != tc.lost { // from a backup
					t.Errorf("%d events brought back, want %d", rep.Added, tc.lost)
				}
				l.Close()
				open(t, dir, bus.Options{})
				if copies, _ := filepath.Glob(filepath.Join(dir, "damaged", "*.blk")); len(copies) > 1 {
					t.Errorf("the same damage was set aside again: %v", copies)
				}
			})
		}
	}
}

// fillAndEnd loads a list into a new ledger in another process, which ends in
// order or is killed.
func fillAndEnd(t *testing.T, dir string, list []events.Event, kill bool) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "list.jsonl")
	writeLines(t, path, list)
	c := start(t, "load-and-wait", dir, path)
	c.mustSay("open")
	for line, ok := c.says(); ok && line != "done"; line, ok = c.says() {
	}
	if kill {
		c.kill()
	} else {
		c.stop()
	}
}

// The guard reads the server's files by itself; here it must find in them what
// was stored. Were the server to change its files, this test would say so.
func TestGuardReadsWhatTheServerWrote(t *testing.T) {
	dir, want := t.TempDir(), notes(2000, "hbr-mil", "kes-oda")
	l := open(t, dir, bus.Options{})
	mustAppend(t, l, want[0])
	mustLoad(t, l, want[1:])
	l.Close()
	text, err := os.ReadFile(block(dir))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	gaps, err := bus.WalkBlock(1, text, func(at bus.Position, message []byte) {
		if int(at) != n+1 || string(message) != string(want[n].Raw) {
			t.Fatalf("position %d holds %s", at, message)
		}
		n++
	})
	if err != nil || len(gaps) != 0 || n != len(want) {
		t.Errorf("%d events, gaps %v, %v", n, gaps, err)
	}
}

// An erased value must not be anywhere in the directory, nor a changed one.
func TestErasedForGood(t *testing.T) {
	dir := t.TempDir()
	l := open(t, dir, bus.Options{})
	ctx := t.Context()
	people, err := l.Bucket(ctx, bus.People)
	if err != nil {
		t.Fatal(err)
	}
	put := func(key, value string) {
		if _, err := people.Put(ctx, key, []byte(value), bus.AnyRevision); err != nil {
			t.Fatal(err)
		}
	}
	put("mil-12", `{"id":"mil-12","name":"Invented Nameone"}`)
	put("mil-13", `{"id":"mil-13","name":"Invented Staying"}`)
	put("mil-12", `{"id":"mil-12","name":"Invented Nametwo"}`)
	if !holds(t, dir, "Nametwo") {
		t.Fatal("the test does not look where the values are stored")
	}
	if holds(t, dir, "Nameone") {
		t.Error("the value before the change is still in the store")
	}
	if err := people.Delete(ctx, "mil-12", bus.AnyRevision); err != nil {
		t.Fatal(err)
	}
	if holds(t, dir, "Nametwo") {
		t.Error("the erased value is still in the store")
	}
	l.Close()
	if holds(t, dir, "Nametwo") || holds(t, dir, "Nameone") {
		t.Error("the erased value is back in the store after closing")
	}
	l = open(t, dir, bus.Options{})
	if people, err = l.Bucket(ctx, bus.People); err != nil {
		t.Fatal(err)
	}
	_, err = people.Get(ctx, "mil-12")
	wantError(t, err, bus.ErrNotFound)
	if v, err := people.Get(ctx, "mil-13"); err != nil || !bytes.Contains(v.Bytes, []byte("Staying")) {
		t.Errorf("the other person: %s, %v", v.Bytes, err)
	}
}

func holds(t *testing.T, dir, text string) bool {
	found := false
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		b, err := os.ReadFile(path)
		found = found || bytes.Contains(b, []byte(text))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}
