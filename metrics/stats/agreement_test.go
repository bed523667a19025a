package stats

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

type value struct {
	Name, Status, Metric, Source string
	Value                        any
}

// number and the tolerance that its status allows.
func (v value) number() (float64, float64) {
	x, _ := v.Value.(float64)
	if v.Status == "published" { // half a unit of the last digit
		digits := strconv.FormatFloat(x, 'f', -1, 64)
		places := len(digits) - strings.Index(digits+".", ".") - 1
		return x, 0.5 * math.Pow(10, -float64(places)) * 1.0001
	}
	return x, 1e-9
}

// Tables, values and sources are in cohen.json; "recomputed" is statsmodels.
func TestKappaAgainstPublishedExamples(t *testing.T) {
	var ref struct {
		Values []struct {
			Example string
			Table   [][]float64 `json:"table_rows_are_rater_1"`
			Values  []value
		}
	}
	reference(t, "cohen.json", &ref)
	for _, ex := range ref.Values {
		got, err := Kappa(ex.Table)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := got.Interval(0.95)
		for _, v := range ex.Values {
			if v.Status == "memory" {
				continue // recalled, not confirmed: no reason to fail
			}
			want, tol := v.number()
			switch v.Name {
			case "kappa":
				near(t, ex.Example+" kappa", got.Kappa, want, tol)
			case "se":
				near(t, ex.Example+" se", got.SE, want, math.Max(tol, 1e-9))
			case "se0":
				near(t, ex.Example+" se0", got.SE0, want, tol)
			case "ci":
				ends := v.Value.([]any)
				if v.Status == "published" {
					tol = 0.5e-4
				}
				near(t, ex.Example+" lower", lo, ends[0].(float64), tol)
				near(t, ex.Example+" upper", hi, ends[1].(float64), tol)
			}
		}
	}
}

// Values and sources are in weighted_kappa.json.
func TestWeightedKappaAgainstPublishedExamples(t *testing.T) {
	var ref struct {
		Values []struct {
			Example, Weights, Status string
			Table                    [][]float64 `json:"table_rows_are_rater_1"`
			Credit                   [][]float64 `json:"agreement_weights"`
			Kappa                    float64
			SE, SE0                  *float64
		}
	}
	reference(t, "weighted_kappa.json", &ref)
	for _, ex := range ref.Values {
		weights := ex.Credit
		switch ex.Weights {
		case "linear":
			weights = LinearWeights(len(ex.Table))
		case "quadratic":
			weights = QuadraticWeights(len(ex.Table))
		}
		got, err := WeightedKappa(ex.Table, weights)
		if err != nil {
			t.Fatal(err)
		}
		tol := 1e-9
		if ex.Status == "published" {
			tol = 0.5e-3
		}
		near(t, ex.Example+" "+ex.Weights, got.Kappa, ex.Kappa, tol)
		if ex.SE != nil {
			near(t, ex.Example+" "+ex.Weights+" se", got.SE, *ex.SE, 1e-9)
			near(t, ex.Example+" "+ex.Weights+" se0", got.SE0, *ex.SE0, 1e-9)
		}
	}
}

func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "stats", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func countTable(t *testing.T, name string) (out [][]float64) {
	for _, row := range rows(t, name) {
		var counts []float64
		for _, cell := range row[1:] {
			c, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			counts = append(counts, c)
		}
		out = append(out, counts)
	}
	return out
}

