package audit

import (
	"math"

	"stopledger/events"
	"stopledger/replay"
)

// What makes two actions of one chance look like two things. Below unlike a pair
// may be one action that two people labelled differently; the kind and the
// defender cannot both differ. Outcome and reading hardly count, because pairs
// chosen for agreeing there would make agreement look better than it is. The
// weights are judgements.
const (
	otherKind     = 1.5
	otherMan      = 1.5
	nobody        = 0.9 // one of them says whose it was, the other nobody's
	otherOpponent = 0.7
	noOpponent    = 0.2
	otherOutcome  = 0.05
	placeApart    = 0.15 // for each place in the chance's order
	secondApart   = 0.03 // for each second of clock
	unlike        = 2.6
)

func (p *pairing) cost(a, b *replay.Action, places int) float64 {
	c := placeApart * min(math.Abs(float64(places)), 4)
	if a.Kind != b.Kind {
		c += otherKind
	}
	switch {
	case a.Defender == b.Defender:
	case a.Defender == "" || b.Defender == "":
		c += nobody
	default:
		c += otherMan
	}
	switch {
	case a.Opponent == b.Opponent:
	case a.Opponent == "" || b.Opponent == "":
		c += noOpponent
	default:
		c += otherOpponent
	}
	if a.Outcome != b.Outcome {
		c += otherOutcome
	}
	if a.When.Clock != nil && b.When.Clock != nil {
		c += secondApart * min(math.Abs(*b.When.Clock-p.offset.Seconds-*a.When.Clock), 12)
	}
	return c
}

// alignActions matches actions within matched chances. Actions of chances that
// only one chart has are the other's misses.
func (p *pairing) alignActions() {
	for _, l := range p.chances {
		if p.unseen(&p.a.Chances[l.a]) || p.unseen(&p.b.Chances[l.b]) {
			continue
		}
		p.assign(p.asked(p.a, l.a), p.asked(p.b, l.b))
	}
	for _, i := range p.onlyA {
		if !p.unseen(&p.a.Chances[i]) {
			p.actOnlyA = append(p.actOnlyA, p.asked(p.a, i)...)
		}
	}
	for _, i := range p.onlyB {
		if !p.unseen(&p.b.Chances[i]) {
			p.actOnlyB = append(p.actOnlyB, p.asked(p.b, i)...)
		}
	}
}

// unseen reports whether the film did not show the prospect in a chance: then
// nobody can be asked what he did.
func (p *pairing) unseen(ch *replay.Chance) bool {
	return p.common.focus != "" && ch.Focus == events.NotSeen
}

// asked lists a chance's actions in common scope.
func (p *pairing) asked(c *replay.Chart, chance int) []int {
	ch := &c.Chances[chance]
	out := make([]int, 0, ch.Actions)
	for i := ch.First; i < ch.First+ch.Actions; i++ {
		if p.common.focus == "" || c.Actions[i].Defender == p.common.focus {
			out = append(out, i)
		}
	}
	return out
}

// assign pairs two lists of actions at the least cost; leaving two actions
// unpaired costs unlike.
func (p *pairing) assign(a, b []int) {
	n, m := len(a), len(b)
	size := n + m
	costs := make([]float64, size*size)
	for i := range size {
		for j := range size {
			switch {
			case i < n && j < m:
				costs[i*size+j] = p.cost(&p.a.Actions[a[i]], &p.b.Actions[b[j]], i-j)
			case i < n || j < m:
				costs[i*size+j] = unlike / 2
			}
		}
	}
	to := cheapest(costs, size)
	taken := make([]bool, m)
	for i := range n {
		if j := to[i]; j < m && costs[i*size+j] < unlike {
			p.actions = append(p.actions, link{a[i], b[j], costs[i*size+j]})
			taken[j] = true
		} else {
			p.actOnlyA = append(p.actOnlyA, a[i])
		}
	}
	for j := range m {
		if !taken[j] {
			p.actOnlyB = append(p.actOnlyB, b[j])
		}
	}
}

// cheapest solves the assignment problem for a square matrix of costs: the
// column of each row. It grows the assignment row by row along shortest paths in
// reduced costs.
//
// Source: Kuhn HW (1955) Naval Research Logistics Quarterly 2:83-97, in the
// O(n³) form with potentials (from memory).
func cheapest(costs []float64, n int) []int {
	rowOf := make([]int, n+1) // the row that holds a column; column n is a stand-in
	u, v := make([]float64, n), make([]float64, n+1)
	for j := range rowOf {
		rowOf[j] = -1
	}
	least, before, done := make([]float64, n+1), make([]int, n+1), make([]bool, n+1)
	for row := range n {
		for j := range least {
			least[j], before[j], done[j] = math.Inf(1), -1, false
		}
		column := n
		rowOf[column] = row
		for rowOf[column] >= 0 {
			done[column] = true
			i, next, step := rowOf[column], -1, math.Inf(1)
			for j := range n {
				if done[j] {
					continue
				}
				if d := costs[i*n+j] - u[i] - v[j]; d < least[j] {
					least[j], before[j] = d, column
				}
				if least[j] < step {
					step, next = least[j], j
				}
			}
			for j := range rowOf {
				if done[j] {
					u[rowOf[j]] += step
					v[j] -= step
				} else {
					least[j] -= step
				}
			}
			column = next
		}
		for column != n {
			rowOf[column] = rowOf[before[column]]
			column = before[column]
		}
		rowOf[n] = -1
	}
	to := make([]int, n)
	for j := range n {
		to[rowOf[j]] = j
	}
	return to
}
