package audit

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"stopledger/metrics/stats"
)

// The assignment is checked against trying every permutation.
func TestCheapestAssignmentIsTheBestOfAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		costs := rapid.SliceOfN(rapid.Float64Range(0, 10), n*n, n*n).Draw(t, "costs")
		sum, taken := 0.0, make([]bool, n)
		for i, j := range cheapest(costs, n) {
			if taken[j] {
				t.Fatalf("column %d is given twice", j)
			}
			taken[j] = true
			sum += costs[i*n+j]
		}
		if best := tryAll(costs, n, 0, make([]bool, n)); math.Abs(sum-best) > 1e-9 {
			t.Fatalf("cost %g, the best is %g", sum, best)
		}
	})
}

func tryAll(costs []float64, n, row int, taken []bool) float64 {
	if row == n {
		return 0
	}
	best := math.Inf(1)
	for j := range n {
		if !taken[j] {
			taken[j] = true
			best = min(best, costs[row*n+j]+tryAll(costs, n, row+1, taken))
			taken[j] = false
		}
	}
	return best
}

// The quick forms used for resampling must say what metrics/stats says, which
// is checked against the published examples.
func TestQuickAlphaIsAlpha(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 4).Draw(t, "categories")
		ordinal := rapid.Bool().Draw(t, "ordinal")
		given := rapid.SliceOfN(rapid.SliceOfN(rapid.IntRange(0, k-1), 0, 4), 0, 12).Draw(t, "units")
		var list []coincidence
		units := make([][]float64, len(given))
		for u, values := range given {
			for i, x := range values {
				units[u] = append(units[u], float64(x))
				for _, y := range values[:i] {
					list = append(list, coincidence{u, min(x, y), max(x, y), 1 / float64(len(values)-1)})
				}
			}
		}
		metric := stats.Nominal
		if ordinal {
			metric = stats.Ordinal
		}
		want, err := stats.Alpha(units, metric)
		if err != nil {
			t.Fatal(err)
		}
		once := make([]float64, len(given))
		for i := range once {
			once[i] = 1
		}
		got, ok := newMatrix(k, ordinal).alpha(list, once)
		if ok != want.Defined || math.Abs(got-want.Alpha) > 1e-9 {
			t.Fatalf("got %g, %v; want %+v", got, ok, want)
		}
	})
}

func TestQuickKappaIsKappa(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := []string{"held", "even", "broken"}
		j := newJudging("reading", words)
		linear := rapid.Bool().Draw(t, "linear")
		if linear {
			j.weights = stats.LinearWeights
		}
		table := [][]float64{make([]float64, 3), make([]float64, 3), make([]float64, 3)}
		for range rapid.IntRange(0, 30).Draw(t, "pairs") {
			x, y := rapid.IntRange(0, 2).Draw(t, "x"), rapid.IntRange(0, 2).Draw(t, "y")
			j.add(0, 0, words[x], words[y])
			table[x][y]++
		}
		weights := [][]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
		if linear {
			weights = stats.LinearWeights(3)
		}
		want, err := stats.WeightedKappa(table, weights)
		if err != nil {
			t.Fatal(err)
		}
		flat := j.table(nil)
		got, ok := j.kappa(flat)
		if ok != want.Defined || math.Abs(got-want.Kappa) > 1e-9 {
			t.Fatalf("got %g, %v; want %+v", got, ok, want)
		}
		if se := j.standardError(flat); ok && (se == nil || math.Abs(*se-want.SE) > 1e-9) {
			t.Fatalf("standard error %v, want %g", se, want.SE)
		}
	})
}

// With strata the kappa is the weighted mean of the strata's own.
func TestKappaOverStrata(t *testing.T) {
	j := newJudging("outcome", []string{"a", "b"})
	j.stratum(1, []string{"c", "d"})
	// Stratum 0: Po 0.9, Pe 0.5, n 10. Stratum 1: Po 0.6, Pe 0.5, n 10.
	// Pooled: (10·0.4 + 10·0.1) / (10·0.5 + 10·0.5) = 0.5.
	fill := func(s int, x, y string, alike, apart int) {
		for range alike / 2 {
			j.add(0, s, x, x)
			j.add(0, s, y, y)
		}
		for i := range apart {
			if i%2 == 0 {
				j.add(0, s, x, y)
			} else {
				j.add(0, s, y, x)
			}
		}
	}
	fill(1, "c", "d", 6, 4)
	fill(0, "a", "b", 18, 2)
	fill(1, "c", "d", 6, 4)
	if got, ok := j.kappa(j.table(nil)); !ok || math.Abs(got-0.5) > 1e-12 {
		t.Errorf("got %g, want 0.5", got)
	}
}

// One seed draws the same chances here as in metrics/stats.
func TestResamplingIsThatOfStats(t *testing.T) {
	o := Options{Seed: 5}.orDefault()
	values := []float64{3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5}
	lo, hi, note := newResampler(len(values), o).interval(func(times []float64) (float64, bool) {
		sum := 0.0
		for i, v := range values {
			sum += times[i] * v
		}
		return sum, true
	})
	want, err := stats.BootstrapClusters(rand.New(rand.NewPCG(o.Seed, 0x5eed)), len(values), o.Resamples, o.Level, func(drawn []int) (float64, bool) {
		sum := 0.0
		for _, i := range drawn {
			sum += values[i]
		}
		return sum, true
	})
	if err != nil {
		t.Fatal(err)
	}
	if note != "" || *lo != want.Lo || *hi != want.Hi {
		t.Errorf("got %g to %g %s, want %g to %g", *lo, *hi, note, want.Lo, want.Hi)
	}
}
