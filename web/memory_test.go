package web

import (
	"context"
	"errors"
	"iter"
	"sync"

	"stopledger/events"
)

// memory is a ledger in memory for the tests; full makes it refuse.
type memory struct {
	mu   sync.Mutex
	list []Stored
	more chan struct{} // closed and renewed on each append
	full bool
}

func newMemory(list ...events.Event) *memory {
	m := &memory{more: make(chan struct{})}
	for _, e := range list {
		m.list = append(m.list, Stored{uint64(len(m.list) + 1), e})
	}
	return m
}

func (m *memory) Append(_ context.Context, e *events.Event) (uint64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.full {
		return 0, errors.New("no space left on device")
	}
	at := uint64(len(m.list) + 1)
	m.list = append(m.list, Stored{at, *e})
	close(m.more)
	m.more = make(chan struct{})
	return at, nil
}

func (m *memory) Last(context.Context) (uint64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return uint64(len(m.list)), nil
}

func (m *memory) Follow(ctx context.Context, after uint64) iter.Seq2[Stored, error] {
	return func(yield func(Stored, error) bool) {
		for {
			m.mu.Lock()
			list, more := m.list[after:], m.more
			m.mu.Unlock()
			for _, s := range list {
				after = s.At
				if !yield(s, nil) {
					return
				}
			}
			select {
			case <-more:
			case <-ctx.Done():
				yield(Stored{}, ctx.Err())
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
