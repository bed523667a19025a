package definition

import (
	"math"
	"sort"

	"stopledger/replay"
)

// Verdicts is what a definition says of every action and chance of columns.
type Verdicts struct {
	Definition *Definition
	In         []Truth   // by action: whether it counts
	Stop       []Truth   // by action that counts: whether it was a stop
	Points     []float64 // by action: points it answers for
	Trial      []float64 // by action: the weight of the trial it stands for, or 0
	Team       []float64 // by chance that is kept: points nobody answers for
	Kept       []Truth   // by chance: whether it counts
	Undecided  []Undecided
}

// Undecided counts the rows that a rule could not decide.
type Undecided struct {
	Rule   string `json:"rule"`   // "keep", "stop.contest"
	Reason string `json:"reason"` // "chance.margin unknown", "division by zero"
	Rows   int    `json:"rows"`
}

// Apply judges every row of the columns.
func Apply(d *Definition, cols *replay.Columns) *Verdicts {
	return applyTo(d, newFrame(d, cols, nil))
}

func applyTo(d *Definition, f *frame) *Verdicts {
	n, chances := f.cols.Actions.Rows, f.cols.Chances.Rows
	v := &Verdicts{
		Definition: d, In: make([]Truth, n), Stop: make([]Truth, n), Points: make([]float64, n), Trial: make([]float64, n),
		Team: make([]float64, chances), Kept: make([]Truth, chances),
	}
	s := newSettler(d, f)
	for c := range chances {
		s.chance(uint32(c))
		v.Team[c], v.Kept[c] = s.team, s.kept
		for i := range s.acts {
			a := &s.acts[i]
			v.In[a.row], v.Stop[a.row], v.Trial[a.row] = a.in, a.stop, a.trial
			v.Points[a.row] = a.points
		}
	}
	v.Undecided = s.undecided.list(d, &s.judge.reasons)
	return v
}

// settler goes through the chances in order and settles each.
type settler struct {
	judge     *judge
	keepAlone bool // keep depends on the chance alone
	verdicts  []verdict
	acts      []act
	next      uint32 // first action not yet reached
	costs     []float64
	team      float64
	kept      Truth
	undecided tallyOfReasons
}

func newSettler(d *Definition, f *frame) *settler {
	return &settler{judge: newJudge(d, f), keepAlone: d.keep.ofChance(), costs: make([]float64, len(d.cost.list)), undecided: tallyOfReasons{}}
}

// chance settles one; chances must come in ascending order.
func (s *settler) chance(chance uint32) {
	cols := s.judge.frame.cols
	s.acts, s.verdicts = s.acts[:0], s.verdicts[:0]
	for ; int(s.next) < cols.Actions.Rows && cols.ActionChance[s.next] == chance; s.next++ {
		s.verdicts = append(s.verdicts, s.judge.row(chance, s.next))
		s.acts = append(s.acts, act{row: s.next, defender: cols.ActionDefender[s.next], kind: codeAt(s.judge.kind, s.next)})
	}
	s.kept = No
	if s.keepAlone {
		s.kept = s.judge.keepOf(chance)
	}
	for i := range s.acts {
		s.acts[i].verdict = &s.verdicts[i]
		if !s.keepAlone {
			s.kept = either(s.kept, s.verdicts[i].keep)
		}
	}
	settleShares(s.acts)
	settleTrials(s.acts)
	s.charge(chance)
}

// either is the or of truths.
func either(a, b Truth) Truth {
	if a == Yes || b == Yes {
		return Yes
	}
	return max(a, b)
}

// charge turns shares into points and leaves the rest to the team.
func (s *settler) charge(chance uint32) {
	cost, why := s.judge.costOf(0, chance)
	s.team = 0
	if s.kept == Yes && why == 0 {
		s.team = cost
	}
	for i := range s.acts {
		a := &s.acts[i]
		if a.in == Yes {
			if a.pool > 0 {
				cost, why = s.judge.costOf(a.pool, chance)
			} else {
				cost, why = s.judge.costOf(0, chance)
			}
			a.why[ruleCost] = why
			if why == 0 && a.defender != 0 && a.share > 0 {
				a.points = a.share * cost
				if a.pool == 0 {
					s.team -= a.points
				}
			}
		}
		s.undecided.add(a.verdict)
	}
	if math.Abs(s.team) < 1e-9 {
		s.team = 0 // thirds do not add up to the last bit
	}
}

// tallyOfReasons counts rows by rule and reason.
type tallyOfReasons map[reasonKey]int

type reasonKey struct {
	rule   uint8 // ruleKeep and so on
	which  uint8 // of the per-kind expressions
	reason uint32
}

func (t tallyOfReasons) add(v *verdict) {
	for rule, reason := range v.why {
		if reason == 0 {
			continue
		}
		which := uint8(0)
		switch rule {
		case ruleStop:
			which = v.rule
		case ruleCost:
			which = v.pool
		}
		t[reasonKey{uint8(rule), which, reason}]++
	}
}

// list names the rules and reasons, in the order of the rules and then the
// most rows first.
func (t tallyOfReasons) list(d *Definition, r *reasons) []Undecided {
	keys := make([]reasonKey, 0, len(t))
	for k := range t {
		keys = append(keys, k)
	}
	text := func(k reasonKey) string { return r.list[k.reason-1] }
	sort.Slice(keys, func(i, j int) bool {
		a, b := keys[i], keys[j]
		switch {
		case a.rule != b.rule:
			return a.rule < b.rule
		case a.which != b.which:
			return a.which < b.which
		case t[a] != t[b]:
			return t[a] > t[b]
		}
		return text(a) < text(b)
	})
	var list []Undecided
	for _, k := range keys {
		list = append(list, Undecided{d.ruleLabel(k), text(k), t[k]})
	}
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
