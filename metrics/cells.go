package metrics

import (
	"math"

	"stopledger/events"
	"stopledger/metrics/stats"
	"stopledger/metrics/stats/pooled"
)

// cell is the count of one defender, kind, opponent's role and scheme under a
// target.
type cell struct {
	player, kind, facing, scheme int
	y, n                         float64 // sums of trial weights
	squares                      float64 // of the weights
	trials                       int
	worth                        float64 // independent yes-or-no trials that tell as much
}

// tallyCells counts a target's trials, ordered by player, kind, role, scheme.
func (f *film) tallyCells(t Target, even float64) []cell {
	var cells []cell
	schemes := max(len(f.schemes), 1)
	own := make([]cell, len(events.Kinds)*len(roles)*schemes) // of one player, in order
	for p := range f.of {
		clear(own)
		for _, i := range f.of[p] {
			r := &f.rows[i]
			y, ok := r.success(t, even)
			if !ok {
				continue
			}
			c := &own[(r.kind*len(roles)+r.facing)*schemes+r.scheme]
			c.player, c.kind, c.facing, c.scheme = p, r.kind, r.facing, r.scheme
			c.y += r.trial * y
			c.n += r.trial
			c.squares += r.trial * r.trial
			c.trials++
		}
		for i := range own {
			if own[i].trials > 0 {
				cells = append(cells, own[i])
			}
		}
	}
	return cells
}

// clustersOf are each defender's trials of each kind by game: [player][kind],
// the games in order.
func (f *film) clustersOf(t Target, even float64) [][][]stats.Cluster {
	clusters := make([][][]stats.Cluster, len(f.players))
	last := make([][]int, len(f.players))
	for p := range clusters {
		clusters[p], last[p] = make([][]stats.Cluster, len(events.Kinds)), make([]int, len(events.Kinds))
	}
	for i := range f.rows {
		r := &f.rows[i]
		y, ok := r.success(t, even)
		if !ok {
			continue
		}
		list := &clusters[r.player][r.kind]
		if len(*list) == 0 || last[r.player][r.kind] != int(r.game) {
			*list = append(*list, stats.Cluster{})
			last[r.player][r.kind] = int(r.game)
		}
		(*list)[len(*list)-1].Successes += r.trial * y
		(*list)[len(*list)-1].Trials += r.trial
	}
	return clusters
}

// correlationOf is how alike a man's trials of one kind are within a game, by
// kind: estimated over the ledger, floored at 0 and shrunk.
func correlationOf(clusters [][][]stats.Cluster) []float64 {
	rho := make([]float64, len(events.Kinds))
	for k := range rho {
		var groups [][]stats.Cluster
		for p := range clusters {
			if len(clusters[p][k]) > 0 {
				groups = append(groups, clusters[p][k])
			}
		}
		icc := stats.PooledICC(groups)
		rho[k] = icc.Shrunk(float64(icc.Clusters), priorRho, priorGames)
	}
	return rho
}

// designEffects is by how much each defender's trials of each kind are divided:
// [player][kind], at least 1. The clusters are his trials of the kind in one
// game, whatever roles and schemes he met there.
func designEffects(clusters [][][]stats.Cluster, rho []float64) [][]float64 {
	out := make([][]float64, len(clusters))
	for p := range out {
		out[p] = make([]float64, len(events.Kinds))
		for k := range out[p] {
			sizes := make([]float64, 0, len(clusters[p][k]))
			for _, c := range clusters[p][k] {
				sizes = append(sizes, c.Trials)
			}
			out[p][k] = stats.DesignEffect(stats.ClusterSize(sizes), rho[k])
		}
	}
	return out
}

// weigh works out what each cell is worth to the model.
//
// For the result it is the sum of the weights over the design effect: what
// happened to a chance happened once, whatever number of kinds it is counted
// under, and the weights see to that.
//
// For the process the readings of one chance are readings of different things.
// Taking a sum of weights for a number of trials, or half a success for a trial
// that fell, makes counts look steadier than the model expects of any men, and it
// then finds them all alike: on seasons of known truth 80 % intervals held it 68
// times in a hundred. So the weights count by Kish's effective number,
// (sum w)^2 / sum w^2 (Kish L (1965) Survey Sampling, section 11.7, from memory),
// and scored trials by how much less they vary than yes-or-no trials of the same
// mean. The rate of a cell stays that of the weighted sums.
func weigh(t Target, cells []cell, design [][]float64, steady float64) {
	for i := range cells {
		c := &cells[i]
		c.worth = c.n / design[c.player][c.kind]
		if t == Process {
			c.worth *= c.n / c.squares * steady
		}
	}
}

// steadiness is the variance of yes-or-no trials over that of trials of which
// some were even, at the mean of everybody's: at least 1, and at most 2.
func (f *film) steadiness(even float64) float64 {
	var n, sum, squares float64
	for i := range f.rows {
		if y, ok := f.rows[i].success(Process, even); ok {
			n += f.rows[i].trial
			sum += f.rows[i].trial * y
			squares += f.rows[i].trial * y * y
		}
	}
	if n == 0 {
		return 1
	}
	mean := sum / n
	variance := squares/n - mean*mean
	return math.Min(math.Max(mean*(1-mean)/math.Max(variance, 1e-9), 1), 2)
}

// modelData lays the cells out for the pooled model. Every kind and role has its
// level, charted or not, so that a refit after one game has the same levels.
func (f *film) modelData(cells []cell) pooled.Data {
	data := pooled.Data{
		Own: make([]int, len(f.players)), OwnClasses: len(roles), Items: len(events.Kinds),
		Opposing: len(roles), Conditions: max(len(f.schemes), 1), Cells: make([]pooled.Cell, 0, len(cells)),
	}
	for p := range f.players {
		data.Own[p] = f.players[p].role
	}
	for _, c := range cells {
		data.Cells = append(data.Cells, pooled.Cell{
			Group: c.player, Item: c.kind, Opposing: c.facing, Condition: c.scheme,
			Successes: min(c.y/c.n, 1) * c.worth, Trials: c.worth,
		})
	}
	return data
}
