package season

import (
	"fmt"
	"slices"
	"sync"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay/evidence"
)

// studies are what a view was asked before: a page asks one view many things.
type studies struct {
	mu     sync.Mutex
	byHash []*studied
	parts  []narrowed
	before *studies // those of the season before the last event
}

// studied is a study with the reports that were asked of it.
type studied struct {
	*metrics.Study
	fit   sync.Once
	quick bool // began from an earlier study

	mu       sync.Mutex
	profiles map[events.Token]*report
}

type report struct {
	once    sync.Once
	profile *metrics.Profile
	err     error
}

type narrowed struct {
	key  string
	view *View
}

// How many are kept of each; the oldest goes first.
const (
	maxStudies = 4
	maxParts   = 6
)

func (s *studies) of(v *View, d *definition.Definition) *studied {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, st := range s.byHash {
		if st.Definition.Hash() == d.Hash() {
			return st
		}
	}
	options := metrics.StudyOptions{Games: v.Games}
	if s.before != nil {
		options.After = s.before.known(d.Hash())
	}
	st := &studied{Study: metrics.NewStudy(d, v.Columns, options), quick: options.After != nil, profiles: make(map[events.Token]*report)}
	s.byHash = append(s.byHash, st)
	if len(s.byHash) > maxStudies {
		s.byHash = s.byHash[1:]
	}
	return st
}

// after makes earlier studies the beginning of these. What came before them is
// let go.
func (s *studies) after(before *studies) {
	before.mu.Lock()
	before.before = nil
	before.mu.Unlock()
	s.before = before
}

// known is a study that was made under a definition, or nil.
func (s *studies) known(hash string) *metrics.Study {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, st := range s.byHash {
		if st.Definition.Hash() == hash {
			return st.Study
		}
	}
	return nil
}

func (s *studies) anyQuick() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.ContainsFunc(s.byHash, func(st *studied) bool { return st.quick })
}

func (s *studies) definitions() []*definition.Definition {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []*definition.Definition
	for _, st := range s.byHash {
		list = append(list, st.Definition)
	}
	return list
}

// fitted fits both targets, side by side, the first time.
func (st *studied) fitted() *metrics.Study {
	st.fit.Do(func() {
		var wg sync.WaitGroup
		for _, t := range []metrics.Target{metrics.Process, metrics.Result} {
			wg.Go(func() { _, _ = st.Warnings(t) }) // an error comes again with the number that needs the fit
		}
		wg.Wait()
	})
	return st.Study
}

// profile reports on a player once, however many ask.
func (st *studied) profile(id events.Token) (*metrics.Profile, error) {
	st.mu.Lock()
	r, ok := st.profiles[id]
	if !ok {
		r = &report{}
		st.profiles[id] = r
	}
	st.mu.Unlock()
	r.once.Do(func() { r.profile, r.err = st.fitted().Profile(id) })
	return r.profile, r.err
}

func (s *studies) narrowed(filters []evidence.Filter, make func() (*View, error)) (*View, error) {
	key := fmt.Sprintf("%q", filters)
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.parts {
		if p.key == key {
			return p.view, nil
		}
	}
	part, err := make()
	if err != nil {
		return nil, err
	}
	s.parts = append(s.parts, narrowed{key, part})
	if len(s.parts) > maxParts {
		s.parts = s.parts[1:]
	}
	return part, nil
}
