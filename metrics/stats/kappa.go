package stats

import (
	"fmt"
	"math"
)

// Agreement is a kappa with what it was made of.
type Agreement struct {
	Kappa    float64 // (Observed-Expected)/(1-Expected); 0 if not Defined
	SE       float64 // standard error for an interval around Kappa
	SE0      float64 // standard error if the true kappa were 0, for a test
	Observed float64 // share of (weighted) agreement seen
	Expected float64 // share to be expected from the margins alone
	N        float64 // things judged
	Defined  bool    // false without judgements, or when chance alone agrees always
}

// Interval is Kappa plus and minus z standard errors, kept within [-1, 1]; the
// whole range if kappa is not defined.
func (a Agreement) Interval(level float64) (lo, hi float64) {
	if !a.Defined {
		return -1, 1
	}
	z := NormalQuantile(level)
	return clamp(a.Kappa-z*a.SE, -1, 1), clamp(a.Kappa+z*a.SE, -1, 1)
}

// Kappa is Cohen's kappa for a square table of counts, rater 1 in the rows and
// rater 2 in the columns.
//
// Source: Cohen J (1960) Educational and Psychological Measurement 20:37-46; the
// standard errors of Fleiss JL, Cohen J, Everitt BS (1969) Psychological
// Bulletin 72:323-327, not the first approximate ones of 1960.
func Kappa(table [][]float64) (Agreement, error) {
	return WeightedKappa(table, identityWeights(len(table)))
}

// WeightedKappa is Cohen's weighted kappa: weights[i][j] says how much a pair of
// judgements i and j agrees, 1 on the diagonal and less elsewhere. See
// [LinearWeights] and [QuadraticWeights].
//
// Source: Cohen J (1968) Psychological Bulletin 70:213-220; standard errors of
// Fleiss, Cohen and Everitt (1969), formulas 8 and 9.
func WeightedKappa(table, weights [][]float64) (Agreement, error) {
	k := len(table)
	if err := checkSquare(table, k, "table", 0); err != nil {
		return Agreement{}, err
	}
	if err := checkSquare(weights, k, "weights", math.Inf(-1)); err != nil {
		return Agreement{}, err
	}
	var out Agreement
	for _, row := range table {
		for _, c := range row {
			out.N += c
		}
	}
	if out.N == 0 {
		return out, nil
	}
	rows, cols := margins(table, out.N)
	// The mean weight of each row under the column margin, and the other way.
	rowWeight, colWeight := make([]float64, k), make([]float64, k)
	for i := range k {
		for j := range k {
			rowWeight[i] += cols[j] * weights[i][j]
			colWeight[j] += rows[i] * weights[i][j]
			out.Observed += table[i][j] / out.N * weights[i][j]
			out.Expected += rows[i] * cols[j] * weights[i][j]
		}
	}
	po, pe := out.Observed, out.Expected
	if 1-pe < 1e-12 {
		return out, nil
	}
	out.Defined = true
	out.Kappa = (po - pe) / (1 - pe)
	var a, b float64
	for i := range k {
		for j := range k {
			both := rowWeight[i] + colWeight[j]
			a += table[i][j] / out.N * sq(weights[i][j]*(1-pe)-both*(1-po))
			b += rows[i] * cols[j] * sq(weights[i][j]-both)
		}
	}
	a -= sq(po*pe - 2*pe + po)
	b -= sq(pe)
	out.SE = math.Sqrt(math.Max(a, 0)/out.N) / sq(1-pe)
	out.SE0 = math.Sqrt(math.Max(b, 0)/out.N) / (1 - pe)
	return out, nil
}

// LinearWeights gives partial credit 1-|i-j|/(k-1) on k ordered categories.
func LinearWeights(k int) [][]float64 {
	return weightTable(k, func(d float64) float64 { return 1 - d })
}

// QuadraticWeights gives partial credit 1-(i-j)²/(k-1)² on k ordered categories.
func QuadraticWeights(k int) [][]float64 {
	return weightTable(k, func(d float64) float64 { return 1 - d*d })
}

func identityWeights(k int) [][]float64 {
	return weightTable(k, func(d float64) float64 {
		if d == 0 {
			return 1
		}
		return 0
	})
}

// weightTable applies credit to the distance of two categories as a share of the
// longest distance.
func weightTable(k int, credit func(float64) float64) [][]float64 {
	out := make([][]float64, k)
	for i := range out {
		out[i] = make([]float64, k)
		for j := range out[i] {
			out[i][j] = credit(math.Abs(float64(i-j)) / math.Max(float64(k-1), 1))
		}
	}
	return out
}

func margins(table [][]float64, n float64) (rows, cols []float64) {
	rows, cols = make([]float64, len(table)), make([]float64, len(table))
	for i, row := range table {
		for j, c := range row {
			rows[i] += c / n
			cols[j] += c / n
		}
	}
	return rows, cols
}

func checkSquare(m [][]float64, k int, what string, least float64) error {
	if k == 0 || len(m) != k {
		return fmt.Errorf("kappa: %s has %d rows, want %d and at least 1", what, len(m), k)
	}
	for i, row := range m {
		if len(row) != k {
			return fmt.Errorf("kappa: row %d of %s has %d columns, want %d", i, what, len(row), k)
		}
		for j, c := range row {
			if !(c >= least) || math.IsInf(c, 0) {
				return fmt.Errorf("kappa: %s has %v in row %d, column %d", what, c, i, j)
			}
		}
	}
	return nil
}

func sq(x float64) float64 { return x * x }