// Fleiss (1971), 30 patients and 6 raters: sources in fleiss.json.
func TestFleissKappa(t *testing.T) {
	first, err := FleissKappa(countTable(t, "fleiss1971_counts.csv"))
	if err != nil {
		t.Fatal(err)
	}
	second, err := FleissKappa(countTable(t, "fleiss_second_counts.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var ref struct{ Values []value }
	reference(t, "fleiss.json", &ref)
	category := map[string]int{"Depression": 0, "Personality Disorder": 1, "Schizophrenia": 2, "Neurosis": 3, "Other": 4}
	checked := 0
	for _, v := range ref.Values {
		var got float64
		name, which, _ := strings.Cut(v.Name, ": ")
		switch {
		case name == "kappa":
			got = first.Kappa
		case strings.HasPrefix(name, "mean observed"):
			got = first.Observed
		case strings.HasPrefix(name, "expected"):
			got = first.Expected
		case strings.HasPrefix(name, "standard error"):
			got = first.SE0
		case name == "category share p_j":
			got = first.Shares[category[which]]
		case name == "category kappa":
			got = first.Categories[category[which]]
		case strings.HasPrefix(name, "second example"):
			got = second.Kappa
		default:
			continue
		}
		want, tol := v.number()
		near(t, v.Name, got, want, tol)
		checked++
	}
	if checked < 15 {
		t.Errorf("only %d values checked", checked)
	}
}

// Krippendorff (2011), four observers and twelve units: krippendorff.json.
func TestAlpha(t *testing.T) {
	units := map[string][]float64{}
	for _, row := range rows(t, "krippendorff_data.csv") {
		if row[2] != "" {
			v, _ := strconv.ParseFloat(row[2], 64)
			units[row[0]] = append(units[row[0]], v)
		}
	}
	var list [][]float64
	for i := range 12 {
		list = append(list, units[strconv.Itoa(i+1)])
	}
	metrics := map[string]Metric{"nominal": Nominal, "ordinal": Ordinal, "interval": Interval, "ratio": Ratio}
	var ref struct{ Values []value }
	reference(t, "krippendorff.json", &ref)
	for _, v := range ref.Values {
		got, err := Alpha(list, metrics[v.Metric])
		if err != nil {
			t.Fatal(err)
		}
		want, tol := v.number()
		near(t, v.Metric, got.Alpha, want, tol)
		near(t, "pairable values", got.Pairable, 40, 0)
	}
}

// Two raters who see the truth with known errors: the kappa of the joint
// distribution, worked out exactly, is what the estimate and its interval find.
func TestKappaRecoversKnownErrorRates(t *testing.T) {
	truth := []float64{0.5, 0.2, 0.3}
	const slip = 0.15 // to either other category, half each
	joint := [3][3]float64{}
	for c, p := range truth {
		for i := range 3 {
			for j := range 3 {
				joint[i][j] += p * seen(c, i, slip) * seen(c, j, slip)
			}
		}
	}
	var po, pe float64
	for i := range 3 {
		po += joint[i][i]
		var r, c float64
		for j := range 3 {
			r, c = r+joint[i][j], c+joint[j][i]
		}
		pe += r * c
	}
	kappa := (po - pe) / (1 - pe)
	rng := rand.New(rand.NewPCG(5, 5))
	hit, mean := 0, 0.0
	const reps = 400
	for range reps {
		table := [][]float64{{0, 0, 0}, {0, 0, 0}, {0, 0, 0}}
		for range 200 {
			c := pick(rng, truth)
			table[look(rng, c, slip)][look(rng, c, slip)]++
		}
		a, err := Kappa(table)
		if err != nil {
			t.Fatal(err)
		}
		mean += a.Kappa / reps
		if lo, hi := a.Interval(0.95); lo <= kappa && kappa <= hi {
			hit++
		}
	}
	near(t, "mean kappa", mean, kappa, 0.01)
	near(t, "coverage", float64(hit)/reps, 0.95, 0.03)
}

func seen(c, i int, slip float64) float64 {
	if c == i {
		return 1 - slip
	}
	return slip / 2
}

func look(rng *rand.Rand, c int, slip float64) int {
	if rng.Float64() >= slip {
		return c
	}
	return (c + 1 + rng.IntN(2)) % 3
}

func TestBootstrapClusters(t *testing.T) {
	// The mean of 30 clusters: the resampled error is sqrt(var/n), exactly known.
	values := make([]float64, 30)
	rng := rand.New(rand.NewPCG(1, 2))
	var mean, ss float64
	for i := range values {
		values[i] = rng.NormFloat64()
		mean += values[i] / 30
	}
	for _, v := range values {
		ss += sq(v - mean)
	}
	stat := func(drawn []int) (float64, bool) {
		var s float64
		for _, i := range drawn {
			s += values[i] / float64(len(drawn))
		}
		return s, true
	}
	b, err := BootstrapClusters(rand.New(rand.NewPCG(3, 4)), 30, 4000, 0.95, stat)
	if err != nil {
		t.Fatal(err)
	}
	se := math.Sqrt(ss / 30 / 30)
	near(t, "SE", b.SE, se, 0.05*se)
	near(t, "lower", b.Lo, mean-1.96*se, 0.15*se)
	near(t, "upper", b.Hi, mean+1.96*se, 0.15*se)
	again, _ := BootstrapClusters(rand.New(rand.NewPCG(3, 4)), 30, 4000, 0.95, stat)
	if again != b {
		t.Error("the same seed gave another result")
	}
	never := func([]int) (float64, bool) { return 0, false }
	if _, err := BootstrapClusters(rng, 30, 100, 0.95, never); err == nil {
		t.Error("a statistic that is never defined: no error")
	}
	if _, err := BootstrapClusters(rng, 1, 100, 0.95, stat); err == nil {
		t.Error("one cluster: no error")
	}
}

func TestAgreementWithoutInformation(t *testing.T) {
	for name, table := range map[string][][]float64{
		"nothing judged": {{0, 0}, {0, 0}}, "one category ever used": {{9, 0}, {0, 0}}, "one category": {{4}},
	} {
		a, err := Kappa(table)
		if err != nil || a.Defined || a.Kappa != 0 {
			t.Errorf("%s: %+v, %v", name, a, err)
		}
		if lo, hi := a.Interval(0.95); lo != -1 || hi != 1 {
			t.Errorf("%s: interval %v to %v", name, lo, hi)
		}
	}
	for name, table := range map[string][][]float64{
		"no rows": {}, "ragged": {{1, 2}, {1}}, "negative": {{1, -1}, {0, 1}}, "not a number": {{math.NaN()}},
	} {
		if _, err := Kappa(table); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if a, err := Alpha([][]float64{{1}, {2}, nil}, Nominal); err != nil || a.Defined {
		t.Errorf("no pairs: %+v, %v", a, err)
	}
	if a, err := Alpha([][]float64{{1, 1}, {1, 1}}, Nominal); err != nil || a.Defined {
		t.Errorf("one value: %+v, %v", a, err)
	}
	if _, err := Alpha([][]float64{{math.NaN(), 1}}, Nominal); err == nil {
		t.Error("NaN: no error")
	}
	if f, err := FleissKappa(nil); err != nil || f.Defined {
		t.Errorf("no subjects: %+v, %v", f, err)
	}
	for name, counts := range map[string][][]float64{"unequal": {{1, 1}, {2, 1}}, "one rater": {{1, 0}}} {
		if _, err := FleissKappa(counts); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
