package audit

import (
	"cmp"
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Settling turns the disagreements of some charts into one settled chart. The
// base chart is right wherever nobody chose otherwise.
type Settling struct {
	Base          events.Token   `json:"base"`
	Disagreements []Disagreement `json:"disagreements"`

	u    *units
	base int
}

// Choices say which chart is right, by disagreement.
type Choices map[events.ID]events.Token

// Settle begins to settle the charts on one of them.
func (a *Agreement) Settle(base events.Token) (*Settling, error) {
	if a.units == nil {
		return nil, fmt.Errorf("settle: %s", a.Why)
	}
	for i, c := range a.units.charts {
		if c.Name == base {
			return &Settling{Base: base, Disagreements: a.Disagreed, u: a.units, base: i}, nil
		}
	}
	return nil, fmt.Errorf("settle on chart %q: it is none of those compared", base)
}

// chosen is where the parts of a settled chart come from.
type chosen struct {
	chances map[int]int // by unit: the chart that is right; absent: the base
	actions map[int]int
}

func (s *Settling) read(choices Choices) (chosen, error) {
	c := chosen{map[int]int{}, map[int]int{}}
	known := 0
	for _, d := range s.Disagreements {
		chart, ok := choices[d.ID]
		if !ok {
			continue
		}
		known++
		at := slices.IndexFunc(d.Versions, func(v Version) bool { return v.Chart == chart })
		if at < 0 {
			return c, fmt.Errorf("settle %s: chart %q has no say in it", d.ID, chart)
		}
		i := slices.IndexFunc(s.u.charts, func(c *replay.Chart) bool { return c.Name == chart })
		if d.What == "chance" {
			c.chances[d.unit] = i
		} else {
			c.actions[d.unit] = i
		}
	}
	if known < len(choices) {
		for id := range choices {
			if !slices.ContainsFunc(s.Disagreements, func(d Disagreement) bool { return d.ID == id }) {
				return c, fmt.Errorf("settle %s: the charts do not disagree on it", id)
			}
		}
	}
	return c, nil
}

// settled is one chance of the settled chart.
type settled struct {
	unit    int
	facts   version // whose end and origin stand
	moment  version // whose clock stands: the base's where it has the chance
	actions []settledAction
}

// version is one chart's account of something.
type version struct{ chart, index int }

type settledAction struct {
	unit   int
	facts  version
	moment version
}

// build puts the settled chart together, in the order of play.
func (s *Settling) build(c chosen) []settled {
	byChance := make([][]int, len(s.u.chances))
	for i, one := range s.u.actions {
		byChance[one.chance] = append(byChance[one.chance], i)
	}
	var list []settled
	for id, one := range s.u.chances {
		right, said := c.chances[id]
		if !said {
			right = s.base
		}
		if one.of[right] < 0 {
			continue // not in the chart that is right
		}
		first := s.base // whose actions stand where nobody chose
		if one.of[first] < 0 {
			first = right
		}
		list = append(list, settled{
			unit: id, facts: version{right, one.of[right]}, moment: version{first, one.of[first]},
			actions: s.buildActions(byChance[id], first, c),
		})
	}
	slices.SortStableFunc(list, func(x, y settled) int {
		if x.moment.chart == s.base && y.moment.chart == s.base {
			return cmp.Compare(x.moment.index, y.moment.index)
		}
		return inPlay(s.placeOf(x), s.placeOf(y))
	})
	return list
}

func (s *Settling) placeOf(x settled) Place {
	ch := s.chance(x.moment)
	return placeAt(s.when(x.moment.chart, ch.When), "", "")
}

func (s *Settling) chance(v version) *replay.Chance { return &s.u.charts[v.chart].Chances[v.index] }
func (s *Settling) action(v version) *replay.Action { return &s.u.charts[v.chart].Actions[v.index] }

// buildActions lists a chance's settled actions: those of the first chart in its
// order, and each that comes from another chart behind the one it followed there.
func (s *Settling) buildActions(units []int, first int, c chosen) []settledAction {
	var list, added []settledAction
	for _, id := range units {
		one := s.u.actions[id]
		right, said := c.actions[id]
		if !said {
			right = first
		}
		if one.of[right] < 0 {
			continue
		}
		a := settledAction{id, version{right, one.of[right]}, version{first, one.of[first]}}
		if one.of[first] < 0 {
			a.moment = a.facts
			added = append(added, a)
		} else {
			list = append(list, a)
		}
	}
	slices.SortFunc(list, func(x, y settledAction) int { return cmp.Compare(x.moment.index, y.moment.index) })
	slices.SortFunc(added, func(x, y settledAction) int {
		return cmp.Or(cmp.Compare(x.facts.chart, y.facts.chart), cmp.Compare(x.facts.index, y.facts.index))
	})
	for _, a := range added {
		at, before := 0, -1
		for i, other := range list {
			if k := s.u.actions[other.unit].of[a.facts.chart]; k >= 0 && k < a.facts.index && k > before {
				at, before = i+1, k
			}
		}
		list = slices.Insert(list, at, a)
	}
	return list
}

// when is a moment of another chart on the base's clock.
func (s *Settling) when(chart int, w events.When) events.When {
	if chart == s.base {
		return w
	}
	offset := 0.0
	if p := s.u.pairings[[2]int{min(chart, s.base), max(chart, s.base)}]; p != nil {
		offset = p.offset.Seconds // of the later chart's clock
	}
	if chart > s.base {
		offset = -offset
	}
	w = shifted(w, offset)
	if w.Clock != nil {
		clock := max(*w.Clock, 0)
		if length := s.u.charts[s.base].Info.Rules.Length(w.Period); length > 0 {
			clock = min(clock, length)
		}
		w.Clock = &clock
	}
	return w
}
