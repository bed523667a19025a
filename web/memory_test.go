package web

import (
	"context"
	"errors"
	"iter"
	"sync"

	"stopledger/events"
	"stopledger/events/bus"
)

// memory is a ledger in memory for the tests; full makes it refuse.
type memory struct {
	mu   sync.Mutex
	list []bus.Entry
	more chan struct{} // closed and renewed on each append
	full bool
}

func newMemory(list ...events.Event) *memory {
	m := &memory{more: make(chan struct{})}
	for _, e := range list {
		m.list = append(m.list, bus.Entry{Position: bus.Position(len(m.list) + 1), Event: e})
	}
	return m
}

func (m *memory) Append(_ context.Context, e *events.Event) (bus.Position, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.full {
		return 0, errors.New("no space left on device")
	}
	at := bus.Position(len(m.list) + 1)
	m.list = append(m.list, bus.Entry{Position: at, Event: *e})
	close(m.more)
	m.more = make(chan struct{})
	return at, nil
}

func (m *memory) Last(context.Context) (bus.Position, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return bus.Position(len(m.list)), nil
}

func (m *memory) Follow(ctx context.Context, after bus.Position) iter.Seq2[bus.Entry, error] {
	return func(yield func(bus.Entry, error) bool) {
		for {
			m.mu.Lock()
			list, more := m.list[after:], m.more
			m.mu.Unlock()
			for _, s := range list {
				after = s.Position
				if !yield(s, nil) {
					return
				}
			}
			select {
			case <-more:
			case <-ctx.Done():
				yield(bus.Entry{}, ctx.Err())
				return
			}
		}
	}
}

func (m *memory) setFull(full bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.full = full
}
