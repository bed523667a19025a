package metrics

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/metrics/stats"
	"stopledger/metrics/stats/pooled"
)

// cell is the count of one defender, kind, opponent's role and scheme under a
// target.
type cell struct {
	player, kind, facing, scheme int
	y, n                         float64 // sums of trial weights
	trials                       int
}

// tallyCells counts a target's trials, ordered by player, kind, role, scheme.
func (f *film) tallyCells(t Target, even float64) []cell {
	type key struct{ player, kind, facing, scheme int }
	at := make(map[key]int)
	var cells []cell
	for i := range f.rows {
		r := &f.rows[i]
		y, ok := r.success(t, even)
		if !ok {
			continue
		}
		k := key{r.player, r.kind, r.facing, r.scheme}
		c, ok := at[k]
		if !ok {
			c = len(cells)
			at[k] = c
			cells = append(cells, cell{player: r.player, kind: r.kind, facing: r.facing, scheme: r.scheme})
		}
		cells[c].y += r.trial * y
		cells[c].n += r.trial
		cells[c].trials++
	}
	slices.SortFunc(cells, func(a, b cell) int {
		return cmp.Or(a.player-b.player, a.kind-b.kind, a.facing-b.facing, a.scheme-b.scheme)
	})
	return cells
}

// designEffects is by how much each defender's trials of each kind are divided:
// [player][kind], at least 1. The clusters are his trials of the kind in one
// game, whatever roles and schemes he met there; the correlation is the kind's.
func (f *film) designEffects(t Target, even float64) [][]float64 {
	clusters := make([][][]stats.Cluster, len(f.players)) // by player and kind; games in order
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
	out := make([][]float64, len(f.players))
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

// modelData lays the cells out for the pooled model. Every kind and role has its
// level, charted or not, so that a refit after one game has the same levels.
func (f *film) modelData(cells []cell, design [][]float64) pooled.Data {
	data := pooled.Data{
		Own: make([]int, len(f.players)), OwnClasses: len(roles), Items: len(events.Kinds),
		Opposing: len(roles), Conditions: len(f.schemes),
	}
	for p := range f.players {
		data.Own[p] = f.players[p].role
	}
	for _, c := range cells {
		by := design[c.player][c.kind]
		data.Cells = append(data.Cells, pooled.Cell{
			Group: c.player, Item: c.kind, Opposing: c.facing, Condition: c.scheme,
			Successes: min(c.y, c.n) / by, Trials: c.n / by,
		})
	}
	return data
}
