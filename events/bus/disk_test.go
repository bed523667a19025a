package bus_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"stopledger/events"
	"stopledger/events/bus"
)

// withSmallDisk plays a part in a process with a small disk of its own: a
// file system in memory, mounted in a name space that only that process sees.
func withSmallDisk(t *testing.T, part string) {
	t.Helper()
	dir := t.TempDir()
	p := prepare(t, part, dir)
	p.cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
	}
	if err := p.cmd.Start(); err != nil {
		t.Skipf("not tested: this system gives a process no name spaces of its own, so no small disk can be made: %v", err)
	}
	t.Cleanup(p.kill)
	first, _ := p.says()
	if strings.HasPrefix(first, "no mount") {
		t.Skipf("not tested: this system does not let a process mount a small disk: %s", first)
	}
	for {
		line, ok := p.says()
		if !ok {
			break
		}
		t.Log(line)
	}
	p.stop()
}

// smallDisk mounts 32 MB at dir.
func smallDisk(dir string) error {
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=32m"); err != nil {
		fmt.Println("no mount:", err)
		return nil
	}
	fmt.Println("mounted")
	return nil
}

func TestFullDisk(t *testing.T)           { withSmallDisk(t, "full") }
func TestFullDiskUnforeseen(t *testing.T) { withSmallDisk(t, "full-unforeseen") }
func TestReadOnlyDisk(t *testing.T)       { withSmallDisk(t, "read-only") }

// fillDisk: the disk fills up; appending is refused, what was acknowledged is
// readable, and once there is room appending works again.
func fillDisk(ctx context.Context, dir string) error { return fill(ctx, dir) }

// fillDiskUnforeseen does the same without looking at the disk first, so that the server's
// own write meets the full disk.
func fillDiskUnforeseen(ctx context.Context, dir string) error {
	bus.SetReserve(-1 << 40)
	return fill(ctx, dir)
}

func fill(ctx context.Context, dir string) error {
	if err := smallDisk(dir); err != nil {
		return err
	}
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	defer l.Close()
	ballast := filepath.Join(dir, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 16<<20), 0o600); err != nil {
		return err
	}
	big := strings.Repeat("x", 20_000)
	var stored []events.ID
	n := 0
	appendOne := func() error {
		n++
		e := note("hbr-mil", "pad1", n)
		e.Raw, e.Body = nil, &events.Noted{Text: big}
		_, err := l.Append(ctx, &e)
		if err == nil {
			stored = append(stored, e.ID)
		}
		return err
	}
	for err = appendOne(); err == nil && n < 5000; err = appendOne() {
	}
	if !errors.Is(err, bus.ErrFull) {
		return fmt.Errorf("after %d events: got %v, want that the disk is full", n, err)
	}
	fmt.Printf("refused after %d events: %v\n", len(stored), err)
	many := make([]events.Event, 3000)
	for i := range many {
		many[i] = note("kes-oda", "pad2", i+1)
		many[i].Raw, many[i].Body = nil, &events.Noted{Text: big}
	}
	if _, err := l.Load(ctx, each(many), nil); !errors.Is(err, bus.ErrFull) {
		return fmt.Errorf("load: got %v, want that the disk is full", err)
	}
	if err := os.Remove(ballast); err != nil {
		return err
	}
	for range 10 {
		if err := appendOne(); err != nil {
			return fmt.Errorf("with room again: %w", err)
		}
	}
	return mustHold(ctx, l, stored)
}

// mustHold looks for every acknowledged event, once and in order.
func mustHold(ctx context.Context, l *bus.Ledger, want []events.ID) error {
	next := 0
	for e, err := range l.ReadGame(ctx, "hbr-mil") {
		if err != nil {
			return err
		}
		if next < len(want) && e.ID == want[next] {
			next++
		}
	}
	if next != len(want) {
		return fmt.Errorf("of %d acknowledged events the first %d are there", len(want), next)
	}
	c, err := l.Inspect(ctx)
	if err == nil && !c.Sound() {
		err = fmt.Errorf("condition: %+v", c)
	}
	return err
}

// readOnlyDisk: the disk is made read-only, then a ledger is opened on it.
func readOnlyDisk(ctx context.Context, dir string) error {
	if err := smallDisk(dir); err != nil {
		return err
	}
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	e := note("hbr-mil", "pad1", 1)
	if _, err := l.Append(ctx, &e); err != nil {
		return err
	}
	l.Close()
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		return err
	}
	for _, o := range []bus.Options{{}, {ReadOnly: true}} {
		if _, err := bus.Open(ctx, dir, o); !errors.Is(err, bus.ErrReadOnly) {
			return fmt.Errorf("got %v, want that the directory is read-only", err)
		}
	}
	_, err = bus.Open(ctx, filepath.Join(dir, "new"), bus.Options{})
	if !errors.Is(err, bus.ErrReadOnly) {
		return fmt.Errorf("new directory: got %v, want that it is read-only", err)
	}
	return nil
}

// The server would go on writing into a directory that is no longer there.
func TestDirectoryVanishes(t *testing.T) {
	for name, vanish := range map[string]func(dir string) error{
		"removed": os.RemoveAll,
		"moved":   func(dir string) error { return os.Rename(dir, dir+"-elsewhere") },
		"another in its place": func(dir string) error {
			return errors.Join(os.Rename(dir, dir+"-elsewhere"), os.MkdirAll(dir, 0o700), os.WriteFile(filepath.Join(dir, "lock"), nil, 0o600))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "ledger")
			l := open(t, dir, bus.Options{})
			e := note("hbr-mil", "pad1", 1)
			mustAppend(t, l, e)
			if err := vanish(dir); err != nil {
				t.Fatal(err)
			}
			_, err := l.Append(t.Context(), &e)
			wantError(t, err, bus.ErrUnreachable)
			_, err = l.Load(t.Context(), each(notes(10, "hbr-mil")), nil)
			wantError(t, err, bus.ErrUnreachable)
			l.Close()
			if strings.Contains(name, "removed") {
				return
			}
			l = open(t, dir+"-elsewhere", bus.Options{})
			sameEvents(t, all(t, l.Read(t.Context(), 0)), []events.Event{e})
		})
	}
}
