package stats

import (
	"fmt"
	"math"
	"slices"
)

// Metric says how far apart two values are for [Alpha].
type Metric int

// The four metrics of Krippendorff (2011).
const (
	Nominal  Metric = iota // differ or not
	Ordinal                // by the ranks between them
	Interval               // squared difference
	Ratio                  // squared difference over squared sum
)

// Reliability is Krippendorff's alpha with what it was made of.
type Reliability struct {
	Alpha    float64 // 1 - Observed/Expected; 0 if not Defined
	Observed float64 // mean disagreement within units
	Expected float64 // mean disagreement of values paired at random
	Pairable float64 // values in units that have at least two
	Defined  bool    // false without pairs, or when only one value occurs
}

// Alpha is Krippendorff's alpha for any number of raters with judgements
// missing: units[u] lists the values that unit u was given, by whom does not
// matter, and a missing one is just not there. Units with one value drop out.
// Codes of categories will do for Nominal; Ratio wants values from 0.
//
// Source: Krippendorff K (2011) Computing Krippendorff's Alpha-Reliability,
// University of Pennsylvania.
func Alpha(units [][]float64, metric Metric) (Reliability, error) {
	values, err := distinctValues(units, metric)
	if err != nil {
		return Reliability{}, err
	}
	k := len(values)
	pairs, totals := coincidences(units, values)
	var out Reliability
	for _, c := range totals {
		out.Pairable += c
	}
	if out.Pairable == 0 {
		return out, nil
	}
	for i := range k {
		for j := i + 1; j < k; j++ {
			d := distance(metric, values, totals, i, j)
			out.Observed += 2 * pairs[i*k+j] * d / out.Pairable
			out.Expected += 2 * totals[i] * totals[j] * d / (out.Pairable * (out.Pairable - 1))
		}
	}
	if out.Expected > 0 {
		out.Alpha, out.Defined = 1-out.Observed/out.Expected, true
	}
	return out, nil
}

func distinctValues(units [][]float64, metric Metric) ([]float64, error) {
	if metric < Nominal || metric > Ratio {
		return nil, fmt.Errorf("alpha: unknown metric %d", metric)
	}
	var values []float64
	for u, unit := range units {
		for _, v := range unit {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("alpha: unit %d has the value %v: leave missing values out", u, v)
			}
			if metric == Ratio && v < 0 {
				return nil, fmt.Errorf("alpha: unit %d has the value %v, and a ratio scale starts at 0", u, v)
			}
			if i, found := slices.BinarySearch(values, v); !found {
				values = slices.Insert(values, i, v)
			}
		}
	}
	return values, nil
}

// coincidences is the matrix of value pairs within units, each unit of m values
// adding m in all, and its margin.
func coincidences(units [][]float64, values []float64) (pairs, totals []float64) {
	k := len(values)
	pairs, totals = make([]float64, k*k), make([]float64, k)
	for _, unit := range units {
		m := float64(len(unit))
		if m < 2 {
			continue
		}
		for a, v := range unit {
			i, _ := slices.BinarySearch(values, v)
			totals[i]++
			for b, w := range unit {
				if a != b {
					j, _ := slices.BinarySearch(values, w)
					pairs[i*k+j] += 1 / (m - 1)
				}
			}
		}
	}
	return pairs, totals
}

func distance(metric Metric, values, totals []float64, i, j int) float64 {
	switch metric {
	case Ordinal:
		between := -(totals[i] + totals[j]) / 2
		for g := i; g <= j; g++ {
			between += totals[g]
		}
		return between * between
	case Interval:
		return sq(values[i] - values[j])
	case Ratio:
		return sq((values[i] - values[j]) / (values[i] + values[j]))
	}
	return 1
}
