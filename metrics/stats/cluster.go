package stats

import "math"

// Cluster is the (weighted) successes and trials of one cluster, such as one
// person on one day.
type Cluster struct {
	Successes, Trials float64
}

// DesignEffect is 1 + (m-1)*rho, the factor by which clusters of mean size m and
// intra-cluster correlation rho inflate the variance of a rate. It is never
// below 1: clusters smaller than one trial and a negative rho count as none.
//
// Source: Kish L (1965) Survey Sampling, section 5.4 (from memory).
func DesignEffect(m, rho float64) float64 {
	if !(m > 1) || !(rho > 0) {
		return 1
	}
	return 1 + (m-1)*math.Min(rho, 1)
}

// ClusterSize is the size-weighted mean number of trials in a cluster,
// sum m^2 / sum m: the size of the cluster that a randomly chosen trial is in.
// Without trials it is 0.
func ClusterSize(sizes []float64) float64 {
	var sum, squares float64
	for _, m := range sizes {
		if m > 0 && !math.IsInf(m, 1) {
			sum += m
			squares += m * m
		}
	}
	if sum == 0 {
		return 0
	}
	return squares / sum
}

// ICC is an analysis-of-variance intra-cluster correlation with the numbers it
// came from.
type ICC struct {
	Rho      float64 // the estimate, which may be negative; 0 if undefined
	Defined  bool    // whether there were trials enough between and within clusters
	Clusters int     // clusters with trials, in groups of at least two
	Between  float64 // mean square between the clusters of a group
	Within   float64 // mean square within clusters
	Size     float64 // the mean cluster size n0 of the analysis of variance
}

// PooledICC estimates one intra-cluster correlation of a yes-or-no outcome from
// several groups of clusters, each group having a rate of its own. groups[g]
// lists the clusters of group g. With n_gc trials and rate p_gc in a cluster and
// N_g, p_g in its group,
//
//	Between = sum n_gc (p_gc-p_g)^2 / sum (C_g-1)
//	Within  = sum n_gc p_gc (1-p_gc) / sum (n_gc-1)
//	Size    = sum_g (N_g - sum_c n_gc^2/N_g) / sum (C_g-1)
//	Rho     = (Between-Within) / (Between+(Size-1)*Within)
//
// Groups with one cluster say nothing about it and are left out. With one group
// it is the analysis-of-variance estimator of Ridout MS, Demétrio CGB, Firth D
// (1999) Biometrics 55:137-148, section 2.1; sums over groups pool the degrees of
// freedom as in a nested analysis of variance.
func PooledICC(groups [][]Cluster) ICC {
	var out ICC
	var ssBetween, ssWithin, dfBetween, dfWithin, size float64
	for _, group := range groups {
		var n, y, squares, clusters float64
		for _, c := range group {
			if x, m, ok := cleanCounts(c.Successes, c.Trials); ok {
				n, y, squares = n+m, y+x, squares+m*m
				clusters++
			}
		}
		if clusters < 2 {
			continue
		}
		out.Clusters += int(clusters)
		for _, c := range group {
			if x, m, ok := cleanCounts(c.Successes, c.Trials); ok {
				d := x/m - y/n
				ssBetween += m * d * d
				ssWithin += x * (1 - x/m)
			}
		}
		dfBetween += clusters - 1
		dfWithin += n - clusters
		size += n - squares/n
	}
	if dfBetween <= 0 || dfWithin <= 0 {
		return out
	}
	out.Between, out.Within, out.Size = ssBetween/dfBetween, ssWithin/dfWithin, size/dfBetween
	if denom := out.Between + (out.Size-1)*out.Within; denom > 0 {
		out.Rho, out.Defined = clamp((out.Between-out.Within)/denom, -1, 1), true
	}
	return out
}

// Shrunk is the correlation to use: the estimate floored at 0 and averaged with
// a prior value, which counts as much as priorWeight clusters. clusters is the
// weight of the estimate; use e.Clusters unless the clusters overlap in what
// makes them alike. An undefined estimate leaves the prior.
func (e ICC) Shrunk(clusters, prior, priorWeight float64) float64 {
	if !e.Defined || !(clusters > 0) {
		return prior
	}
	return (clusters*math.Max(e.Rho, 0) + priorWeight*prior) / (clusters + priorWeight)
}

// Effective is a count of clustered trials reduced to that of independent ones.
type Effective struct {
	Successes, Trials float64
	Design            float64 // the factor by which both were divided, at least 1
	Clusters          int     // clusters with trials
}

// ClusterDesign divides the counts of one rate by the design effect that follows
// from a known intra-cluster correlation and the size-weighted mean cluster size.
func ClusterDesign(clusters []Cluster, rho float64) Effective {
	sizes := make([]float64, len(clusters))
	for i, c := range clusters {
		sizes[i] = c.Trials
	}
	return reduce(clusters, DesignEffect(ClusterSize(sizes), rho))
}

// RaoScott divides the counts of one rate by the design effect estimated from
// its own clusters: the variance of the ratio of sums over that of a binomial.
// It needs no model of the correlation, but several clusters; with fewer than
// two, or no variance, the design is 1. A design below 1 is kept at 1 when floor
// is set, so that chance evenness is not taken for information.
//
// Source: Rao JNK, Scott AJ (1992) Biometrics 48:577-585, section 2.
func RaoScott(clusters []Cluster, floor bool) Effective {
	var n, y float64
	m := 0.0
	for _, c := range clusters {
		if x, t, ok := cleanCounts(c.Successes, c.Trials); ok {
			n, y, m = n+t, y+x, m+1
		}
	}
	if m < 2 || y <= 0 || y >= n {
		return reduce(clusters, 1)
	}
	p := y / n
	var squares float64
	for _, c := range clusters {
		if x, t, ok := cleanCounts(c.Successes, c.Trials); ok {
			r := x - t*p
			squares += r * r
		}
	}
	design := m / (m - 1) * squares / n / (p * (1 - p))
	if design < 1 && floor || design <= 0 {
		design = 1
	}
	return reduce(clusters, design)
}

func reduce(clusters []Cluster, design float64) Effective {
	out := Effective{Design: design}
	for _, c := range clusters {
		if x, t, ok := cleanCounts(c.Successes, c.Trials); ok {
			out.Successes += x / design
			out.Trials += t / design
			out.Clusters++
		}
	}
	return out
}
