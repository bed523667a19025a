package keep

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"

	"stopledger/events"
	"stopledger/events/bus"
)

// Check reads a backup through and compares it with its manifest: every file
// with its hash, every event with its position's line.
func Check(dir string) (Manifest, error) {
	m, err := readManifest(dir)
	if err != nil {
		return m, err
	}
	for _, name := range dataFiles {
		sum, err := hashFile(filepath.Join(dir, name))
		if err != nil {
			return m, fmt.Errorf("check backup %s: %w", dir, err)
		}
		if sum != m.SHA256[name] {
			return m, fmt.Errorf("check backup %s: %s is not as it was written: its SHA-256 is %s, the manifest says %s", dir, name, sum, m.SHA256[name])
		}
	}
	n := 0
	for _, err := range entries(dir) {
		if err != nil {
			return m, fmt.Errorf("check backup %s: %w", dir, err)
		}
		n++
	}
	if n != m.Events {
		return m, fmt.Errorf("check backup %s: it holds %d events, the manifest says %d", dir, n, m.Events)
	}
	return m, nil
}

// entries reads events and positions side by side.
func entries(dir string) iter.Seq2[bus.Entry, error] {
	return func(yield func(bus.Entry, error) bool) {
		lines, err := os.Open(filepath.Join(dir, eventsFile))
		if err != nil {
			yield(bus.Entry{}, err)
			return
		}
		defer lines.Close()
		places, err := os.Open(filepath.Join(dir, positionsFile))
		if err != nil {
			yield(bus.Entry{}, err)
			return
		}
		defer places.Close()
		place := bufio.NewScanner(places)
		for e, err := range events.ReadLines(lines) {
			entry := bus.Entry{Event: e}
			if err == nil {
				entry.Position, err = readPlace(place, &e)
			}
			if !yield(entry, err) || err != nil {
				return
			}
		}
	}
}

func readPlace(in *bufio.Scanner, e *events.Event) (at bus.Position, err error) {
	if !in.Scan() {
		return 0, fmt.Errorf("%s ends before event %s: %w", positionsFile, e.ID, errors.Join(in.Err(), io.ErrUnexpectedEOF))
	}
	var sum string
	if _, err := fmt.Sscanf(in.Text(), "%d %s", &at, &sum); err != nil {
		return 0, fmt.Errorf("%s: %q: %w", positionsFile, in.Text(), err)
	}
	if have := e.Sum(); sum != hex.EncodeToString(have[:]) {
		return at, fmt.Errorf("event %s at position %d is not the one that was copied", e.ID, at)
	}
	return at, nil
}

// Restored is what a restore did.
type Restored struct {
	Manifest  Manifest
	Load      bus.LoadReport
	People    int // brought back
	Forgotten int // left out because they were forgotten, here or in the backup
	// Moved is the first event whose position is not that of the backup, and how
	// many there are. A ledger restored into an empty directory has none unless
	// the original stored repeats or had lost events.
	Moved     bus.Entry
	MovedMany int
}

// Restore checks a backup, brings it into a ledger, and compares the ledger
// with it: every event must be there with the same bytes, in the same order.
// Run again after a crash it adds what is missing.
func Restore(ctx context.Context, dir string, l *bus.Ledger, progress func(done int)) (Restored, error) {
	var r Restored
	var err error
	if r.Manifest, err = Check(dir); err != nil {
		return r, err
	}
	in := func(yield func(events.Event, error) bool) {
		for e, err := range entries(dir) {
			if !yield(e.Event, err) {
				return
			}
		}
	}
	r.Load, err = l.Load(ctx, in, func(rep bus.LoadReport) { progress(rep.Read) })
	if err == nil && len(r.Load.Refused) > 0 {
		err = fmt.Errorf("%d events of the backup are refused; the first: %w", len(r.Load.Refused), r.Load.Refused[0].Err)
	}
	if err == nil {
		err = restoreTrail(ctx, dir, l)
	}
	if err == nil {
		err = r.restorePeople(ctx, dir, l)
	}
	if err == nil {
		err = restoreDefinitions(ctx, dir, l)
	}
	if err == nil {
		err = r.compare(ctx, dir, l)
	}
	if err != nil {
		return r, fmt.Errorf("restore %s into %s: %w", dir, l, err)
	}
	return r, nil
}

