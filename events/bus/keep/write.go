package keep

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

// Write copies a ledger into a folder that is new or empty. What cannot be read
// is left out and named in the manifest. The ledger may be charted into
// meanwhile: the copy is of what it held at the start.
func Write(ctx context.Context, l *bus.Ledger, dir string, progress func(done int)) (Manifest, error) {
	m := Manifest{Format: format, Ledger: l.String(), Made: time.Now().UTC(), SHA256: make(map[string]string)}
	if err := emptyDir(dir); err != nil {
		return m, fmt.Errorf("back up %s: %w", l, err)
	}
	for _, step := range []func() error{
		func() error { return m.copyEvents(ctx, l, dir, progress) },
		func() error { return m.copyPeople(ctx, l, dir) },
		func() error { return m.copyDefinitions(ctx, l, dir) },
		func() error { return m.copyTrail(ctx, l, dir) },
	} {
		if err := step(); err != nil {
			return m, fmt.Errorf("back up %s: %w", l, err)
		}
	}
	for _, name := range dataFiles {
		sum, err := hashFile(filepath.Join(dir, name))
		if err != nil {
			return m, fmt.Errorf("back up %s: %w", l, err)
		}
		m.SHA256[name] = sum
	}
	return m, m.write(dir)
}

func emptyDir(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	there, err := os.ReadDir(dir)
	if err == nil && len(there) > 0 {
		err = fmt.Errorf("%s is not empty; name a new folder", dir)
	}
	return err
}

// sheet is a file of a backup in the making.
type sheet struct {
	f *os.File
	*bufio.Writer
}

func newSheet(dir, name string) (*sheet, error) {
	f, err := os.OpenFile(filepath.Join(dir, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	return &sheet{f, bufio.NewWriterSize(f, 1<<18)}, nil
}

func (s *sheet) finish(err error) error {
	return errors.Join(err, s.Flush(), s.f.Sync(), s.f.Close())
}

func (m *Manifest) copyEvents(ctx context.Context, l *bus.Ledger, dir string, progress func(int)) error {
	lines, err := newSheet(dir, eventsFile)
	if err != nil {
		return err
	}
	places, err := newSheet(dir, positionsFile)
	if err != nil {
		return lines.finish(err)
	}
	err = func() error {
		for e, err := range l.Entries(ctx, 0) {
			var bad *events.LineError
			switch {
			case errors.As(err, &bad):
				m.Unreadable = append(m.Unreadable, bus.Fault{From: min(bus.Position(bad.Line), e.Position), To: e.Position, What: bad.Err.Error()})
				m.Last = e.Position
				continue
			case err != nil:
				return err
			case bytes.ContainsAny(e.Event.Raw, "\r\n"):
				m.Unreadable = append(m.Unreadable, bus.Fault{From: e.Position, To: e.Position, What: "it is not one line, and the format is one event a line"})
				m.Last = e.Position
				continue
			}
			lines.Write(e.Event.Raw)
			lines.WriteByte('\n')
			fmt.Fprintf(places, "%d %x %s\n", e.Position, e.Event.Sum(), e.Stored.UTC().Format(time.RFC3339Nano))
			m.Last, m.Events = e.Position, m.Events+1
			progress(m.Events)
		}
		return nil
	}()
	return errors.Join(lines.finish(err), places.finish(nil))
}

func (m *Manifest) copyPeople(ctx context.Context, l *bus.Ledger, dir string) error {
	out, err := newSheet(dir, peopleFile)
	if err != nil {
		return err
	}
	return out.finish(eachValue(ctx, l, bus.People, func(v bus.Value) error {
		m.People++
		out.Write(v.Bytes)
		return out.WriteByte('\n')
	}))
}

// storedValue is a line of definitions.jsonl.
type storedValue struct {
	Key   string `json:"key"`
	Value []byte `json:"value"` // base64
}

func (m *Manifest) copyDefinitions(ctx context.Context, l *bus.Ledger, dir string) error {
	out, err := newSheet(dir, definitionsFile)
	if err != nil {
		return err
	}
	enc := json.NewEncoder(out)
	return out.finish(eachValue(ctx, l, bus.Definitions, func(v bus.Value) error {
		return enc.Encode(storedValue{v.Key, v.Bytes})
	}))
}

// eachValue goes through a bucket. A ledger without it has nothing there.
func eachValue(ctx context.Context, l *bus.Ledger, name bus.BucketName, do func(bus.Value) error) error {
	b, err := l.Bucket(ctx, name)
	if errors.Is(err, bus.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	keys, err := b.Keys(ctx)
	if err != nil {
		return err
	}
	for _, key := range keys {
		v, err := b.Get(ctx, key)
		if errors.Is(err, bus.ErrNotFound) {
			continue // deleted since
		}
		if err == nil {
			err = do(v)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (m *Manifest) copyTrail(ctx context.Context, l *bus.Ledger, dir string) error {
	out, err := newSheet(dir, trailFile)
	if err != nil {
		return err
	}
	enc := json.NewEncoder(out)
	for n, err := range l.Trail(ctx) {
		if err == nil {
			err = enc.Encode(n)
		}
		if err != nil {
			return out.finish(err)
		}
	}
	return out.finish(nil)
}
