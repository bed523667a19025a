package metrics

import (
	"fmt"
	"slices"
	"strings"

	"stopledger/metrics/definition"
	"stopledger/metrics/stats"
	"stopledger/replay"
)

// Level is the confidence level of every interval of this package.
const Level = 0.95

// FewGames is how few games must be said beside a rate.
const FewGames = 4

// RateTable is what a definition says of each group, and of all together.
type RateTable struct {
	Definition *definition.Definition
	By         []string
	Groups     []Rate // sorted by key
	Total      Rate
	Team       float64 // points that nobody answers for
	Undecided  []definition.Undecided
}

// Rate is one group's counts and rates. The trial is (chance, defender, kind),
// weighted; see package definition.
type Rate struct {
	definition.Group
	// StopRate is Stops over Judged, 0 without judged trials.
	StopRate float64
	// Wilson is the interval that Judged independent trials would give. It is
	// too narrow where a man's trials of one game are alike; see Effective.
	Wilson [2]float64
	// Effective is the sample that the film is worth, with its intervals; nil
	// for one game, which has counts and no interval.
	Effective *EffectiveRate
	// PointsInterval is the interval at [Level] of the points answered for in a
	// chance, a variable on 0 to 4, on the effective sample; nil for one game.
	PointsInterval *[2]float64
	// Pooled is the fitted rate for the film seen, and PooledPoints the points
	// per chance that follow from it; both nil unless a [Study] pooled them.
	Pooled       *Pooled
	PooledPoints *Pooled
}

// EffectiveRate is a rate on its effective sample size.
type EffectiveRate struct {
	N        float64    // judged trials over the design effect
	Design   float64    // 1 + (m − 1)ρ, m the size-weighted mean trials by defender and game
	Rho      float64    // intra-game correlation of the kind
	Wilson   [2]float64 // at [Level]
	Jeffreys [2]float64
}

// PointsPerChance is the points answered for over the chances, 0 without any.
func (r *Rate) PointsPerChance() float64 {
	if r.Chances == 0 {
		return 0
	}
	return r.Points / float64(r.Chances)
}

// Rates counts the columns under a definition, by dimensions or fields (see
// [definition.Dimensions]).
func Rates(d *definition.Definition, cols *replay.Columns, by []string) (*RateTable, error) {
	t, err := definition.Tally(d, cols, by)
	if err != nil {
		return nil, err
	}
	design, err := designs(d, cols, by)
	if err != nil {
		return nil, err
	}
	points, err := spreads(definition.Apply(d, cols), cols, by)
	if err != nil {
		return nil, err
	}
	out := &RateTable{Definition: d, By: by, Team: t.Team, Undecided: t.Undecided}
	for _, g := range t.Groups {
		r := rate(g, design.of(g.Key))
		if err := r.addPoints(points[joinKey(g.Key)], design.of(g.Key)); err != nil {
			return nil, err
		}
		out.Groups = append(out.Groups, r)
	}
	out.Total = rate(t.Total, design.all)
	return out, out.Total.addPoints(points[allGroups], design.all)
}

func rate(g definition.Group, e effect) Rate {
	r := Rate{Group: g}
	r.Wilson[0], r.Wilson[1] = stats.Wilson(g.Stops, g.Judged, Level)
	if g.Judged > 0 {
		r.StopRate = g.Stops / g.Judged
	}
	if g.Games < 2 || g.Judged == 0 {
		return r
	}
	n := g.Judged / e.design
	r.Effective = &EffectiveRate{N: n, Design: e.design, Rho: e.rho}
	r.Effective.Wilson[0], r.Effective.Wilson[1] = stats.Wilson(r.StopRate*n, n, Level)
	r.Effective.Jeffreys[0], r.Effective.Jeffreys[1] = stats.Jeffreys(r.StopRate*n, n, Level)
	return r
}

// addPoints puts the interval of the points per chance beside them. What a man's
// chances of one game share is taken from his stops, of which the points are
// made.
func (r *Rate) addPoints(s *spread, e effect) error {
	if s == nil || r.Games < 2 || r.Chances == 0 {
		return nil
	}
	interval, err := s.interval(e.design)
	if err != nil {
		return fmt.Errorf("points per chance of %s: %w", strings.Join(r.Key, " "), err)
	}
	r.PointsInterval = &interval
	return nil
}

// Filter keeps the groups whose keys are as wanted, by dimension name.
func (t *RateTable) Filter(want map[string]string) {
	t.Groups = slices.DeleteFunc(t.Groups, func(r Rate) bool {
		for i, dim := range t.By {
			if v, ok := want[dim]; ok && r.Key[i] != v {
				return true
			}
		}
		return false
	})
}
