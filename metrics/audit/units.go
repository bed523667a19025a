package audit

import (
	"cmp"
	"slices"

	"stopledger/replay"
)

// units are the chances and actions of a game as any number of charts hold them:
// each unit has at most one version in each chart.
type units struct {
	charts   []*replay.Chart
	pairings map[[2]int]*pairing
	chances  []unit
	actions  []unit
	chanceAt []map[int]int // by chart: the unit of its chance
}

// unit is one thing that happened, as an index into each chart's list; −1 where
// the chart does not hold it.
type unit struct {
	of      []int
	chance  int // for an action, the unit of its chance
	missing []bool
}

// gather joins what the pairings matched, the surest first, so that no unit
// holds two versions of one chart.
func gather(charts []*replay.Chart, pairings []*pairing) *units {
	u := &units{charts: charts, pairings: map[[2]int]*pairing{}}
	n := len(charts)
	k := 0
	for i := range n {
		for j := i + 1; j < n; j++ {
			u.pairings[[2]int{i, j}] = pairings[k]
			k++
		}
	}
	u.chances = u.join(func(c *replay.Chart) int { return len(c.Chances) }, func(p *pairing) []link { return p.chances }, -1, nil)
	u.chanceAt = make([]map[int]int, n)
	for i := range charts {
		u.chanceAt[i] = map[int]int{}
	}
	for id, one := range u.chances {
		for i, at := range one.of {
			if at >= 0 {
				u.chanceAt[i][at] = id
			}
		}
	}
	u.actions = u.join(func(c *replay.Chart) int { return len(c.Actions) }, func(p *pairing) []link { return p.actions }, 1, u.chanceOf)
	for i := range u.actions {
		u.actions[i].chance = u.chanceOfUnit(u.actions[i])
	}
	u.markMissing()
	return u
}

func (u *units) chanceOf(chart, action int) int {
	return u.chanceAt[chart][u.charts[chart].Actions[action].Chance]
}

func (u *units) chanceOfUnit(one unit) int {
	for i, at := range one.of {
		if at >= 0 {
			return u.chanceOf(i, at)
		}
	}
	return -1
}

// node is one thing in one chart.
type node struct{ chart, index int }

// join makes units of links: sign −1 takes high scores first, 1 low costs. within
// says which larger unit a thing belongs to; only things of one are joined.
func (u *units) join(size func(*replay.Chart) int, links func(*pairing) []link, sign float64, within func(chart, index int) int) []unit {
	type edge struct {
		a, b node
		cost float64
	}
	var edges []edge
	for i := range u.charts {
		for j := i + 1; j < len(u.charts); j++ {
			for _, l := range links(u.pairings[[2]int{i, j}]) {
				edges = append(edges, edge{node{i, l.a}, node{j, l.b}, sign * l.score})
			}
		}
	}
	slices.SortStableFunc(edges, func(a, b edge) int { return cmp.Compare(a.cost, b.cost) })
	at := make([][]int, len(u.charts)) // the unit of each thing
	var list []unit
	for i, c := range u.charts {
		at[i] = make([]int, size(c))
		for k := range at[i] {
			one := unit{of: make([]int, len(u.charts))}
			for m := range one.of {
				one.of[m] = -1
			}
			one.of[i] = k
			at[i][k] = len(list)
			list = append(list, one)
		}
	}
	for _, e := range edges {
		x, y := at[e.a.chart][e.a.index], at[e.b.chart][e.b.index]
		if x == y || clash(list[x], list[y]) || within != nil && within(e.a.chart, e.a.index) != within(e.b.chart, e.b.index) {
			continue
		}
		for i, k := range list[y].of {
			if k >= 0 {
				list[x].of[i] = k
				at[i][k] = x
			}
		}
		list[y].of = nil
	}
	return slices.DeleteFunc(list, func(one unit) bool { return one.of == nil })
}

func clash(x, y unit) bool {
	for i := range x.of {
		if x.of[i] >= 0 && y.of[i] >= 0 {
			return true
		}
	}
	return false
}

// markMissing says which charts lack a unit that they set out to hold, by what
// the pairings found missing.
func (u *units) markMissing() {
	byChance, byAction := map[node]int{}, map[node]int{}
	index := func(list []unit, at map[node]int) {
		for id := range list {
			list[id].missing = make([]bool, len(u.charts))
			for i, k := range list[id].of {
				if k >= 0 {
					at[node{i, k}] = id
				}
			}
		}
	}
	index(u.chances, byChance)
	index(u.actions, byAction)
	mark := func(list []unit, at map[node]int, chart int, lacking []int, other int) {
		for _, k := range lacking {
			if one := &list[at[node{chart, k}]]; one.of[other] < 0 {
				one.missing[other] = true
			}
		}
	}
	for ij, p := range u.pairings {
		mark(u.chances, byChance, ij[0], p.onlyA, ij[1])
		mark(u.chances, byChance, ij[1], p.onlyB, ij[0])
		mark(u.actions, byAction, ij[0], p.actOnlyA, ij[1])
		mark(u.actions, byAction, ij[1], p.actOnlyB, ij[0])
	}
}
