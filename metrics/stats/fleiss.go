package stats

import (
	"fmt"
	"math"
)

// FleissAgreement is Fleiss' kappa over all categories and for each.
type FleissAgreement struct {
	Agreement
	Shares     []float64 // share of all judgements in each category
	Categories []float64 // kappa of each category against the rest; 0 where undefined
}

// FleissKappa is the kappa of many raters: counts[i][j] is how many raters put
// subject i into category j. Every subject must have the same number of raters,
// at least two; use [Alpha] where some are missing. SE and SE0 are both the
// large-sample standard error at a true kappa of 0, the only one known in closed
// form; bootstrap by subject for an interval.
//
// Source: Fleiss JL (1971) Psychological Bulletin 76:378-382; standard error of
// Fleiss JL, Nee JCM, Landis JR (1979) Psychological Bulletin 86:974-977.
func FleissKappa(counts [][]float64) (FleissAgreement, error) {
	var out FleissAgreement
	raters, err := ratersPerSubject(counts)
	if err != nil || len(counts) == 0 {
		return out, err
	}
	n, k := float64(len(counts)), len(counts[0])
	out.N = n
	out.Shares, out.Categories = make([]float64, k), make([]float64, k)
	within := make([]float64, k) // sum over subjects of c(r-c)
	for _, row := range counts {
		var pairs float64
		for j, c := range row {
			out.Shares[j] += c / (n * raters)
			within[j] += c * (raters - c)
			pairs += c * (c - 1)
		}
		out.Observed += pairs / (raters * (raters - 1)) / n
	}
	var spread, skew float64
	for j, p := range out.Shares {
		out.Expected += p * p
		q := p * (1 - p)
		spread += q
		skew += q * (1 - 2*p)
		if q > 0 {
			out.Categories[j] = 1 - within[j]/(n*raters*(raters-1)*q)
		}
	}
	if 1-out.Expected < 1e-12 {
		return out, nil
	}
	out.Defined = true
	out.Kappa = (out.Observed - out.Expected) / (1 - out.Expected)
	out.SE0 = math.Sqrt(2*math.Max(spread*spread-skew, 0)) / (spread * math.Sqrt(n*raters*(raters-1)))
	out.SE = out.SE0
	return out, nil
}

func ratersPerSubject(counts [][]float64) (float64, error) {
	var raters float64
	for i, row := range counts {
		if len(row) != len(counts[0]) {
			return 0, fmt.Errorf("fleiss kappa: subject %d has %d categories, the first has %d", i, len(row), len(counts[0]))
		}
		var sum float64
		for j, c := range row {
			if !(c >= 0) || math.IsInf(c, 1) {
				return 0, fmt.Errorf("fleiss kappa: subject %d has count %v in category %d", i, c, j)
			}
			sum += c
		}
		if i == 0 {
			raters = sum
		}
		if sum != raters {
			return 0, fmt.Errorf("fleiss kappa: subject %d was judged %v times, the first %v: use alpha where judgements are missing", i, sum, raters)
		}
		if raters < 2 {
			return 0, fmt.Errorf("fleiss kappa: %v judgements a subject, want at least 2", raters)
		}
	}
	return raters, nil
}