// compare walks ledger and backup together. What the ledger has besides is
// passed over.
func (r *Restored) compare(ctx context.Context, dir string, l *bus.Ledger) error {
	next, stop := iter.Pull2(entries(dir))
	defer stop()
	type key struct {
		id  events.ID
		sum events.Sum
	}
	seen := make(map[key]bool)
	want, err, more := next()
	for have, readErr := range l.Entries(ctx, 0) {
		if readErr != nil {
			return fmt.Errorf("read it back: %w", readErr)
		}
		for more && err == nil && seen[key{want.Event.ID, want.Event.Sum()}] { // a repeat, stored once here
			want, err, more = next()
		}
		if err != nil || !more {
			break
		}
		if have.Event.ID != want.Event.ID || !bytes.Equal(have.Event.Raw, want.Event.Raw) {
			continue
		}
		seen[key{have.Event.ID, have.Event.Sum()}] = true
		if have.Position != want.Position {
			if r.MovedMany++; r.MovedMany == 1 {
				r.Moved = want
			}
		}
		want, err, more = next()
	}
	for more && err == nil && seen[key{want.Event.ID, want.Event.Sum()}] {
		want, err, more = next()
	}
	if err == nil && more {
		err = fmt.Errorf("event %s of position %d is not there, or not in its order", want.Event.ID, want.Position)
	}
	return err
}

func (r *Restored) restorePeople(ctx context.Context, dir string, l *bus.Ledger) error {
	gone, err := Forgotten(ctx, l)
	if err != nil {
		return err
	}
	list, err := readPeople(filepath.Join(dir, peopleFile))
	if err != nil {
		return err
	}
	bucket, err := l.Bucket(ctx, bus.People)
	if err != nil {
		return err
	}
	for _, p := range list {
		if gone.Has(p.ID) {
			r.Forgotten++
			continue
		}
		text, err := json.Marshal(p)
		if err != nil {
			return err
		}
		_, err = bucket.Put(ctx, string(p.ID), text, bus.NoRevision)
		if err != nil && !errors.Is(err, bus.ErrConflict) { // what the ledger knows is newer
			return err
		}
		if err == nil {
			r.People++
		}
	}
	return nil
}

func readPeople(path string) ([]events.Person, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return events.ReadPeople(f)
}

func restoreDefinitions(ctx context.Context, dir string, l *bus.Ledger) error {
	bucket, err := l.Bucket(ctx, bus.Definitions)
	if err != nil {
		return err
	}
	return eachLine(filepath.Join(dir, definitionsFile), func(v storedValue) error {
		_, err := bucket.Put(ctx, v.Key, v.Value, bus.NoRevision)
		if errors.Is(err, bus.ErrConflict) {
			return nil
		}
		return err
	})
}

// restoreTrail adds the notes that the ledger does not have.
func restoreTrail(ctx context.Context, dir string, l *bus.Ledger) error {
	var have []bus.TrailNote
	for n, err := range l.Trail(ctx) {
		if err != nil {
			return err
		}
		have = append(have, n)
	}
	return eachLine(filepath.Join(dir, trailFile), func(n bus.TrailNote) error {
		if slices.Contains(have, n) {
			return nil
		}
		return l.Note(ctx, n)
	})
}

func eachLine[T any](path string, do func(T) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	in := json.NewDecoder(f)
	for {
		var v T
		if err := in.Decode(&v); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return fmt.Errorf("read %s: %w", path, err)
		}
		if err := do(v); err != nil {
			return err
		}
	}
}
