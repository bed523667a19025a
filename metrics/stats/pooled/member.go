package pooled

import (
	"fmt"
	"math"
)

// Member asks questions of the draws about one group, seen or new. Keep it while
// asking several; it is for one goroutine at a time.
type Member struct {
	draws *Draws
	own   int
	group int // -1 for a new one
	alpha []float64
	beta  [][]float64 // by item, filled on demand
	fresh func(item int) []float64
}

// Group is the member of the data with that number.
func (d *Draws) Group(g int) *Member {
	l := d.post.engine.layout
	m := &Member{draws: d, group: g, own: l.data.Own[g], beta: make([][]float64, l.data.Items)}
	m.fresh = func(item int) []float64 { return d.own(famBeta, forGroupItem, g, item) }
	i := l.rowOf[g]
	switch {
	case i < 0:
		m.alpha = d.own(famAlpha, forGroup, g, 0)
	case d.exact != nil:
		m.alpha = d.exact.row(d, i)
		for b := l.block0[i]; b < l.block0[i+1]; b++ {
			m.beta[l.item[b]] = d.exact.block(d, b)
		}
	default:
		d.conditional(m, i)
	}
	return m
}

// NewGroup is an exchangeable new group of a class, about which nothing is known
// but what all groups share. Different numbers are different groups.
func (d *Draws) NewGroup(own, number int) *Member {
	l := d.post.engine.layout
	m := &Member{draws: d, group: -1, own: own, beta: make([][]float64, l.data.Items)}
	m.alpha = d.own(famAlpha, forNewGroup, own, number)
	m.fresh = func(item int) []float64 {
		return d.own(famBeta, forNewGroupItem, own*l.data.Items+item, number)
	}
	return m
}

// own draws an effect of a group's own from the prior.
func (d *Draws) own(family, purpose, a, b int) []float64 {
	x := make([]float64, d.n)
	antithetic(stream(d.seed, purpose, a, b), x, func(i int) float64 { return d.scale(family, i) })
	return x
}

// LogOdds are the draws of the log-odds of one cell, seen or not. Opposing and
// condition may be [Fresh]. It panics on levels out of range.
func (m *Member) LogOdds(item, opposing, condition int) []float64 {
	out := m.unconditioned(item, opposing)
	for i, x := range m.draws.level(m.draws.delta, famDelta, condition, item) {
		out[i] += x
	}
	return out
}

// unconditioned are the log-odds without the condition's effect.
func (m *Member) unconditioned(item, opposing int) []float64 {
	d := m.draws
	if m.beta[item] == nil {
		m.beta[item] = m.fresh(item)
	}
	mu, rho, beta := d.mu[item], d.rho[m.own*d.post.engine.layout.data.Items+item], m.beta[item]
	gamma := d.level(d.gamma, famGamma, opposing, item)
	out := make([]float64, d.n)
	for i := range out {
		out[i] = m.alpha[i] + mu[i] + rho[i] + beta[i] + gamma[i]
	}
	return out
}

// Rate are the draws of the rate of one cell; see [Member.LogOdds].
func (m *Member) Rate(item, opposing, condition int) []float64 {
	out := m.LogOdds(item, opposing, condition)
	for i, x := range out {
		out[i] = sigmoid(x)
	}
	return out
}

// Term is a cell with a weight in an average.
type Term struct {
	Item, Opposing, Condition int
	Weight                    float64
}

// Average are the draws of the weighted mean rate of several cells. Weights are
// normalised; it is an error if they are negative or sum to 0.
func (m *Member) Average(terms []Term) ([]float64, error) {
	out := make([]float64, m.draws.n)
	var sum float64
	for _, t := range terms {
		if !(t.Weight >= 0) || math.IsInf(t.Weight, 1) {
			return nil, fmt.Errorf("pooled: weight %v of item %d in an average, want a finite number from 0", t.Weight, t.Item)
		}
		sum += t.Weight
	}
	if sum == 0 {
		return nil, fmt.Errorf("pooled: the weights of an average of %d cells sum to 0", len(terms))
	}
	var base []float64 // shared by terms that differ in condition alone
	var last Term
	for _, t := range terms {
		if t.Weight == 0 {
			continue
		}
		if base == nil || last.Item != t.Item || last.Opposing != t.Opposing {
			base, last = m.unconditioned(t.Item, t.Opposing), t
		}
		share := t.Weight / sum
		for i, x := range m.draws.level(m.draws.delta, famDelta, t.Condition, t.Item) {
			out[i] += share * sigmoid(base[i]+x)
		}
	}
	return out, nil
}

// Seen are the draws of the fitted rate of a group, item and opposing class over
// the conditions that its trials were seen in, weighted by trials. Where nothing
// was seen, the condition is [Fresh].
func (m *Member) Seen(item, opposing int) []float64 {
	terms := m.draws.post.conditionsSeen(m.group, item, opposing)
	if len(terms) == 0 {
		return m.Rate(item, opposing, Fresh)
	}
	out, _ := m.Average(terms) // weights are trials, which are above 0
	return out
}

// conditionsSeen lists a group's cells of an item and opposing class.
func (f *Posterior) conditionsSeen(group, item, opposing int) (terms []Term) {
	l := f.engine.layout
	b, ok := l.blockOf[[2]int{group, item}]
	if !ok {
		return nil
	}
	end := l.cell0[b+1]
	for c := l.cell0[b]; c < end; c++ {
		if l.opposing[c] == opposing {
			terms = append(terms, Term{item, opposing, l.condition[c], l.n[c]})
		}
	}
	return terms
}
