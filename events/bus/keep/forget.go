package keep

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

// The trail's words for forgetting.
const (
	forgotten  = "person-forgotten"
	remembered = "person-may-be-kept" // after new consent
)

// Gone is who was forgotten, by the hashes of their codes: a list of codes would
// itself say something of people.
type Gone map[string]bool

// Has reports whether a code was forgotten.
func (g Gone) Has(code events.Token) bool { return g[hashCode(code)] }

func hashCode(code events.Token) string {
	sum := sha256.Sum256([]byte("stopledger person " + code))
	return hex.EncodeToString(sum[:])
}

// Forgotten reads from the trail who was forgotten.
func Forgotten(ctx context.Context, l *bus.Ledger) (Gone, error) {
	gone, latest := make(Gone), make(map[string]time.Time)
	for n, err := range l.Trail(ctx) {
		if err != nil {
			return nil, fmt.Errorf("read who was forgotten: %w", err)
		}
		// By their times and not by their order: a restore appends older notes.
		if n.What != forgotten && n.What != remembered || n.At.Before(latest[n.About]) {
			continue
		}
		gone[n.About], latest[n.About] = n.What == forgotten, n.At
	}
	return gone, nil
}

// Forget erases a person's name and measurements: the value, its earlier values
// and their bytes in the store. The note comes first, so that a crash between
// the two leaves somebody forgotten whose bytes are erased by running it again,
// never the reverse. known is false if nothing was known of him.
func Forget(ctx context.Context, l *bus.Ledger, code events.Token, by string) (known bool, err error) {
	if !code.Valid() {
		return false, fmt.Errorf("forget %q: this is no player's code", code)
	}
	bucket, err := l.Bucket(ctx, bus.People)
	if err != nil {
		return false, fmt.Errorf("forget %s: %w", code, err)
	}
	_, err = bucket.Get(ctx, string(code))
	known = err == nil
	if err != nil && !errors.Is(err, bus.ErrNotFound) {
		return false, fmt.Errorf("forget %s: %w", code, err)
	}
	if err := l.Note(ctx, bus.TrailNote{Who: by, What: forgotten, About: hashCode(code)}); err != nil {
		return known, fmt.Errorf("forget %s: %w", code, err)
	}
	if err := bucket.Delete(ctx, string(code), bus.AnyRevision); err != nil {
		return known, fmt.Errorf("forget %s: %w", code, err)
	}
	return known, nil
}

// Remember lets a person be known again, when he has agreed to it anew. It
// brings nothing back.
func Remember(ctx context.Context, l *bus.Ledger, code events.Token, by string) error {
	if !code.Valid() {
		return fmt.Errorf("%q is no player's code", code)
	}
	return l.Note(ctx, bus.TrailNote{Who: by, What: remembered, About: hashCode(code)})
}

// ForgetInBackup takes a person out of a backup. The old file is overwritten
// before it is removed; a disk or a backup service that keeps copies of its own
// must be told by its own means.
func ForgetInBackup(dir string, code events.Token, note bus.TrailNote) (known bool, err error) {
	m, err := Check(dir)
	if err != nil {
		return false, err
	}
	path := filepath.Join(dir, peopleFile)
	list, err := readPeople(path)
	if err != nil {
		return false, err
	}
	rest := slices.DeleteFunc(slices.Clone(list), func(p events.Person) bool { return p.ID == code })
	known = len(rest) < len(list)
	var text bytes.Buffer
	if err := events.WritePeople(&text, rest); err != nil {
		return known, err
	}
	// A crash in between leaves a backup that Check refuses; the manifest is
	// mended by hand or the backup made anew, which is better than a person who
	// comes back.
	if err := overwrite(path); err != nil {
		return known, err
	}
	note.What, note.About = forgotten, hashCode(code)
	line, err := json.Marshal(note)
	if err != nil {
		return known, err
	}
	trail, err := os.ReadFile(filepath.Join(dir, trailFile))
	if err != nil {
		return known, err
	}
	err = errors.Join(replace(path, text.Bytes()), replace(filepath.Join(dir, trailFile), append(append(trail, line...), '\n')))
	if err != nil {
		return known, err
	}
	for _, name := range []string{peopleFile, trailFile} {
		if m.SHA256[name], err = hashFile(filepath.Join(dir, name)); err != nil {
			return known, err
		}
	}
	m.People = len(rest)
	return known, m.write(dir)
}

// overwrite replaces a file's bytes where they lie.
func overwrite(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	info, err := f.Stat()
	if err == nil {
		_, err = f.Write(bytes.Repeat([]byte{'\n'}, int(info.Size())))
	}
	return errors.Join(err, f.Sync(), f.Close())
}
