package metrics

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"stopledger/events"
	"stopledger/metrics/stats/pooled"
)

// poolable are the dimensions that the pooled model's cells are made of: groups
// by these, and by nothing else, are unions of cells.
var poolable = []string{"defender", "kind", "role", "scheme"}

// Rates counts the study's columns by dimensions, as [Rates] does, and adds to
// each group the fitted rate of a target for the film seen: the mean over its
// cells, weighted by their trials. Where kinds are told apart it adds the points
// per chance that follow. Groups may only be made by defender, kind, role and
// scheme. A group without a trial that counts for the target, and what was
// nobody's, has no fitted rate; of one by defender, kind and role the model says
// what it expects.
func (s *Study) Rates(by []string, t Target) (*RateTable, error) {
	for _, dim := range by {
		if !slices.Contains(poolable, dim) {
			return nil, fmt.Errorf("pooled rates by %s: the model's cells are made of %s; group by these only, or leave the pooling out", dim, strings.Join(poolable, ", "))
		}
	}
	m, err := s.model(t)
	if err != nil {
		return nil, err
	}
	table, err := Rates(s.Definition, s.Columns, by)
	if err != nil {
		return nil, err
	}
	costs, err := s.film.costsOf(t, s.Definition.Even)
	if err != nil {
		return nil, err
	}
	p := &pooling{study: s, model: m, by: by, groups: make(map[string]*Rate), costs: drawCosts(costs, m.draws.N(), s.seed)}
	for i := range table.Groups {
		p.groups[joinKey(table.Groups[i].Key)] = &table.Groups[i]
	}
	p.run()
	p.unseen()
	return table, nil
}

// pooling fills the groups of one table.
type pooling struct {
	study  *Study
	model  *model
	by     []string
	groups map[string]*Rate
	costs  costDraws
}

// sums adds up the draws of one group.
type sums struct {
	rate, points []float64
	weight       float64
}

// run goes through the players. Where groups are one player's each, players are
// worked on side by side; else one after the other, so that sums are always
// formed in the same order.
func (p *pooling) run() {
	if !slices.Contains(p.by, "defender") {
		all := make(map[string]*sums)
		for player := range p.model.of {
			p.add(player, all)
		}
		p.finish(all)
		return
	}
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for player := w; player < len(p.model.of); player += workers {
				own := make(map[string]*sums)
				p.add(player, own)
				p.finish(own)
			}
		})
	}
	wg.Wait()
}

// add adds a player's cells to their groups.
func (p *pooling) add(player int, to map[string]*sums) {
	if len(p.model.of[player]) == 0 {
		return
	}
	member := p.model.draws.Group(player)
	for i := range p.model.of[player] {
		c := &p.model.of[player][i]
		key := p.key(c)
		g := to[key]
		if g == nil {
			g = &sums{rate: make([]float64, p.model.draws.N()), points: make([]float64, p.model.draws.N())}
			to[key] = g
		}
		g.weight += c.n
		well, badly := p.costs.well[c.kind], p.costs.badly[c.kind]
		for j, x := range member.Rate(c.kind, c.facing, c.scheme) {
			g.rate[j] += c.n * x
			g.points[j] += c.n * (x*well[j] + (1-x)*badly[j])
		}
	}
}

func (p *pooling) key(c *cell) string {
	parts := make([]string, len(p.by))
	for i, dim := range p.by {
		switch dim {
		case "defender":
			parts[i] = string(p.study.film.players[c.player].id)
		case "kind":
			parts[i] = string(events.Kinds[c.kind].Kind)
		case "role":
			parts[i] = string(roles[c.facing])
		case "scheme":
			parts[i] = p.study.film.schemes[c.scheme]
		}
	}
	return joinKey(parts)
}

// finish writes the sums into their groups. Different calls touch different
// groups.
func (p *pooling) finish(list map[string]*sums) {
	for key, g := range list {
		r := p.groups[key]
		if r == nil || g.weight == 0 {
			continue
		}
		for j := range g.rate {
			g.rate[j] /= g.weight
			g.points[j] /= g.weight
		}
		rate, points := summary(g.rate), summary(g.points)
		r.Pooled = &rate
		if slices.Contains(p.by, "kind") {
			r.PooledPoints = &points
		}
	}
}

// unseen lets the model say what it expects of groups whose actions stand for no
// trial of the target.
func (p *pooling) unseen() {
	at := [3]int{slices.Index(p.by, "defender"), slices.Index(p.by, "kind"), slices.Index(p.by, "role")}
	if slices.Min(at[:]) < 0 || len(p.by) > 3 {
		return
	}
	for _, r := range p.groups {
		player, ok := p.study.film.index[events.Token(r.Key[at[0]])]
		kind := kindIndex(events.Kind(r.Key[at[1]]))
		if r.Pooled != nil || !ok || kind < 0 {
			continue
		}
		draws := p.model.draws.Group(player).Rate(kind, roleIndex(events.Role(r.Key[at[2]])), pooled.Fresh)
		points := make([]float64, len(draws))
		for j, x := range draws {
			points[j] = x*p.costs.well[kind][j] + (1-x)*p.costs.badly[kind][j]
		}
		rate, cost := summary(draws), summary(points)
		r.Pooled, r.PooledPoints = &rate, &cost
	}
}
