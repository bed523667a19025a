package metrics

import (
	"slices"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/metrics/stats"
	"stopledger/replay"
)

// What a man's trials of one game share is shrunk toward this correlation with
// the weight of this many games: a judgement, in the range that Rao & Scott
// (1992) and the survey literature find for clusters of people.
const (
	priorRho   = 0.03
	priorGames = 20
)

// effect is how much less than independent trials a group's are worth.
type effect struct {
	design float64
	rho    float64
}

// effects holds the design effect of every group of a grouping.
type effects struct {
	groups map[string]effect
	all    effect
}

func (e *effects) of(key []string) effect {
	if found, ok := e.groups[joinKey(key)]; ok {
		return found
	}
	return effect{design: 1}
}

// designs works out each group's design effect from its trials by defender and
// game. The correlation is the kind's where the grouping knows the kind, and
// that of all kinds together where it does not.
func designs(d *definition.Definition, cols *replay.Columns, by []string) (*effects, error) {
	rho, err := correlations(d, cols)
	if err != nil {
		return nil, err
	}
	fineBy := slices.Clone(by)
	for _, dim := range []string{"defender", "game"} {
		if !slices.Contains(by, dim) {
			fineBy = append(fineBy, dim)
		}
	}
	fine, err := definition.Tally(d, cols, fineBy)
	if err != nil {
		return nil, err
	}
	kindAt, defenderAt, gameAt := slices.Index(by, "kind"), slices.Index(fineBy, "defender"), slices.Index(fineBy, "game")
	sizes := make(map[string][]float64)
	rhos := make(map[string]float64)
	total := make(map[string]float64) // by defender and game
	for _, g := range fine.Groups {
		key := joinKey(g.Key[:len(by)])
		sizes[key] = append(sizes[key], g.Judged)
		rhos[key] = rho[""]
		if kindAt >= 0 {
			rhos[key] = rho[g.Key[kindAt]]
		}
		total[g.Key[defenderAt]+"\x00"+g.Key[gameAt]] += g.Judged
	}
	e := &effects{groups: make(map[string]effect, len(sizes))}
	for key, list := range sizes {
		e.groups[key] = effectOf(list, rhos[key])
	}
	var all []float64
	for _, n := range total {
		all = append(all, n)
	}
	slices.Sort(all) // sums of the same numbers in the same order
	e.all = effectOf(all, rho[""])
	return e, nil
}

func effectOf(sizes []float64, rho float64) effect {
	return effect{stats.DesignEffect(stats.ClusterSize(sizes), rho), rho}
}

// correlations estimates, for each kind and under "" for all together, how
// alike a defender's trials of one game are: analysis of variance over games
// within defenders, floored at 0 and shrunk.
func correlations(d *definition.Definition, cols *replay.Columns) (map[string]float64, error) {
	out := make(map[string]float64, len(events.Kinds)+1)
	for _, by := range [][]string{{"defender", "game"}, {"kind", "defender", "game"}} {
		t, err := definition.Tally(d, cols, by)
		if err != nil {
			return nil, err
		}
		for kind, groups := range clustersByKind(t) {
			icc := stats.PooledICC(groups)
			out[kind] = icc.Shrunk(float64(icc.Clusters), priorRho, priorGames)
		}
	}
	for _, k := range events.Kinds {
		if _, ok := out[string(k.Kind)]; !ok {
			out[string(k.Kind)] = priorRho
		}
	}
	if _, ok := out[""]; !ok {
		out[""] = priorRho
	}
	return out, nil
}

// clustersByKind groups a tally by kind (or "") and defender; its games are
// the clusters. An action that was nobody's belongs to no cluster.
func clustersByKind(t *definition.Table) map[string][][]stats.Cluster {
	out := make(map[string][][]stats.Cluster)
	last := ""
	for _, g := range t.Groups {
		kind, defender := "", g.Key[0]
		if len(g.Key) == 3 {
			kind, defender = g.Key[0], g.Key[1]
		}
		if defender == "" || g.Judged == 0 {
			continue
		}
		if at := kind + "\x00" + defender; at != last {
			out[kind] = append(out[kind], nil)
			last = at
		}
		groups := out[kind]
		groups[len(groups)-1] = append(groups[len(groups)-1], stats.Cluster{Successes: g.Stops, Trials: g.Judged})
	}
	return out
}
