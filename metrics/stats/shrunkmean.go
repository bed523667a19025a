package stats

import (
	"fmt"
	"math"
)

// ShrunkMean is the pooled mean of one item and its standard deviation.
type ShrunkMean struct {
	Mean, SD float64
	Trials   float64 // of this item
	Weight   float64 // the item's own trials over these and what it borrows, 0 to 1
}

// Limits of the strength of pooling: how many trials what an item borrows from the
// others is worth. Its logarithm has a normal prior around strengthMiddle.
const (
	strengthMiddle = 20.0
	strengthSpread = 1.5
	strengthSteps  = 41
)

// ShrunkMeans pools the means of a variable on 0..k over items: counts[i][j] is
// the (weighted) number of trials of item i that took the value j. prior is what
// is believed of a trial of any item beforehand, in counts: its sum is how many
// trials the belief is worth, and it must be above 0 for every value that may
// occur.
//
// Each item's distribution over the values is Dirichlet around the distribution
// of the prior and all other items' trials, with a strength that is common to
// all items and integrated over; the item's own counts make it a Dirichlet again
// (Mosimann JE (1962) Biometrika 49:65-82), whose mean and variance are known.
// The doubt about the others' mean is added. Leaving the item itself out of what
// it is drawn to keeps its trials from counting twice. Means stay within the
// range, whatever the skew, and an item without trials has the others' mean with
// an item's spread around it.
func ShrunkMeans(counts [][]float64, prior []float64) ([]ShrunkMean, error) {
	total, err := checkMeans(counts, prior)
	if err != nil {
		return nil, err
	}
	logs := make([]float64, strengthSteps)
	strengths := make([]float64, strengthSteps)
	for s := range strengths {
		z := -2.5 + 5*float64(s)/(strengthSteps-1)
		strengths[s] = strengthMiddle * math.Exp(strengthSpread*z)
		logs[s] = -z * z / 2
		for _, own := range counts {
			logs[s] += dirichletEvidence(own, others(total, own), strengths[s])
		}
	}
	weights := fromLogs(logs)
	out := make([]ShrunkMean, len(counts))
	for i, own := range counts {
		out[i] = shrink(own, others(total, own), strengths, weights)
	}
	return out, nil
}

func checkMeans(counts [][]float64, prior []float64) (total []float64, err error) {
	var sum float64
	for j, c := range prior {
		if !(c >= 0) || math.IsInf(c, 1) {
			return nil, fmt.Errorf("shrunk means: prior count %v of value %d, want a finite number from 0", c, j)
		}
		sum += c
	}
	if len(prior) < 2 || sum == 0 {
		return nil, fmt.Errorf("shrunk means: prior with %d values and sum %v, want at least 2 values and a sum above 0", len(prior), sum)
	}
	total = append(total, prior...)
	for i, own := range counts {
		if len(own) != len(prior) {
			return nil, fmt.Errorf("shrunk means: item %d has %d values, the prior %d", i, len(own), len(prior))
		}
		for j, c := range own {
			if !(c >= 0) || math.IsInf(c, 1) {
				return nil, fmt.Errorf("shrunk means: item %d has count %v of value %d, want a finite number from 0", i, c, j)
			}
			if c > 0 && prior[j] == 0 {
				return nil, fmt.Errorf("shrunk means: item %d took the value %d, which the prior excludes", i, j)
			}
			total[j] += c
		}
	}
	return total, nil
}

// others is the total without the item's own counts.
func others(total, own []float64) []float64 {
	out := make([]float64, len(total))
	for j := range out {
		out[j] = math.Max(total[j]-own[j], 0)
	}
	return out
}

// dirichletEvidence is the log probability of the counts, up to their ordering,
// when their distribution is Dirichlet with the given strength around base.
func dirichletEvidence(own, base []float64, strength float64) float64 {
	n, sum := sumOf(own), sumOf(base)
	out := lgamma(strength) - lgamma(strength+n)
	for j, c := range own {
		if c > 0 {
			a := strength * base[j] / sum
			out += lgamma(a+c) - lgamma(a)
		}
	}
	return out
}

func shrink(own, base, strengths, weights []float64) ShrunkMean {
	out := ShrunkMean{Trials: sumOf(own)}
	around, _, baseVar := dirichletMoments(base)
	var mean, square float64
	a := make([]float64, len(own))
	for s, strength := range strengths {
		for j := range a {
			a[j] = own[j] + strength*base[j]/sumOf(base)
		}
		m, _, v := dirichletMoments(a)
		share := strength / (strength + out.Trials)
		v += share * share * baseVar
		mean += weights[s] * m
		square += weights[s] * (v + sq(m-around))
		out.Weight += weights[s] * (1 - share)
	}
	out.Mean = mean
	out.SD = math.Sqrt(math.Max(square-sq(mean-around), 0))
	return out
}

// dirichletMoments are the mean of the variable on 0..k under a Dirichlet with
// parameters a, its strength, and the variance of the mean.
func dirichletMoments(a []float64) (mean, strength, variance float64) {
	var second float64
	strength = sumOf(a)
	for j, x := range a {
		mean += float64(j) * x / strength
		second += float64(j*j) * x / strength
	}
	return mean, strength, math.Max(second-mean*mean, 0) / (strength + 1)
}

func sumOf(x []float64) (sum float64) {
	for _, v := range x {
		sum += v
	}
	return sum
}

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

func fromLogs(logs []float64) []float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		top = math.Max(top, l)
	}
	out := make([]float64, len(logs))
	for i, l := range logs {
		out[i] = math.Exp(l - top)
	}
	sum := sumOf(out)
	for i := range out {
		out[i] /= sum
	}
	return out
}
