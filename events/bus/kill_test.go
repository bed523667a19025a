package bus_test

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

// A pad's process is killed again and again while it appends; what it was told
// is stored must be there, once, and the order of its events kept.
func TestKilledWhileAppending(t *testing.T) {
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(1, 2))
	var acknowledged []string
	for range rounds(5) {
		c := start(t, "append", dir, "pad1")
		c.mustSay("open")
		wait := time.AfterFunc(time.Duration(random.IntN(150))*time.Millisecond, func() { c.cmd.Process.Kill() })
		for {
			id, ok := c.says()
			if !ok {
				break
			}
			acknowledged = append(acknowledged, id)
		}
		wait.Stop()
		c.kill()
	}
	l := open(t, dir, bus.Options{})
	stored := all(t, l.Read(t.Context(), 0))
	times := make(map[string]int)
	next := 0
	for _, e := range stored {
		times[string(e.ID)]++
		if next < len(acknowledged) && string(e.ID) == acknowledged[next] {
			next++
		}
	}
	if next != len(acknowledged) {
		t.Errorf("of %d acknowledged events the first %d stand in their order", len(acknowledged), next)
	}
	for id, n := range times {
		if n != 1 {
			t.Errorf("event %s is stored %d times", id, n)
		}
	}
	// An event may be stored whose acknowledgement never came: one a round.
	if extra := len(stored) - len(acknowledged); extra > rounds(5) {
		t.Errorf("%d events were stored and not acknowledged", extra)
	}
	if c, err := l.Inspect(t.Context()); err != nil || !c.Sound() {
		t.Errorf("condition: %+v, %v", c, err)
	}
	t.Logf("%d acknowledged, %d stored", len(acknowledged), len(stored))
}

// A load is killed again and again and run again; it must end with the ledger
// of an undisturbed load.
func TestKilledWhileLoading(t *testing.T) {
	want := notes(8_000, "hbr-mil", "kes-oda")
	path := filepath.Join(t.TempDir(), "season.jsonl")
	writeLines(t, path, want)
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(3, 4))
	killed := 0
	for range rounds(4) {
		c := start(t, "load", dir, path)
		c.mustSay("open")
		for range random.IntN(5) {
			if line, ok := c.says(); !ok || line == "done" {
				break
			}
		}
		time.Sleep(time.Duration(random.IntN(20)) * time.Millisecond)
		c.kill()
		killed++
	}
	l := open(t, dir, bus.Options{})
	before := len(all(t, l.Read(t.Context(), 0)))
	rep := mustLoad(t, l, want)
	if rep.Added+before != len(want) || rep.AlreadyThere != before {
		t.Errorf("%d stood there after the kills; the load says %+v", before, rep)
	}
	sameEvents(t, all(t, l.Read(t.Context(), 0)), want)
	if c, err := l.Inspect(t.Context()); err != nil || !c.Sound() {
		t.Errorf("condition: %+v, %v", c, err)
	}
	t.Logf("killed %d times, %d of %d stood there", killed, before, len(want))
}

// rounds is fewer with -short.
func rounds(n int) int {
	if testing.Short() {
		return 1
	}
	return n
}

func writeLines(t testing.TB, path string, list []events.Event) {
	t.Helper()
	var text bytes.Buffer
	for _, e := range list {
		text.Write(e.Raw)
		text.WriteByte('\n')
	}
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}
