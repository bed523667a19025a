package pooled

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

var calibrationFull = flag.Int("calibration.full", 0, "data sets for each number of groups in the full calibration; its table goes to standard output")

// Simulation-based calibration (Talts S, Betancourt M, Simpson D, Vehtari A,
// Gelman A (2018), arXiv 1804.06788): where truth and data are drawn from the
// model's own prior, the rank of the truth among posterior draws is uniform, and
// intervals cover what they say.
//
// From each data set come the rate of one seen cell, a mixture of two items in a
// fresh condition for a group with trials, and the same for a group never seen.
var calibrationSizes = []size{
	{1, 4, 2, 2, 0.5, 2},
	{3, 4, 2, 2, 0.5, 2},
	{10, 4, 2, 2, 0.4, 2},
	{100, 4, 2, 2, 0.3, 1.5},
}

const calibrationDraws = 399 // ranks run from 0 to 399: forty bins of ten

// calibrated are the ranks of each question, over data sets.
type calibrated struct {
	seen, mix, fresh []int
	resampled, heavy int
	bad              []string
}

func calibrate(z size, sets int, seed uint64) calibrated {
	results := make([]calibrated, sets)
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < sets; i += workers {
				results[i] = calibrateOne(z, rand.New(rand.NewPCG(seed, uint64(i))))
			}
		})
	}
	wg.Wait()
	var out calibrated
	for _, r := range results {
		out.seen = append(out.seen, r.seen...)
		out.mix = append(out.mix, r.mix...)
		out.fresh = append(out.fresh, r.fresh...)
		out.resampled += r.resampled
		out.heavy += r.heavy
		out.bad = append(out.bad, r.bad...)
	}
	return out
}

func calibrateOne(z size, rng *rand.Rand) (out calibrated) {
	w := z.draw(rng)
	fit, err := Fit(w.data, Options{})
	if err != nil {
		out.bad = append(out.bad, err.Error())
		return out
	}
	out.bad = append(out.bad, fit.Warnings()...)
	draws := fit.Draw(2*calibrationDraws, rng.Uint64())
	if draws.Check.Resampled {
		out.resampled++
	}
	if draws.Check.Warning != "" {
		out.heavy++
	}
	if len(w.data.Cells) > 0 {
		c := w.data.Cells[rng.IntN(len(w.data.Cells))]
		var truth, weight float64
		for _, o := range w.data.Cells {
			if o.Group == c.Group && o.Item == c.Item && o.Opposing == c.Opposing {
				truth += o.Trials * sigmoid(w.truth(o.Group, o.Item, o.Opposing, o.Condition))
				weight += o.Trials
			}
		}
		out.seen = append(out.seen, rank(draws.Group(c.Group).Seen(c.Item, c.Opposing), truth/weight))
	}
	parts := []Part{{Item: 0, Condition: Fresh, Share: 0.6}, {Item: 1, Opposing: 1, Condition: Fresh, Share: 0.4}}
	fresh := []float64{w.scales[famDelta] * rng.NormFloat64(), w.scales[famDelta] * rng.NormFloat64()}
	g := rng.IntN(z.groups)
	ask := func(m *Member, own func(item int) float64) int {
		x, err := m.Mix(parts)
		if err != nil {
			out.bad = append(out.bad, err.Error())
			return 0
		}
		var truth float64
		for i, p := range parts {
			truth += p.Share * sigmoid(w.truth(g, p.Item, p.Opposing, 0)-w.conditionEffect(0, p.Item)+fresh[i]+own(p.Item))
		}
		return rank(x, truth)
	}
	out.mix = append(out.mix, ask(draws.Group(g), func(int) float64 { return 0 }))
	// A new group of g's class: other alpha and beta.
	alpha := w.scales[famAlpha] * rng.NormFloat64()
	out.fresh = append(out.fresh, ask(draws.NewGroup(w.data.Own[g], 0), func(item int) float64 {
		return alpha + w.scales[famBeta]*rng.NormFloat64() - w.ownEffect(g, item)
	}))
	return out
}

