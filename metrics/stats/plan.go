package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Design is what is known of a difference D and of the log-odds of cells whose
// further trials would teach something about it: a joint normal distribution.
// Trials added by [Design.Add] narrow it as if they had been seen; where the mean
// would end is not known beforehand and stays.
type Design struct {
	Mean     float64 // of D now
	Variance float64 // of D, after the trials added so far

	before float64   // variance of D at the start
	cov    []float64 // of D with the log-odds of each cell
	cells  [][]float64
	rate   []float64
	weight []float64
}

// NewDesign takes the mean and variance of D, its covariance with the log-odds of
// each cell, the covariance matrix of these, each cell's rate, and the weight of
// one further trial of it (trials share occasions, and are divided by a design
// effect). The arguments are copied.
func NewDesign(mean, variance float64, cov []float64, cells [][]float64, rate, weight []float64) (*Design, error) {
	n := len(cov)
	if len(cells) != n || len(rate) != n || len(weight) != n {
		return nil, fmt.Errorf("design: %d covariances, %d cells, %d rates and %d weights, want as many of each", n, len(cells), len(rate), len(weight))
	}
	if !(variance >= 0) || math.IsInf(variance, 1) || math.IsNaN(mean) || math.IsInf(mean, 0) {
		return nil, fmt.Errorf("design: mean %v and variance %v, want finite numbers, the variance from 0", mean, variance)
	}
	d := &Design{Mean: mean, Variance: variance, before: variance}
	for i := range n {
		if len(cells[i]) != n || !(cells[i][i] >= 0) || math.IsInf(cells[i][i], 1) || math.IsNaN(cov[i]) {
			return nil, fmt.Errorf("design: cell %d has %d covariances, variance or covariance %v", i, len(cells[i]), cov[i])
		}
		if !(rate[i] >= 0 && rate[i] <= 1) || !(weight[i] >= 0) || math.IsInf(weight[i], 1) {
			return nil, fmt.Errorf("design: cell %d has rate %v and weight %v", i, rate[i], weight[i])
		}
		d.cells = append(d.cells, append([]float64{}, cells[i]...))
	}
	d.cov = append(d.cov, cov...)
	d.rate = append(d.rate, rate...)
	d.weight = append(d.weight, weight...)
	return d, nil
}

// Information is m·p(1-p)·weight, what m trials of a cell say about its log-odds.
func (d *Design) Information(cell int, m float64) float64 {
	return m * d.rate[cell] * (1 - d.rate[cell]) * d.weight[cell]
}

// VarianceAfter is what m further trials of a cell would leave of the variance of
// D: V - cov²/(1/I + Var(log-odds)). It does not change the design.
func (d *Design) VarianceAfter(cell int, m float64) float64 {
	return VarianceAfter(d.Variance, d.cov[cell], d.cells[cell][cell], d.Information(cell, m))
}

// Add takes m further trials of a cell into the design.
func (d *Design) Add(cell int, m float64) {
	info := d.Information(cell, m)
	if !(info > 0) {
		return
	}
	d.Variance = d.VarianceAfter(cell, m)
	by := 1 / (1/info + d.cells[cell][cell])
	row := append([]float64{}, d.cells[cell]...)
	cov := d.cov[cell]
	for i := range d.cov {
		d.cov[i] -= row[i] * cov * by
		for j := range d.cells[i] {
			d.cells[i][j] -= row[i] * row[j] * by
		}
	}
}

// Decided is the probability, seen from before any trial was added, that the
// posterior of D will end decided: P(D >= 0) at least sure, or at most 1-sure.
func (d *Design) Decided(sure float64) float64 {
	return DecidedProbability(d.Mean, d.before, d.Variance, sure)
}

// Limit is the probability of ending decided if a cell were known exactly: what
// any number of its trials can reach, from the design as it stands.
func (d *Design) Limit(cell int, sure float64) float64 {
	left := VarianceAfter(d.Variance, d.cov[cell], d.cells[cell][cell], math.Inf(1))
	return DecidedProbability(d.Mean, d.before, left, sure)
}

// VarianceAfter is v - cov²/(1/info + varEta): the variance of D given
// observations worth info about a normal log-odds with variance varEta, whose
// covariance with D is cov. It is the conditional variance of a joint normal.
func VarianceAfter(v, cov, varEta, info float64) float64 {
	if !(info > 0) || !(varEta > 0) {
		return v
	}
	return math.Max(v-cov*cov/(1/info+varEta), 0)
}

// DecidedProbability is the probability that the posterior of D, now N(mean, v0)
// and later of variance vm <= v0, will give P(D >= 0) >= sure or <= 1-sure. The
// later mean is N(mean, v0-vm) as seen from now (a preposterior analysis: Raiffa
// H, Schlaifer R (1961) Applied Statistical Decision Theory, section 5.4, from memory), so
// with z the normal quantile of sure it is
//
//	Φ((mean - z√vm)/√(v0-vm)) + Φ((-mean - z√vm)/√(v0-vm)).
func DecidedProbability(mean, v0, vm, sure float64) float64 {
	z := distuv.UnitNormal.Quantile(math.Min(math.Max(sure, 0.5), 1))
	vm = math.Min(math.Max(vm, 0), v0)
	edge := 0.0
	if vm > 0 {
		edge = z * math.Sqrt(vm)
	}
	spread := math.Sqrt(v0 - vm)
	if spread < 1e-12*(1+math.Sqrt(v0)) { // nothing will be learnt
		if math.Abs(mean) >= edge {
			return 1
		}
		return 0
	}
	p := distuv.UnitNormal.CDF((mean-edge)/spread) + distuv.UnitNormal.CDF((-mean-edge)/spread)
	return math.Min(p, 1)
}
