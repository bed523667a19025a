package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A normal world: D and two log-odds, trials of them as normal observations. The
// closed form against simulation of the trials and of the posterior they lead to.
func TestDecidedProbabilityAgainstSimulation(t *testing.T) {
	const mean, sure = 0.03, 0.8
	v := mat.NewSymDense(3, []float64{0.0036, 0.018, 0.006, 0.018, 0.25, 0.05, 0.006, 0.05, 0.16})
	d, err := NewDesign(mean, 0.0036, []float64{0.018, 0.006}, [][]float64{{0.25, 0.05}, {0.05, 0.16}}, []float64{0.4, 0.6}, []float64{0.5, 1})
	if err != nil {
		t.Fatal(err)
	}
	d.Add(0, 60)
	d.Add(1, 25)
	info := []float64{60 * 0.24 * 0.5, 25 * 0.24}
	// The posterior of D given two observations, by the textbook formula.
	s := mat.NewSymDense(2, []float64{0.25 + 1/info[0], 0.05, 0.05, 0.16 + 1/info[1]})
	var inv mat.Dense
	if err := inv.Inverse(s); err != nil {
		t.Fatal(err)
	}
	c := mat.NewVecDense(2, []float64{0.018, 0.006})
	var gain mat.VecDense
	gain.MulVec(&inv, c)
	left := 0.0036 - mat.Dot(c, &gain)
	near(t, "variance left", d.Variance, left, 1e-12)

	rng := rand.New(rand.NewPCG(6, 6))
	var chol mat.Cholesky
	chol.Factorize(v)
	var l mat.TriDense
	chol.LTo(&l)
	decided := 0
	const reps = 40000
	for range reps {
		z := mat.NewVecDense(3, []float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()})
		var x mat.VecDense
		x.MulVec(&l, z)
		after := mean
		for i := range 2 {
			seen := x.AtVec(i+1) + rng.NormFloat64()/math.Sqrt(info[i])
			after += gain.AtVec(i) * seen
		}
		if p := distuv.UnitNormal.CDF(after / math.Sqrt(left)); p >= sure || p <= 1-sure {
			decided++
		}
	}
	near(t, "decided", d.Decided(sure), float64(decided)/reps, 4*math.Sqrt(0.25/reps))
}

func TestDecidedProbabilityEdges(t *testing.T) {
	for _, c := range []struct {
		name         string
		mean, v0, vm float64
		want, tol    float64
	}{
		{"nothing learnt, undecided", 0.01, 1, 1, 0, 0},
		{"nothing learnt, decided", 2, 1, 1, 1, 0},
		{"everything learnt", 0.01, 1, 0, 1, 1e-12},
		{"no doubt at all", 0.5, 0, 0, 1, 0},
		// mean 0, half the variance left: 2Φ(-z) with z the 0.8 quantile is 0.4.
		{"half", 0, 1, 0.5, 0.4, 1e-9},
	} {
		near(t, c.name, DecidedProbability(c.mean, c.v0, c.vm, 0.8), c.want, c.tol)
	}
}

func TestDesignLimit(t *testing.T) {
	d, err := NewDesign(0.02, 1, []float64{0.5, 0.9}, [][]float64{{1, 0.4}, {0.4, 1}}, []float64{0.5, 0}, []float64{1, 1})
	if err != nil {
		t.Fatal(err)
	}
	many := DecidedProbability(0.02, 1, d.VarianceAfter(0, 1e9), 0.8)
	near(t, "limit", d.Limit(0, 0.8), many, 1e-6)
	if d.VarianceAfter(1, 100) != 1 { // a rate of 0 has no information
		t.Error("a cell with rate 0 taught something")
	}
	before := *d
	d.Add(1, 100)
	if d.Variance != before.Variance {
		t.Error("a cell with rate 0 changed the design")
	}
	for name, bad := range map[string]func() error{
		"ragged":   func() error { _, err := NewDesign(0, 1, []float64{1}, nil, []float64{0.5}, []float64{1}); return err },
		"NaN mean": func() error { _, err := NewDesign(math.NaN(), 1, nil, nil, nil, nil); return err },
		"rate": func() error {
			_, err := NewDesign(0, 1, []float64{1}, [][]float64{{1}}, []float64{2}, []float64{1})
			return err
		},
	} {
		if bad() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
