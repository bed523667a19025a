package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Measure is a number that settling may move, such as a prospect's stop rate
// under the definition in force. Of reads it off the chart of record of a game;
// false where that holds nothing to measure. The name is for the result.
type Measure struct {
	Name string
	Of   func(*replay.Game) (value float64, ok bool)
}

// Change is a measure before and after.
type Change struct {
	Name string   `json:"name"`
	From *float64 `json:"from"` // absent where there was nothing to measure
	To   *float64 `json:"to"`
}

// size is how far the measure moves; one that appears or vanishes moves most.
func (c Change) size() float64 {
	switch {
	case c.From == nil && c.To == nil:
		return 0
	case c.From == nil || c.To == nil:
		return math.Inf(1)
	}
	return math.Abs(*c.To - *c.From)
}

// Move is how far one disagreement moves the measures if another chart than the
// base is right.
type Move struct {
	ID      events.ID    `json:"id"`    // of the disagreement
	Chart   events.Token `json:"chart"` // the chart that would be right
	Changes []Change     `json:"changes"`
}

// Weigh says for every disagreement how far each measure moves when another
// chart is taken for right in it alone, the furthest first: by the measure that
// moves most, then by the measures in the order given. Each takes a fold of the
// settled chart.
func (s *Settling) Weigh(measures []Measure) ([]Move, error) {
	before, err := s.measure(nil, measures)
	if err != nil {
		return nil, err
	}
	moves := []Move{}
	for _, d := range s.Disagreements {
		best := Move{ID: d.ID}
		for _, v := range d.Versions {
			if v.Chart == s.Base {
				continue
			}
			after, err := s.measure(Choices{d.ID: v.Chart}, measures)
			if err != nil {
				return nil, err
			}
			m := Move{d.ID, v.Chart, changes(measures, before, after)}
			if best.Chart == "" || further(m, best) < 0 {
				best = m
			}
		}
		if best.Chart != "" {
			moves = append(moves, best)
		}
	}
	slices.SortStableFunc(moves, further)
	return moves, nil
}

// Most is the change that is largest, and whether there is any.
func (m Move) Most() (Change, bool) {
	var most Change
	for _, c := range m.Changes {
		if c.size() > most.size() {
			most = c
		}
	}
	return most, most.size() > 0
}

// further puts the move that moves more first.
func further(a, b Move) int {
	mostA, _ := a.Most()
	mostB, _ := b.Most()
	if c := cmp.Compare(mostB.size(), mostA.size()); c != 0 {
		return c
	}
	for i := range a.Changes {
		if c := cmp.Compare(b.Changes[i].size(), a.Changes[i].size()); c != 0 {
			return c
		}
	}
	return 0
}

// Effect says how far some choices together move the measures.
func (s *Settling) Effect(choices Choices, measures []Measure) ([]Change, error) {
	before, err := s.measure(nil, measures)
	if err != nil {
		return nil, err
	}
	after, err := s.measure(choices, measures)
	if err != nil {
		return nil, err
	}
	return changes(measures, before, after), nil
}

func changes(measures []Measure, before, after []*float64) []Change {
	out := make([]Change, len(measures))
	for i, m := range measures {
		out[i] = Change{m.Name, before[i], after[i]}
	}
	return out
}

func (s *Settling) measure(choices Choices, measures []Measure) ([]*float64, error) {
	g, err := s.Preview(choices)
	if err != nil {
		return nil, err
	}
	out := make([]*float64, len(measures))
	for i, m := range measures {
		if v, ok := m.Of(g); ok && !math.IsNaN(v) && !math.IsInf(v, 0) {
			out[i] = &v
		}
	}
	return out, nil
}

// Preview folds the settled chart without writing it anywhere: a game with this
// one chart, under ids of its own and with no digest to speak of. Its events are
// made of parts that were checked when they were charted, and are not sealed
// again: sealing takes longer than the fold.
func (s *Settling) Preview(choices Choices) (*replay.Game, error) {
	list, err := s.write(choices, &counter{chart: s.Base}, Writing{}, func(*events.Event) error { return nil })
	if err != nil {
		return nil, err
	}
	return replay.FoldGame("preview", list), nil
}

// counter stamps the events of a preview.
type counter struct {
	chart events.Token
	n     int64
}

func (c *counter) Stamp(e *events.Event) {
	c.n++
	e.ID = events.ID(fmt.Sprintf("00000000-0000-7000-8000-%012x", c.n))
	e.Game, e.Chart, e.Charter, e.Pad, e.N = "preview", c.chart, "audit", "preview", c.n
}
