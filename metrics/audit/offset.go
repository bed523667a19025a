package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stopledger/replay"
)

// Offset is the constant difference between two charts' clocks.
type Offset struct {
	Seconds float64 `json:"seconds"` // B's clock less A's
	Spread  float64 `json:"spread"`  // median distance of a chance's own difference from it
	Applied bool    `json:"applied"` // false where it is 0
	Text    string  `json:"text"`
}

// window is how many seconds of differences count as one offset.
const window = 4.0

// clockOf is the clock a chance is known by: its end, which everybody sees,
// else its beginning.
func clockOf(ch *replay.Chance) (float64, bool) {
	if c := ended(ch); c != nil {
		return *c, true
	}
	if ch.When.Clock != nil {
		return *ch.When.Clock, true
	}
	return 0, false
}

// estimateOffset finds the difference of clocks that brings most chances of two
// charts together. Chances that ended alike count more, those with the same
// shooter more again: possessions come in a rhythm, and only these tell one beat
// from the next. It stays 0 where that does nearly as well.
func estimateOffset(groups []group, longest float64) float64 {
	type vote struct{ d, weight float64 }
	var votes []vote
	for _, g := range groups {
		for _, a := range g.a {
			ca, ok := clockOf(a.chance)
			if !ok {
				continue
			}
			for _, b := range g.b {
				cb, ok := clockOf(b.chance)
				if d := cb - ca; ok && math.Abs(d) <= longest {
					votes = append(votes, vote{d, likeness(a.chance, b.chance)})
				}
			}
		}
	}
	slices.SortFunc(votes, func(a, b vote) int { return cmp.Compare(a.d, b.d) })
	best, at, zero := 0.0, 0.0, 0.0
	sum, from := 0.0, 0
	for _, v := range votes {
		sum += v.weight
		for votes[from].d < v.d-window {
			sum -= votes[from].weight
			from++
		}
		middle := (votes[from].d + v.d) / 2
		if sum > best || sum == best && math.Abs(middle) < math.Abs(at) {
			best, at = sum, middle
		}
		if votes[from].d <= 0.5 && v.d >= -0.5 {
			zero = max(zero, sum)
		}
	}
	if zero >= 0.9*best {
		return 0
	}
	return at
}

// likeness is how much two chances look like one, clocks apart.
func likeness(a, b *replay.Chance) float64 {
	w := 0.2
	if a.Ended && b.Ended && a.End == b.End {
		w++
	}
	if a.Shooter != "" && a.Shooter == b.Shooter {
		w += 2
	}
	return w
}

// refineOffset is the median difference of the clocks of matched chances, and
// the median distance from it.
func refineOffset(p *pairing) (seconds, spread float64, ok bool) {
	var d []float64
	for _, l := range p.chances {
		a, known := clockOf(&p.a.Chances[l.a])
		b, also := clockOf(&p.b.Chances[l.b])
		// A clock that stands at the period's edge was cut off there.
		if known && also && a > 0 && b > 0 {
			d = append(d, b-a)
		}
	}
	if len(d) == 0 {
		return 0, 0, false
	}
	middle := median(d)
	for i := range d {
		d[i] = math.Abs(d[i] - middle)
	}
	return middle, median(d), true
}

func median(list []float64) float64 {
	slices.Sort(list)
	n := len(list)
	if n%2 == 1 {
		return list[n/2]
	}
	return (list[n/2-1] + list[n/2]) / 2
}

func offsetText(a, b string, o Offset) string {
	switch {
	case !o.Applied:
		return "the clocks agree"
	case o.Seconds > 0:
		return fmt.Sprintf("the clock of %s shows %.1f seconds more than that of %s throughout; corrected before comparing", b, o.Seconds, a)
	}
	return fmt.Sprintf("the clock of %s shows %.1f seconds less than that of %s throughout; corrected before comparing", b, -o.Seconds, a)
}