// rank counts the draws below the truth among every other draw: the halves of
// antithetic pairs are not exchangeable with the truth together.
func rank(draws []float64, truth float64) (r int) {
	for i := 0; i < len(draws); i += 2 {
		if draws[i] < truth {
			r++
		}
	}
	return r
}

// covers is the share of ranks within the central interval.
func covers(ranks []int, level float64) float64 {
	in := 0
	for _, r := range ranks {
		if u := (float64(r) + 0.5) / (calibrationDraws + 1); math.Abs(u-0.5) <= level/2 {
			in++
		}
	}
	return float64(in) / float64(len(ranks))
}

// uniform is the p-value of the ranks' chi-squared over bins.
func uniform(ranks []int, bins int) float64 {
	counts := make([]float64, bins)
	for _, r := range ranks {
		counts[r*bins/(calibrationDraws+1)]++
	}
	var chi float64
	want := float64(len(ranks)) / float64(bins)
	for _, c := range counts {
		chi += sq(c-want) / want
	}
	return distuv.ChiSquared{K: float64(bins - 1)}.Survival(chi)
}

// Two hundred data sets at a fixed seed (twenty in a hurry).
func TestCalibration(t *testing.T) {
	sets := 50
	if raceDetector || testing.Short() {
		sets = 5
	}
	var all calibrated
	for i, z := range calibrationSizes {
		c := calibrate(z, sets, uint64(100+i))
		for _, b := range c.bad {
			t.Errorf("%d groups: %s", z.groups, b)
		}
		all.seen = append(all.seen, c.seen...)
		all.mix = append(all.mix, c.mix...)
		all.fresh = append(all.fresh, c.fresh...)
	}
	for _, q := range []struct {
		name  string
		ranks []int
	}{{"seen cell", all.seen}, {"mixture", all.mix}, {"new group", all.fresh}} {
		if p := uniform(q.ranks, 10); p < 0.001 {
			t.Errorf("%s: ranks are not uniform (p = %.2g)", q.name, p)
		}
		// Three binomial standard errors.
		for _, level := range []float64{0.5, 0.8, 0.95} {
			near(t, fmt.Sprintf("%s: %.0f %% interval covers", q.name, 100*level), covers(q.ranks, level), level, 3*math.Sqrt(level*(1-level)/float64(len(q.ranks))))
		}
	}
}

// The full run, asked for by its flag, prints the table of the documentation.
func TestCalibrationFull(t *testing.T) {
	if *calibrationFull < 1 {
		t.Skip("give -calibration.full=N for N data sets a row")
	}
	out := os.Stdout
	fmt.Fprintf(out, "\n| groups | question | data sets | 50 %% covers | 80 %% covers | 95 %% covers | p of uniform ranks |\n|---:|---|---:|---:|---:|---:|---:|\n")
	var ranks []int
	for i, z := range calibrationSizes {
		c := calibrate(z, *calibrationFull, uint64(1000+i))
		for _, b := range c.bad {
			t.Errorf("%d groups: %s", z.groups, b)
		}
		for _, q := range []struct {
			name  string
			ranks []int
		}{{"seen cell", c.seen}, {"mixture, fresh condition", c.mix}, {"new group", c.fresh}} {
			fmt.Fprintf(out, "| %d | %s | %d | %.1f %% | %.1f %% | %.1f %% | %.3f |\n", z.groups, q.name, len(q.ranks),
				100*covers(q.ranks, 0.5), 100*covers(q.ranks, 0.8), 100*covers(q.ranks, 0.95), uniform(q.ranks, 20))
			ranks = append(ranks, q.ranks...)
		}
		t.Logf("%d groups: %d of %d resampled, %d with heavy weights", z.groups, c.resampled, *calibrationFull, c.heavy)
	}
	slices.Sort(ranks)
	for _, want := range []struct{ level, lo, hi float64 }{{0.8, 0.78, 0.82}, {0.95, 0.935, 0.965}} {
		if got := covers(ranks, want.level); got < want.lo || got > want.hi {
			t.Errorf("over all rows the %.0f %% interval covers %.3f, want %v to %v", 100*want.level, got, want.lo, want.hi)
		}
	}
}
