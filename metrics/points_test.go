package metrics

import (
	"math"
	"testing"

	"stopledger/metrics/definition"
	"stopledger/metrics/stats"
)

// Points that are no whole number are split between their neighbours, so that
// the mean stays; thirds that add up to a whole are a whole.
func TestPointsAreSplitBetweenNeighbours(t *testing.T) {
	s := newSpread()
	for chance, list := range [][]float64{{1.5}, {2. / 3, 2. / 3, 2. / 3}, {0}, {3}} {
		for _, p := range list {
			s.add(uint32(chance), p)
		}
	}
	s.settle()
	want := []float64{1, 0.5, 1.5, 1}
	for j, w := range want {
		if math.Abs(s.counts[j]-w) > 1e-9 {
			t.Errorf("chances that cost %d: %v, want %v", j, s.counts[j], w)
		}
	}
}

// The interval in the table is the score interval on the counts divided by the
// design effect, and stands only where there is more than one game.
func TestPointsInterval(t *testing.T) {
	_, cols := seasonOf(t, `
game g1 hbr-3:guard mil-1:guard mil-2:guard
3x made-2: drive mil-1 hbr-3 beaten
3x missed-2: drive mil-1 hbr-3 stopped
made-3: drive mil-2 hbr-3 beaten
game g2 hbr-3:guard mil-1:guard
made-3: drive mil-1 hbr-3 beaten
`)
	table, err := Rates(definition.Default(), cols, []string{"defender"})
	if err != nil {
		t.Fatal(err)
	}
	one, two := table.Groups[0], table.Groups[1]
	d := one.Effective.Design
	mean, lo, hi, err := stats.MeanInterval([]float64{3 / d, 0, 3 / d, 1 / d, 0}, Level)
	if err != nil {
		t.Fatal(err)
	}
	if got := *one.PointsInterval; math.Abs(one.PointsPerChance()-mean) > 1e-9 || math.Abs(got[0]-lo) > 1e-9 || math.Abs(got[1]-hi) > 1e-9 {
		t.Errorf("%.3f from %.3f to %.3f, want %.3f from %.3f to %.3f", one.PointsPerChance(), got[0], got[1], mean, lo, hi)
	}
	if two.PointsInterval != nil || two.Effective != nil {
		t.Errorf("one game has an interval: %v", two.PointsInterval)
	}
}

// The pooled points per chance of everybody together are those that were scored:
// what a reading costs is counted from the same chances.
func TestPooledPointsAddUp(t *testing.T) {
	s := sharedStudy()
	for _, target := range []Target{Process, Result} {
		table, err := s.Rates([]string{"kind"}, target)
		if err != nil {
			t.Fatal(err)
		}
		for i := range table.Groups {
			g := &table.Groups[i]
			if d := g.PooledPoints.Mean - g.PointsPerChance(); math.Abs(d) > 0.05 {
				t.Errorf("%s by %s: pooled %.3f points per chance, counted %.3f", g.Key[0], target, g.PooledPoints.Mean, g.PointsPerChance())
			}
		}
	}
}
