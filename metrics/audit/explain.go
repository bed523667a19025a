package audit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stopledger/events"
)

// Explanation is a set of slips that together make every differing line right.
type Explanation struct {
	Text        string       `json:"text"`
	Corrections []Correction `json:"corrections"`
	// Cost is how unlikely the slips are, less what speaks for them; a
	// judgement, for the order only.
	Cost float64 `json:"cost"`
}

// Correction is one slip and where it may have happened.
type Correction struct {
	Team     events.Token `json:"team"`     // whose attack it is
	Text     string       `json:"text"`     // such as "made three charted as two"
	Places   int          `json:"places"`   // how many chances it could have been
	Suspects []Suspect    `json:"suspects"` // the likeliest first, at most five
}

// explain searches for the fewest slips that explain every differing line.
func (r *review) explain(c *Comparison, official *events.TotalsEntered) {
	var wanted lines
	for _, t := range c.Teams {
		for i, l := range t.Lines {
			wanted[r.sideOf(t.Team)*10+i] = int16(-l.Difference)
		}
	}
	wanted = r.asked(wanted)
	fixes := r.fixes(official)
	byDelta := map[lines][]int{}
	for i, f := range fixes {
		byDelta[f.delta] = append(byDelta[f.delta], i)
	}
	// Of slips that change the same lines the cheapest stands for all, so that
	// the search is over changes and not over chances.
	deltas := make([]lines, 0, len(byDelta))
	for d, list := range byDelta {
		slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(fixes[a].price(), fixes[b].price()) })
		deltas = append(deltas, d)
	}
	slices.SortFunc(deltas, func(a, b lines) int { return slices.Compare(a[:], b[:]) })
	sets := searchSums(deltas, wanted)
	for _, set := range sets {
		c.Explanations = append(c.Explanations, explanations(fixes, byDelta, set)...)
	}
	slices.SortStableFunc(c.Explanations, func(a, b Explanation) int {
		return cmp.Or(cmp.Compare(a.Cost, b.Cost), strings.Compare(a.Text, b.Text))
	})
	c.Explanations = c.Explanations[:min(5, len(c.Explanations))]
	if len(c.Explanations) == 0 {
		c.Explanations = []Explanation{}
		c.Note = join(c.Note, "no three slips explain every difference: a stretch of the game may be missing, see the coverage and the findings")
	}
}

// searchSums finds the smallest multisets of at most three changes that add up
// to what is wanted. Beyond three nearly everything can be explained, so nothing
// is.
func searchSums(deltas []lines, wanted lines) [][]lines {
	known := make(map[lines]bool, len(deltas))
	for _, d := range deltas {
		known[d] = true
	}
	if known[wanted] {
		return [][]lines{{wanted}}
	}
	var sets [][]lines
	for _, d := range deltas {
		if rest := wanted.minus(d); known[rest] && slices.Compare(d[:], rest[:]) <= 0 {
			sets = append(sets, []lines{d, rest})
		}
	}
	if len(sets) > 0 {
		return sets
	}
	for i, d := range deltas {
		left := wanted.minus(d)
		for _, e := range deltas[i:] {
			if rest := left.minus(e); known[rest] && slices.Compare(e[:], rest[:]) <= 0 {
				sets = append(sets, []lines{d, e, rest})
			}
		}
	}
	return sets
}

// price is how unlikely a slip is, less what speaks for its likeliest place.
func (f *fix) price() float64 {
	if len(f.suspects) == 0 {
		return f.cost
	}
	return f.cost - 0.25*f.suspects[0].weight
}

// explanations writes out a set of changes: one change alone with every slip
// that makes it, several with the cheapest of each.
func explanations(fixes []fix, byDelta map[lines][]int, set []lines) []Explanation {
	if len(set) == 1 {
		var out []Explanation
		for _, i := range byDelta[set[0]] {
			out = append(out, explanation(&fixes[i]))
		}
		return out
	}
	chosen := make([]*fix, len(set))
	for k, d := range set {
		chosen[k] = &fixes[byDelta[d][0]]
		for j := range k {
			if chosen[j] == chosen[k] && len(chosen[k].suspects) == 1 {
				return nil // one chance cannot have been charted wrongly twice
			}
		}
	}
	return []Explanation{explanation(chosen...)}
}

func explanation(list ...*fix) Explanation {
	var e Explanation
	var texts []string
	for _, f := range list {
		e.Cost += f.price()
		e.Corrections = append(e.Corrections, Correction{f.team, f.text, len(f.suspects), append([]Suspect{}, f.suspects[:min(5, len(f.suspects))]...)})
		texts = append(texts, fmt.Sprintf("one %s (in %s's attack%s)", f.text, f.team, f.where()))
	}
	e.Text = listed(texts)
	return e
}

// where names the place as narrowly as something speaks for it.
func (f *fix) where() string {
	switch n := len(f.suspects); {
	case n == 0:
		return ""
	case n == 1 || f.suspects[0].weight > 0 && f.suspects[0].weight > f.suspects[1].weight:
		return ", most likely in " + f.suspects[0].Place.String()
	default:
		period := f.suspects[0].Place.Period
		for _, s := range f.suspects {
			if s.Place.Period != period {
				return fmt.Sprintf(", one of %d", n)
			}
		}
		return fmt.Sprintf(", in period %d, one of %d", period, n)
	}
}
