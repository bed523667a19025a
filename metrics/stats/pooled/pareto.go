package pooled

import (
	"cmp"
	"math"
	"slices"
)

// paretoSmoothed turns log weights into normalised weights whose largest are
// replaced by the quantiles of a generalised Pareto distribution fitted to them,
// and returns its shape k: Vehtari and others (2024) JMLR 25(72), algorithm 1.
func paretoSmoothed(logs []float64) (weights []float64, k float64) {
	w := normalised(logs)
	n := len(w)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(w[a], w[b]) })
	m := int(min(0.2*float64(n), 3*math.Sqrt(float64(n))))
	if m < 5 {
		return w, math.Inf(1)
	}
	cut := w[order[n-m-1]]
	tail := make([]float64, m)
	for i := range tail {
		tail[i] = w[order[n-m+i]] - cut
	}
	if tail[m-1] <= 1e-12*w[order[n-1]] {
		return w, math.Inf(-1) // all alike: nothing to smooth
	}
	k, sigma := fitPareto(tail)
	most := w[order[n-1]]
	for i := range tail {
		p := (float64(i) + 0.5) / float64(m)
		q := -math.Log1p(-p) * sigma
		if math.Abs(k) > 1e-9 {
			q = sigma * math.Expm1(-k*math.Log1p(-p)) / k
		}
		w[order[n-m+i]] = min(cut+q, most)
	}
	var sum float64
	for _, x := range w {
		sum += x
	}
	for i := range w {
		w[i] /= sum
	}
	return w, k
}

// fitPareto fits shape and scale of a generalised Pareto distribution to sorted
// exceedances by the posterior mean of Zhang J, Stephens MA (2009) Technometrics
// 51:316-325, with the weak prior on the shape of Vehtari and others (2024).
func fitPareto(x []float64) (k, sigma float64) {
	n := len(x)
	grid := 30 + int(math.Sqrt(float64(n)))
	quarter := x[int(float64(n)/4+0.5)-1]
	if quarter <= 0 {
		quarter = x[n-1] / 4
	}
	theta, profile := make([]float64, grid), make([]float64, grid)
	shape := func(t float64) (s float64) {
		for _, v := range x {
			s += math.Log1p(-t * v)
		}
		return s / float64(n)
	}
	for j := range theta {
		theta[j] = 1/x[n-1] + (1-math.Sqrt(float64(grid)/(float64(j)+0.5)))/(3*quarter)
		s := shape(theta[j])
		profile[j] = float64(n) * (math.Log(-theta[j]/s) - s - 1)
	}
	w := normalised(profile)
	var t float64
	for j := range theta {
		t += w[j] * theta[j]
	}
	k = shape(t)
	sigma = -k / t
	k = (float64(n)*k + 10*0.5) / (float64(n) + 10)
	return k, sigma
}
