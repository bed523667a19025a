package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The mean of a Dirichlet's variable against gonum's beta distribution: with two
// values it is the beta's own mean and variance.
func TestDirichletMomentsAreBeta(t *testing.T) {
	b := distuv.Beta{Alpha: 3.5, Beta: 7.2}
	mean, _, variance := dirichletMoments([]float64{7.2, 3.5})
	near(t, "mean", mean, b.Mean(), 1e-12)
	near(t, "variance", variance, b.Variance(), 1e-12)
}

// Items drawn from a common Dirichlet, most with few trials: pooled means are
// nearer the truth than raw ones, and their intervals cover what they say.
func TestShrunkMeansAgainstSimulation(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 4))
	base := []float64{0.5, 0.05, 0.32, 0.12, 0.01}
	prior := []float64{2.5, 0.25, 1.6, 0.6, 0.05}
	var raw, pooled float64
	var hit80, hit95, all int
	for range 150 {
		strength := 20 * math.Exp(0.7*rng.NormFloat64())
		var counts [][]float64
		var truth []float64
		for range 12 {
			p := make([]float64, 5)
			for j := range p {
				p[j] = gamma(rng, strength*base[j])
			}
			s := sumOf(p)
			m := 0.0
			for j := range p {
				p[j] /= s
				m += float64(j) * p[j]
			}
			c := make([]float64, 5)
			for range 1 + rng.IntN(25) {
				c[pick(rng, p)]++
			}
			counts, truth = append(counts, c), append(truth, m)
		}
		got, err := ShrunkMeans(counts, prior)
		if err != nil {
			t.Fatal(err)
		}
		for i, g := range got {
			m, _, _, _ := MeanInterval(counts[i], 0.95)
			raw += sq(m - truth[i])
			pooled += sq(g.Mean - truth[i])
			d := math.Abs(g.Mean-truth[i]) / g.SD
			all++
			if d < 1.2816 {
				hit80++
			}
			if d < 1.96 {
				hit95++
			}
		}
	}
	if pooled > 0.6*raw {
		t.Errorf("squared error %.1f pooled, %.1f raw", pooled, raw)
	}
	near(t, "80 % covers", float64(hit80)/float64(all), 0.80, 0.03)
	near(t, "95 % covers", float64(hit95)/float64(all), 0.95, 0.02)
}

func TestShrunkMeansEdges(t *testing.T) {
	prior := []float64{2, 1, 2, 1, 0.5}
	none, err := ShrunkMeans([][]float64{{0, 0, 0, 0, 0}}, prior)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "no trials at all: the prior's mean", none[0].Mean, (1+4+3+2)/6.5, 1e-12)
	if !(none[0].SD > 0.3) || none[0].Weight != 0 {
		t.Errorf("no trials at all: %+v", none[0])
	}
	many, err := ShrunkMeans([][]float64{{5000, 0, 5000, 0, 0}, {3, 0, 0, 0, 0}}, prior)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "many trials keep their mean", many[0].Mean, 1, 0.02)
	if !(many[1].Mean > 0.05 && many[1].Mean < 1) || !(many[1].SD > 0) {
		t.Errorf("three zeros beside them: %+v", many[1])
	}
	for name, bad := range map[string][][]float64{
		"ragged": {{1, 2}}, "negative": {{-1, 0, 0, 0, 0}}, "NaN": {{math.NaN(), 0, 0, 0, 0}},
	} {
		if _, err := ShrunkMeans(bad, prior); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := ShrunkMeans([][]float64{{1, 1}}, []float64{1, 0}); err == nil {
		t.Error("a value that the prior excludes: no error")
	}
	if out, err := ShrunkMeans(nil, prior); err != nil || len(out) != 0 {
		t.Errorf("no items: %v, %v", out, err)
	}
}
