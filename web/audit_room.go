package web

import (
	"sync"

	"stopledger/events"
)

// audits remembers what was worked out of games. What is kept is named by the
// digests it was made from, so it never goes stale, only out.
type audits struct {
	mu      sync.Mutex
	games   map[events.Token]*auditRow // by game, replaced when its digest moves
	kept    map[string]*worked
	order   []string // of kept, the oldest first
	writing sync.Mutex
}

// worked is one result, worked out once however many ask for it at a time.
type worked struct {
	once  sync.Once
	value any
	err   error
}

// maxWorked bounds what is kept beside the rows of the list of games.
const maxWorked = 48

func newAudits() *audits {
	return &audits{games: make(map[events.Token]*auditRow), kept: make(map[string]*worked)}
}

// workOut gives what make once made under a key.
func workOut[T any](a *audits, key string, make func() (T, error)) (T, error) {
	a.mu.Lock()
	w, ok := a.kept[key]
	if !ok {
		w = &worked{}
		a.kept[key] = w
		if a.order = append(a.order, key); len(a.order) > maxWorked {
			delete(a.kept, a.order[0])
			a.order = a.order[1:]
		}
	}
	a.mu.Unlock()
	w.once.Do(func() { w.value, w.err = make() })
	v, _ := w.value.(T)
	return v, w.err
}

// row gives a game's row of the list, made anew only when the game moved.
func (a *audits) row(game events.Token, digest string, make func() *auditRow) *auditRow {
	a.mu.Lock()
	row := a.games[game]
	a.mu.Unlock()
	if row != nil && row.Digest == digest {
		return row
	}
	row = make()
	a.mu.Lock()
	a.games[game] = row
	a.mu.Unlock()
	return row
}
