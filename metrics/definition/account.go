package definition

import (
	"math"
	"sort"
)

// answer charges the actions of a chance with its points and keeps the sum of
// what is charged.
func (w *worker) answer(acts []act, facts *chanceFacts) {
	for i := range acts {
		a := &acts[i]
		if cost := &facts.cost[a.pool]; a.weight > 0 && cost.reason != "" {
			a.costOpen = true
			w.undecided[reasonKey{ruleCost, a.pool, w.judge.reasons.of(*cost)}]++
		}
	}
	for pool := range facts.cost {
		w.charge(acts, uint8(pool), facts.cost[pool])
	}
	for i := range acts {
		if acts[i].pool == 0 {
			w.answered += acts[i].points
		}
	}
}

// weightOpen reports whether blame is undecided for an action that would share
// a cost; nobody's share is known then.
func weightOpen(acts []act, pool uint8) bool {
	for i := range acts {
		if a := &acts[i]; a.in == Yes && a.pool == pool && a.weighed != Yes {
			return true
		}
	}
	return false
}

// units is a cost in pointUnits; an undecided one is nobody's.
func units(cost value) int64 {
	if cost.reason != "" {
		return 0
	}
	return int64(math.Round(cost.number * pointUnit))
}

// charge divides the cost among the actions of one pool that count, by weight.
func (w *worker) charge(acts []act, pool uint8, cost value) {
	sum := 0.0
	for i := range acts {
		if a := &acts[i]; a.in == Yes && a.pool == pool {
			sum += a.weight
		}
	}
	if sum == 0 || cost.reason != "" || weightOpen(acts, pool) {
		return
	}
	// Each is charged the difference of two rounded running sums, so that
	// thirds add up to the whole.
	running, charged := 0.0, int64(0)
	for i := range acts {
		a := &acts[i]
		if a.in != Yes || a.pool != pool || a.weight == 0 {
			continue
		}
		running += a.weight
		until := int64(math.Round(cost.number * (running / sum) * pointUnit))
		if a.defender != 0 {
			a.points = until - charged
		}
		charged = until
	}
}

// either is the or of truths.
func either(a, b Truth) Truth {
	if a == Yes || b == Yes {
		return Yes
	}
	return max(a, b)
}

// Undecided counts the rows that a rule could not decide.
type Undecided struct {
	Rule   string `json:"rule"`   // "keep", "stop.contest"
	Reason string `json:"reason"` // "chance.margin unknown", "division by zero"
	Rows   int    `json:"rows"`
}

type reasonKey struct {
	rule   uint8 // ruleKeep and so on
	which  uint8 // of the per-kind expressions
	reason uint32
}

// note counts the rules that left an action undecided.
func (w *worker) note(v *verdict) {
	for rule, reason := range v.why {
		if reason == 0 {
			continue
		}
		key := reasonKey{rule: uint8(rule), reason: reason}
		if rule == ruleStop {
			key.which = v.rule
		}
		w.undecided[key]++
	}
}

// listUndecided puts the workers' counts together, in the order of the rules
// and then the most rows first.
func listUndecided(d *Definition, workers []*worker) []Undecided {
	counts := map[Undecided]int{}
	order := map[string]int{}
	for i, e := range d.expressions() {
		order[e.label] = i
	}
	for _, w := range workers {
		for key, n := range w.undecided {
			counts[Undecided{Rule: d.ruleLabel(key), Reason: w.judge.reasons.list[key.reason-1]}] += n
		}
	}
	list := make([]Undecided, 0, len(counts))
	for u, n := range counts {
		u.Rows = n
		list = append(list, u)
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := list[i], list[j]
		switch {
		case a.Rule != b.Rule:
			return order[a.Rule] < order[b.Rule]
		case a.Rows != b.Rows:
			return a.Rows > b.Rows
		}
		return a.Reason < b.Reason
	})
	return list
}

func (d *Definition) ruleLabel(k reasonKey) string {
	switch k.rule {
	case ruleKeep:
		return d.keep.label
	case ruleCount:
		return d.count.label
	case ruleStop:
		return d.stop.list[k.which].label
	case ruleBlame:
		return d.weight.label
	}
	return d.cost.list[k.which].label
}
