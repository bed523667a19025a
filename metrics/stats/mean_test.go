package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// On {0, 1} the score interval of a mean is Wilson's.
func TestMeanIntervalIsWilsonOnTwoValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(0.5, 300).Draw(t, "n")
		x := rapid.SampledFrom([]float64{0, 0.1, 0.5, 0.93, 1}).Draw(t, "p") * n
		_, lo, hi, err := MeanInterval([]float64{n - x, x}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		wlo, whi := Wilson(x, n, 0.95)
		if math.Abs(lo-wlo) > 1e-9 || math.Abs(hi-whi) > 1e-9 {
			t.Fatalf("%v of %v: %v to %v, Wilson %v to %v", x, n, lo, hi, wlo, whi)
		}
	})
}

func TestMeanIntervalEdges(t *testing.T) {
	// No variance in the sample: the fit with mean mu puts the rest on the far
	// end, so the limit is the range times Wilson's, worked out by hand.
	_, whi := Wilson(0, 10, 0.95)
	for _, c := range []struct {
		name         string
		counts       []float64
		mean, lo, hi float64
	}{
		{"ten zeros", []float64{10, 0, 0, 0, 0}, 0, 0, 4 * whi},
		{"ten fours", []float64{0, 0, 0, 0, 10}, 4, 4 - 4*whi, 4},
		{"nothing", []float64{0, 0, 0, 0, 0}, 2, 0, 4},
	} {
		mean, lo, hi, err := MeanInterval(c.counts, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name+": mean", mean, c.mean, 1e-12)
		near(t, c.name+": lower", lo, c.lo, 1e-9)
		near(t, c.name+": upper", hi, c.hi, 1e-9)
	}
	for _, bad := range [][]float64{nil, {1}, {1, -1}, {1, math.NaN()}, {math.Inf(1), 1}} {
		if _, _, _, err := MeanInterval(bad, 0.95); err == nil {
			t.Errorf("%v: no error", bad)
		}
	}
}

// Large samples: the score interval and the classical one agree (central limit
// theorem).
func TestMeanIntervalIsClassicalForManyTrials(t *testing.T) {
	counts := []float64{5100, 300, 3100, 1400, 100}
	mean, lo, hi, _ := MeanInterval(counts, 0.95)
	var n, s2 float64
	for j, c := range counts {
		n += c
		s2 += c * (float64(j) - mean) * (float64(j) - mean)
	}
	se := math.Sqrt(s2 / n / n)
	near(t, "half width", (hi-lo)/2, 1.959964*se, 0.002*se)
	near(t, "middle", (hi+lo)/2, mean, 0.05*se)
}

// Coverage of the 95 % interval, by simulation at a fixed seed, for shapes from
// balanced to nearly always zero and from 5 trials up.
func TestMeanIntervalCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310114, 1))
	shapes := []struct {
		name string
		p    []float64
	}{
		{"usual", []float64{0.52, 0.04, 0.30, 0.13, 0.01}},
		{"mostly zero", []float64{0.85, 0.01, 0.10, 0.035, 0.005}},
		{"often two", []float64{0.40, 0.10, 0.45, 0.04, 0.01}},
		{"generous", []float64{0.20, 0.05, 0.40, 0.30, 0.05}},
	}
	const reps = 800
	for _, shape := range shapes {
		p := shape.p
		truth := p[1] + 2*p[2] + 3*p[3] + 4*p[4]
		for _, n := range []int{5, 10, 20, 50, 200} {
			hit := 0
			for range reps {
				counts := make([]float64, len(p))
				for range n {
					counts[pick(rng, p)]++
				}
				_, lo, hi, err := MeanInterval(counts, 0.95)
				if err != nil {
					t.Fatal(err)
				}
				if lo <= truth && truth <= hi {
					hit++
				}
			}
			cover := float64(hit) / reps
			t.Logf("%-12s n=%3d covers %.3f", shape.name, n, cover)
			// At five trials it errs on the careful side; from ten on it is close.
			if cover < 0.925 || n >= 10 && cover > 0.985 {
				t.Errorf("%s, n=%d: the 95 %% interval covers %.3f", shape.name, n, cover)
			}
		}
	}
}

func pick(rng *rand.Rand, p []float64) int {
	u := rng.Float64()
	for j := range p {
		if u -= p[j]; u < 0 {
			return j
		}
	}
	return len(p) - 1
}
