package pooled

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

func testdata(name string) string {
	return filepath.Join("..", "..", "..", "testdata", "stats", name)
}

func reference(t testing.TB, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(testdata(name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// numbers reads the rows of a CSV file of numbers.
func numbers(t testing.TB, name string, from, to int) (out [][]float64) {
	t.Helper()
	f, err := os.Open(testdata(name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		var line []float64
		for _, cell := range row[from:to] {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			line = append(line, v)
		}
		out = append(out, line)
	}
	return out
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g within %g", what, got, want, tol)
	}
}

// One grouping factor, at lme4's own estimates of the fixed effects and scale:
// the modes and errors of the 15 herds and the log-likelihood must be lme4's
// (cbpp_glmm.json, Laplace fit, recomputed with lme4 1.1.31).
func TestConditionalModesAgainstLme4(t *testing.T) {
	var ref struct {
		Fits map[string]struct {
			Fixed  []struct{ Estimate float64 }
			SD     float64 `json:"sd_herd"`
			LogLik float64
			Modes  []struct {
				Herd     int
				Mode, SD float64
				CondSD   float64 `json:"cond_sd"`
			} `json:"herd_conditional_modes"`
		}
	}
	reference(t, "cbpp_glmm.json", &ref)
	fit := ref.Fits["laplace_nAGQ1"]
	data := Data{Own: make([]int, 15), OwnClasses: 1, Items: 1, Opposing: 1, Conditions: 4}
	var coefficients float64
	for _, row := range numbers(t, "cbpp.csv", 0, 4) {
		period := int(row[3])
		offset := fit.Fixed[0].Estimate
		if period > 1 {
			offset += fit.Fixed[period-1].Estimate
		}
		data.Cells = append(data.Cells, Cell{Group: int(row[0]) - 1, Condition: period - 1, Successes: row[1], Trials: row[2], Offset: offset})
		coefficients += logChoose(row[2], row[1])
	}
	got, err := FitConditional(data, Scales{Group: fit.SD}, Options{ItemSD: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Settled {
		t.Error("did not settle")
	}
	if len(fit.Modes) != 15 {
		t.Fatalf("%d herds in the reference", len(fit.Modes))
	}
	for _, m := range fit.Modes {
		near(t, "mode", got.Groups[m.Herd-1].Mode, m.Mode, 1e-6)
		near(t, "se", got.Groups[m.Herd-1].SE, m.CondSD, 1e-6)
	}
	near(t, "log-likelihood", got.LogLik+coefficients, fit.LogLik, 1e-5)
}

func logChoose(n, k float64) float64 {
	a, _ := math.Lgamma(n + 1)
	b, _ := math.Lgamma(k + 1)
	c, _ := math.Lgamma(n - k + 1)
	return a - b - c
}
