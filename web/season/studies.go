package season

import (
	"fmt"
	"sync"

	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay/evidence"
)

// studies are what a view was asked before: a page asks one view many things.
type studies struct {
	mu     sync.Mutex
	byHash []*metrics.Study
	parts  []narrowed
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

func (s *studies) of(v *View, d *definition.Definition) *metrics.Study {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, st := range s.byHash {
		if st.Definition.Hash() == d.Hash() {
			return st
		}
	}
	st := metrics.NewStudy(d, v.Columns, metrics.StudyOptions{Games: v.Games})
	s.byHash = append(s.byHash, st)
	if len(s.byHash) > maxStudies {
		s.byHash = s.byHash[1:]
	}
	return st
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
