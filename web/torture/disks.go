package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"stopledger/events"
)

// smallDisk mounts a disk in memory, or says why not.
func smallDisk(dir string, megabytes int) (unmount func(), err error) {
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%dm", megabytes)); err != nil {
		return nil, fmt.Errorf("mount a small disk: %w", err)
	}
	return func() { _ = syscall.Unmount(dir, syscall.MNT_DETACH) }, nil
}

// noDisk ends a round that needs to mount: without the right to, it says so.
func noDisk(err error, r *row) error {
	if errors.Is(err, syscall.EPERM) {
		r.note = "NOT RUN: mounting a small disk takes root"
		return nil
	}
	return err
}

// diskFull fills the disk under a server while pads chart, and makes room again.
func diskFull(ctx context.Context, dir string, s size, r *row) error {
	unmount, err := smallDisk(dir, 24)
	if err != nil {
		return noDisk(err, r)
	}
	defer unmount()
	ballast := filepath.Join(dir, "ballast")
	return chartInto(ctx, filepath.Join(dir, "ledger"), s.of(8000, 3000), r, "no room", func() error {
		r.times++
		err := os.WriteFile(ballast, make([]byte, 64<<20), 0o600) // as much as goes
		if err == nil {
			return errors.New("the disk did not fill")
		}
		return nil
	}, func() error { return os.Remove(ballast) })
}

// vanished moves the directory away under a server, and back.
func vanished(ctx context.Context, dir string, s size, r *row) error {
	ledger, elsewhere := filepath.Join(dir, "ledger"), filepath.Join(dir, "elsewhere")
	return chartInto(ctx, ledger, s.of(8000, 900), r, "moved or removed", func() error {
		r.times++
		return os.Rename(ledger, elsewhere)
	}, func() error { return os.Rename(elsewhere, ledger) })
}

// chartInto charts; when an eighth is safe it breaks the disk, waits until a pad
// is told why nothing is stored, mends it, and wants all of it safe in the end.
func chartInto(ctx context.Context, ledger string, n int, r *row, reason string, spoil, mend func() error) error {
	h := &host{dir: ledger}
	if err := h.start(); err != nil {
		return err
	}
	var count atomic.Int64
	var mu sync.Mutex
	said := ""
	var sent []events.Event
	var pads []*pad
	for _, name := range []events.Token{"p1", "p2", "p3", "p4"} {
		list := notes("hbr-mil", name, 1, n/4, evening)
		p := newPad(h.address, list, &count)
		p.trouble = func(reason string) {
			mu.Lock()
			defer mu.Unlock()
			said = reason
		}
		pads, sent = append(pads, p), append(sent, list...)
	}
	broken := make(chan error, 1)
	go func() {
		for count.Load() < int64(n/8) && ctx.Err() == nil {
			time.Sleep(time.Millisecond)
		}
		err := spoil()
		for i := 0; err == nil && ctx.Err() == nil; i++ {
			mu.Lock()
			heard := said
			mu.Unlock()
			if strings.Contains(heard, reason) {
				break
			}
			if i == 3000 {
				err = fmt.Errorf("no pad was told %q; the last it was told is %q", reason, heard)
			}
			time.Sleep(10 * time.Millisecond)
		}
		broken <- errors.Join(err, mend())
	}()
	err := r.finish(ctx, h, sent, pads...)
	if r.note == "" {
		r.note = "told: " + said
	}
	return errors.Join(err, <-broken)
}

// diskReadOnly opens a ledger on a disk that cannot be written to, which must
// be refused in words, and then on the same disk made writable.
func diskReadOnly(ctx context.Context, dir string, s size, r *row) error {
	unmount, err := smallDisk(dir, 24)
	if err != nil {
		return noDisk(err, r)
	}
	defer unmount()
	ledger := filepath.Join(dir, "ledger")
	h := &host{dir: ledger}
	if err := h.start(); err != nil {
		return err
	}
	list := notes("hbr-mil", "p1", 1, s.of(1000, 100), evening)
	var count atomic.Int64
	first := newPad(h.address, list[:len(list)/2], &count)
	if err := errors.Join(first.chart(ctx), h.now.stop()); err != nil {
		return err
	}
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		return fmt.Errorf("make the disk read-only: %w", err)
	}
	r.times = 1
	if err := h.start(); err == nil || !strings.Contains(err.Error(), "read-only") {
		r.wrongf("opened on a read-only disk: %v", err)
	} else {
		r.note = "told: " + lastLine(err.Error())
	}
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT, ""); err != nil {
		return fmt.Errorf("make the disk writable: %w", err)
	}
	if err := h.start(); err != nil {
		return err
	}
	return r.finish(ctx, h, list, first, newPad(h.address, list[len(list)/2:], &count))
}

func lastLine(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return lines[len(lines)-1]
}
