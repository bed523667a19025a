package definition

import (
	"strconv"

	"stopledger/replay"
)

// Explainer says, action by action, which rules of two definitions give
// different values: why a verdict flipped. It belongs to one goroutine.
type Explainer struct {
	cols          *replay.Columns
	before, after *sayer
	known         map[[2]saying][]Change
}

// Change is a rule that gives another value on an action: "stop.contest" from
// "false" to "true". Rules are named as the second definition names them.
type Change struct {
	Rule   string `json:"rule"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// NewExplainer compares two definitions on columns.
func NewExplainer(before, after *Definition, cols *replay.Columns) *Explainer {
	return &Explainer{cols, newSayer(before, cols), newSayer(after, cols), map[[2]saying][]Change{}}
}

// Changes lists the rules that give another value on an action, causes before
// what follows from them: decided, keep, count, stop, blame, cost. It is empty
// where the action's own rules agree and only its share of a cost changed, with
// the shares of the others in its chance. The list is shared; do not change it.
func (x *Explainer) Changes(action int) []Change {
	row, chance := uint32(action), x.cols.ActionChance[action]
	says := [2]saying{x.before.says(chance, row), x.after.says(chance, row)}
	list, ok := x.known[says]
	if !ok {
		list = changes(x.before.texts(says[0]), x.after.texts(says[1]))
		x.known[says] = list
	}
	return list
}

func changes(was, is []said) []Change {
	var list []Change
	for i := range was {
		if was[i].value != is[i].value {
			list = append(list, Change{is[i].rule, was[i].value, is[i].value})
		}
	}
	return list
}

// sayer gives the values of a definition's rules on single actions.
type sayer struct {
	judge   *judge
	decided *memo // nil where the definition has none
}

func newSayer(d *Definition, cols *replay.Columns) *sayer {
	f := newFrame(d, cols)
	s := &sayer{judge: newJudge(d, f)}
	if d.decided != nil {
		s.decided = newMemo(d.decided, f)
	}
	return s
}

// saying is what the rules say of an action: its kind, then the values of
// decided, keep, count, stop, blame and cost, each by its index in the memo.
type saying [7]uint32

func (s *sayer) says(chance, row uint32) saying {
	kind := codeAt(s.judge.kind, row)
	said := saying{kind}
	for i, m := range s.memos(kind) {
		if m != nil {
			said[i+1] = m.of(chance, row)
		}
	}
	return said
}

// memos are the rules for a kind.
func (s *sayer) memos(kind uint32) [6]*memo {
	j, rules := s.judge, s.judge.kinds[kind]
	return [6]*memo{s.decided, j.keep, j.count, j.stop[rules.stop], j.weight, j.cost[rules.cost]}
}

// said is a rule with its value.
type said struct{ rule, value string }

func (s *sayer) texts(of saying) []said {
	var list []said
	for i, m := range s.memos(of[0]) {
		if m == nil {
			list = append(list, said{"decided", "false"})
			continue
		}
		list = append(list, said{m.expr.label, m.values[of[i+1]].text(m.expr.number)})
	}
	return list
}

func (v value) text(number bool) string {
	switch {
	case v.reason != "":
		return "undecided: " + v.reason
	case number:
		return printNumber(v.number)
	}
	return strconv.FormatBool(v.number != 0)
}
