package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

type rats struct {
	Data []struct {
		Group             string
		Trials, Successes float64
	}
	RaoScott struct {
		Groups []struct {
			Group              string
			Design             float64
			EffectiveTrials    float64 `json:"effective_trials"`
			EffectiveSuccesses float64 `json:"effective_successes"`
		}
		ChiSquared float64 `json:"chi_squared_of_effective_counts"`
	} `json:"rao_scott"`
	Anova struct {
		Between, Within float64
		ByGroup         []struct {
			Group           string
			Between, Within float64
		} `json:"by_group"`
	}
}

func (r rats) clusters(group string) (out []Cluster) {
	for _, d := range r.Data {
		if d.Group == group {
			out = append(out, Cluster{d.Successes, d.Trials})
		}
	}
	return out
}

// The worked example of Rao and Scott (1992): sources in rats.json.
func TestRaoScottOnTheRats(t *testing.T) {
	var r rats
	reference(t, "rats.json", &r)
	var eff []Effective
	for _, g := range r.RaoScott.Groups {
		e := RaoScott(r.clusters(g.Group), true)
		near(t, g.Group+" design", e.Design, g.Design, 1e-9)
		near(t, g.Group+" trials", e.Trials, g.EffectiveTrials, 1e-9)
		near(t, g.Group+" successes", e.Successes, g.EffectiveSuccesses, 1e-9)
		eff = append(eff, e)
	}
	// The adjusted test of the paper is the ordinary one on effective counts.
	p := (eff[0].Successes + eff[1].Successes) / (eff[0].Trials + eff[1].Trials)
	var chi float64
	for _, e := range eff {
		chi += sq(e.Successes-e.Trials*p) / (e.Trials * p * (1 - p))
	}
	near(t, "chi-squared", chi, r.RaoScott.ChiSquared, 1e-9)
}

// Mean squares against an independent fit of linear models to the outcomes.
func TestICCMeanSquares(t *testing.T) {
	var r rats
	reference(t, "rats.json", &r)
	both := PooledICC([][]Cluster{r.clusters("CTRL"), r.clusters("TREAT")})
	near(t, "between", both.Between, r.Anova.Between, 1e-9)
	near(t, "within", both.Within, r.Anova.Within, 1e-9)
	if both.Clusters != 32 || !both.Defined {
		t.Errorf("%+v", both)
	}
	for _, g := range r.Anova.ByGroup {
		one := PooledICC([][]Cluster{r.clusters(g.Group)})
		near(t, g.Group+" between", one.Between, g.Between, 1e-9)
		near(t, g.Group+" within", one.Within, g.Within, 1e-9)
	}
}

// A known correlation comes back: beta-binomial clusters, groups with rates of
// their own.
func TestICCRecoversTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for _, rho := range []float64{0, 0.03, 0.15} {
		var groups [][]Cluster
		for range 400 {
			rate := 0.3 + 0.4*rng.Float64()
			var group []Cluster
			for range 10 {
				n := 2 + rng.IntN(12)
				p := rate
				if rho > 0 {
					a := rate * (1 - rho) / rho
					b := (1 - rate) * (1 - rho) / rho
					x, y := gamma(rng, a), gamma(rng, b)
					p = x / (x + y)
				}
				c := Cluster{Trials: float64(n)}
				for range n {
					if rng.Float64() < p {
						c.Successes++
					}
				}
				group = append(group, c)
			}
			groups = append(groups, group)
		}
		near(t, "rho", PooledICC(groups).Rho, rho, 0.012)
	}
}

// gamma draws by Marsaglia and Tsang (2000).
func gamma(rng *rand.Rand, shape float64) float64 {
	boost := 1.0
	if shape < 1 {
		boost = math.Pow(rng.Float64(), 1/shape)
		shape++
	}
	d := shape - 1.0/3
	for {
		x := rng.NormFloat64()
		v := math.Pow(1+x/math.Sqrt(9*d), 3)
		if v > 0 && math.Log(1-rng.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
			return boost * d * v
		}
	}
}

func TestShrunk(t *testing.T) {
	for _, c := range []struct {
		name     string
		e        ICC
		clusters float64
		want     float64
	}{
		{"nothing known", ICC{}, 0, 0.03},
		{"as much as the prior", ICC{Rho: 0.09, Defined: true}, 20, 0.06},
		{"negative counts as none", ICC{Rho: -0.4, Defined: true}, 20, 0.015},
		{"three times the prior", ICC{Rho: 0.11, Defined: true}, 60, 0.09},
	} {
		near(t, c.name, c.e.Shrunk(c.clusters, 0.03, 20), c.want, 1e-12)
	}
}

func TestDesignEffect(t *testing.T) {
	for _, c := range []struct{ m, rho, want float64 }{
		{1, 0.5, 1}, {0.3, 0.5, 1}, {11, 0.03, 1.3}, {11, -0.2, 1}, {11, 0, 1}, {5, 1, 5}, {math.NaN(), 0.5, 1},
	} {
		near(t, "design effect", DesignEffect(c.m, c.rho), c.want, 1e-12)
	}
	// Trials are met in proportion to cluster size: (1+81)/(1+9).
	near(t, "size", ClusterSize([]float64{1, 9}), 8.2, 1e-12)
	near(t, "no size", ClusterSize(nil), 0, 0)
	e := ClusterDesign([]Cluster{{3, 6}, {2, 6}, {0, 0}}, 0.1)
	near(t, "effective trials", e.Trials, 12/1.5, 1e-12)
	near(t, "effective successes", e.Successes, 5/1.5, 1e-12)
	if e.Clusters != 2 {
		t.Errorf("%d clusters, want 2", e.Clusters)
	}
}

func TestClustersWithoutInformation(t *testing.T) {
	for name, clusters := range map[string][]Cluster{
		"none": nil, "one": {{1, 2}}, "empty": {{0, 0}, {0, 0}},
		"all": {{3, 3}, {2, 2}}, "no successes": {{0, 3}, {0, 2}},
	} {
		if e := RaoScott(clusters, true); e.Design != 1 {
			t.Errorf("%s: design %v, want 1", name, e.Design)
		}
		if e := PooledICC([][]Cluster{clusters}); e.Defined || e.Rho != 0 {
			t.Errorf("%s: %+v, want undefined", name, e)
		}
	}
	even := []Cluster{{2, 4}, {2, 4}, {2, 4.5}}
	if e := RaoScott(even, true); e.Design != 1 {
		t.Errorf("even clusters with a floor: %v", e.Design)
	}
	if e := RaoScott(even, false); !(e.Design < 1) {
		t.Errorf("even clusters without a floor: %v", e.Design)
	}
}

// The distributions under the intervals and the pooled model against scipy.
func TestQuantilesAgainstScipy(t *testing.T) {
	var ref struct {
		Values []struct {
			Dist       string
			A, B, P, X float64
		}
	}
	reference(t, "quantiles.json", &ref)
	for _, v := range ref.Values {
		var got float64
		switch v.Dist {
		case "beta":
			got = distuv.Beta{Alpha: v.A, Beta: v.B}.Quantile(v.P)
		case "normal":
			got = distuv.UnitNormal.Quantile(v.P)
		case "halfnormal":
			got = v.B * distuv.UnitNormal.Quantile((1+v.P)/2)
		}
		near(t, v.Dist+" quantile", got, v.X, 1e-8*math.Max(1, math.Abs(v.X)))
	}
}
