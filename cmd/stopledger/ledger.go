package main

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"strconv"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

// open opens the ledger that --ledger names, to be read.
func (a *app) open(ctx context.Context) (*bus.Ledger, error) {
	return bus.Open(ctx, a.ledger, bus.Options{ReadOnly: true, Log: a.log})
}

// openForWriting opens it to be added to, and makes it if it is missing.
func (a *app) openForWriting(ctx context.Context) (*bus.Ledger, error) {
	return bus.Open(ctx, a.ledger, bus.Options{Log: a.log})
}

// read yields the ledger's events, up to --as-of where it is given. Lines that
// are no events come as *events.LineError.
func (a *app) read(ctx context.Context, l *bus.Ledger) iter.Seq2[events.Event, error] {
	if a.asOf == "" {
		return l.Read(ctx, 0)
	}
	stop, err := parseMoment(a.asOf)
	if err != nil {
		return failing(err)
	}
	return func(yield func(events.Event, error) bool) {
		for entry, err := range l.Entries(ctx, 0) {
			if stop.before(entry) {
				if stop.position > 0 {
					return
				}
				continue // stored later, though it may stand before one stored in time
			}
			if !yield(entry.Event, err) || stop.id != "" && err == nil && entry.Event.ID == stop.id {
				return
			}
		}
		if stop.id != "" {
			yield(events.Event{}, fmt.Errorf("--as-of %s: no such event in %s", stop.id, l))
		}
	}
}

// moment is where --as-of ends the reading: one of the three is set.
type moment struct {
	position bus.Position
	id       events.ID
	time     time.Time
}

func parseMoment(text string) (moment, error) {
	if n, err := strconv.ParseUint(text, 10, 63); err == nil && n > 0 {
		return moment{position: bus.Position(n)}, nil
	}
	if id := events.ID(text); id.Valid() {
		return moment{id: id}, nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return moment{}, fmt.Errorf("--as-of %q: want a time such as 2031-01-14T19:30:00Z, an event's id or a position", text)
	}
	return moment{time: t}, nil
}

// before reports whether the moment lies before an entry. A file has no time
// of storing; there the device's own clock counts.
func (m moment) before(e bus.Entry) bool {
	if m.position > 0 {
		return e.Position > m.position
	}
	if m.time.IsZero() {
		return false
	}
	stored := e.Stored
	if stored.IsZero() {
		stored = e.Event.Recorded
	}
	return stored.After(m.time)
}

func failing(err error) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) { yield(events.Event{}, err) }
}

// warnings passes events on and counts lines that are none, so that a command
// can say how many it went on without.
func (a *app) warnings(in iter.Seq2[events.Event, error], bad *int) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for e, err := range in {
			var line *events.LineError
			if errors.As(err, &line) {
				*bad++
				a.log.Warn().Err(err).Msg("passed over")
			}
			if !yield(e, err) {
				return
			}
		}
	}
}

// people reads what the ledger knows of people. A ledger without that bucket
// knows nobody.
func people(ctx context.Context, l *bus.Ledger) ([]events.Person, error) {
	bucket, err := l.Bucket(ctx, bus.People)
	if errors.Is(err, bus.ErrNotFound) || errors.Is(err, bus.ErrReadOnly) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("open the people of %s: %w", l, err)
	}
	keys, err := bucket.Keys(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the people of %s: %w", l, err)
	}
	var list []events.Person
	for _, key := range keys {
		v, err := bucket.Get(ctx, key)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", key, err)
		}
		p, err := events.ReadPerson(v.Bytes)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", key, err)
		}
		list = append(list, p)
	}
	return list, nil
}
