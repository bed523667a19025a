package bus_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

func TestTwoProcessesShareOneDirectory(t *testing.T) {
	dir := t.TempDir()
	here := open(t, dir, bus.Options{})
	first := note("hbr-mil", "pad1", 1)
	mustAppend(t, here, first)
	other := start(t, "append", dir, "pad2")
	other.mustSay("open")
	id, _ := other.says()
	for e, err := range here.Follow(t.Context(), 1) {
		if err != nil || string(e.Event.ID) != id {
			t.Fatalf("the other's first event is %s; followed %s, %v", id, e.Event.ID, err)
		}
		break
	}
	other.stop()
	if n := len(all(t, here.Read(t.Context(), 0))); n < 2 {
		t.Errorf("%d events", n)
	}
}

func TestSocketIsForItsOwnerAlone(t *testing.T) {
	dir := t.TempDir()
	l := open(t, dir, bus.Options{})
	info, err := os.Lstat(filepath.Join(dir, "ledger.sock"))
	if err != nil || info.Mode().Perm() != 0o600 || info.Mode().Type() != os.ModeSocket {
		t.Errorf("socket: %v, %v", info.Mode(), err)
	}
	l.Close()
	if _, err := os.Lstat(filepath.Join(dir, "ledger.sock")); !os.IsNotExist(err) {
		t.Errorf("socket after closing: %v", err)
	}
}

func TestDirectoryWithALongName(t *testing.T) {
	dir := filepath.Join(t.TempDir(), strings.Repeat("long-", 30), strings.Repeat("longer-", 20))
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	start(t, "serve", dir).mustSay("open")
	l := open(t, dir, bus.Options{})
	mustAppend(t, l, note("hbr-mil", "pad1", 1))
}

// A process that was killed leaves its lock free and its socket behind.
func TestStaleSocketIsReplaced(t *testing.T) {
	dir := t.TempDir()
	dead := start(t, "serve", dir)
	dead.mustSay("open")
	dead.kill()
	if _, err := os.Lstat(filepath.Join(dir, "ledger.sock")); err != nil {
		t.Fatalf("the test wants a stale socket: %v", err)
	}
	l := open(t, dir, bus.Options{})
	mustAppend(t, l, note("hbr-mil", "pad1", 1))
	other := start(t, "append", dir, "pad2") // through the new socket
	other.mustSay("open")
	if _, ok := other.says(); !ok {
		t.Error("the other process could not append")
	}
}

func TestLockedByAProcessThatDoesNotAnswer(t *testing.T) {
	dir := t.TempDir()
	f, err := os.Create(filepath.Join(dir, "lock"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	_, err = bus.Open(ctx, dir, bus.Options{})
	wantError(t, err, bus.ErrLocked)
}

func TestFollowerOutlastsTheServingProcess(t *testing.T) {
	dir := t.TempDir()
	server := start(t, "serve", dir)
	server.mustSay("open")
	l := open(t, dir, bus.Options{})
	want := notes(6, "hbr-mil")
	var got []events.Event
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	mustAppend(t, l, want[0])
	for e, err := range l.Follow(ctx, 0) {
		if err != nil {
			t.Fatal(err)
		}
		switch got = append(got, e.Event); len(got) {
		case 2, 4: // the server dies and another takes its place
			server.kill()
			server = start(t, "serve", dir)
			server.mustSay("open")
			fallthrough
		case 1, 3, 5:
			mustAppend(t, l, want[len(got)])
		case 6:
			cancel()
		}
	}
	sameEvents(t, got, want)
}

// When the process that served a directory is gone, one of those that worked
// through its socket takes its place, and nobody notices more than a pause.
func TestAnotherTakesOver(t *testing.T) {
	for name, end := range map[string]func(*child){"ended": (*child).stop, "killed": (*child).kill} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			server := start(t, "serve", dir)
			server.mustSay("open")
			l := open(t, dir, bus.Options{})
			want := notes(3, "hbr-mil")
			mustAppend(t, l, want[0])
			end(server)
			mustAppend(t, l, want[1])
			other := start(t, "append", dir, "pad2") // now through this process
			other.mustSay("open")
			other.stop()
			mustAppend(t, l, want[2])
			sameEvents(t, all(t, l.ReadGame(t.Context(), "hbr-mil"))[:2], want[:2])
		})
	}
}

// Many processes open one new directory at the same moment, and end one after
// the other; nothing that one of them was told is stored may be missing.
func TestManyOpenAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	var all4 []*child
	for _, pad := range []string{"pad1", "pad2", "pad3", "pad4"} {
		all4 = append(all4, start(t, "append", dir, pad))
	}
	for _, c := range all4 {
		c.mustSay("open")
	}
	stored := make(map[string]int)
	for _, c := range all4 {
		for range 25 {
			id, ok := c.says()
			if !ok {
				t.Fatalf("a process ended early: %s", c.err.String())
			}
			stored[id] = 0
		}
		c.stop()
	}
	for _, e := range all(t, open(t, dir, bus.Options{}).Read(t.Context(), 0)) {
		if _, ok := stored[string(e.ID)]; ok {
			stored[string(e.ID)]++
		}
	}
	for id, n := range stored {
		if n != 1 {
			t.Errorf("event %s is there %d times", id, n)
		}
	}
}

// A server elsewhere may be gone for good.
func TestServerGoneForGood(t *testing.T) {
	url, srv := runServer(t)
	l := open(t, url, bus.Options{})
	mustAppend(t, l, note("hbr-mil", "pad1", 1))
	srv.Shutdown()
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	e := note("hbr-mil", "pad1", 2)
	_, err := l.Append(ctx, &e)
	wantError(t, err, bus.ErrUnreachable)
}

func TestUnreachableServer(t *testing.T) {
	// Port 1 of the loopback address: nobody listens there.
	_, err := bus.Open(t.Context(), "nats://127.0.0.1:1", bus.Options{})
	wantError(t, err, bus.ErrUnreachable)
}

func TestReadOnly(t *testing.T) {
	dir := t.TempDir()
	_, err := bus.Open(t.Context(), dir, bus.Options{ReadOnly: true})
	wantError(t, err, bus.ErrNotFound)
	l := open(t, dir, bus.Options{})
	e := note("hbr-mil", "pad1", 1)
	mustAppend(t, l, e)
	l.Close()
	l = open(t, dir, bus.Options{ReadOnly: true})
	sameEvents(t, all(t, l.Read(t.Context(), 0)), []events.Event{e})
	_, err = l.Append(t.Context(), &e)
	wantError(t, err, bus.ErrReadOnly)
	_, err = l.Load(t.Context(), each([]events.Event{e}), nil)
	wantError(t, err, bus.ErrReadOnly)
	_, err = l.Bucket(t.Context(), bus.People)
	wantError(t, err, bus.ErrNotFound)
}

func TestClosedLedger(t *testing.T) {
	l := open(t, t.TempDir(), bus.Options{})
	l.Close()
	l.Close()
	e := note("hbr-mil", "pad1", 1)
	_, err := l.Append(t.Context(), &e)
	wantError(t, err, bus.ErrClosed)
	for _, err := range l.Read(t.Context(), 0) {
		wantError(t, err, bus.ErrClosed)
	}
}
