package definition

import (
	"math"
	"sort"
	"strconv"

	"stopledger/replay"
)

// Comparison says which actions two definitions judge differently, and by
// which of their rules.
type Comparison struct {
	Before, After *Definition
	Flips         []Flip      // in the order of the columns, the first so many
	Actions       int         // how many flipped in all
	Chances       int         // in how many chances
	Rules         []RuleCount // the rules that gave another value on flipped actions
}

// RuleCount counts flipped actions on which a rule gave another value.
type RuleCount struct {
	Rule    string `json:"rule"`
	Actions int    `json:"actions"`
}

// Flip is one action that two definitions judge differently.
type Flip struct {
	Action  int      `json:"action"` // row in Actions
	Chance  int      `json:"chance"` // row in Chances
	Before  Call     `json:"before"`
	After   Call     `json:"after"`
	Because []Change `json:"because"`
}

// Call is what a definition says of one action.
type Call struct {
	In     Truth   `json:"in"`
	Stop   Truth   `json:"stop"`
	Points float64 `json:"points"`
}

// Change is a rule that gave another value on the action: "stop.contest" from
// "false" to "true". Where the rules gave the same on the action itself, its
// share changed with those of the others in its chance, and the rule is
// "blame of others".
type Change struct {
	Rule   string `json:"rule"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// String is the word for a truth.
func (t Truth) String() string {
	switch t {
	case Yes:
		return "yes"
	case No:
		return "no"
	}
	return "undecided"
}

// MarshalText writes the word.
func (t Truth) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// othersChanged is the rule named where no rule of the action itself changed.
const othersChanged = "blame of others"

// Compare applies two definitions and explains up to most of the actions whose
// verdict flipped: whether they count, whether they are stops, or the points
// they answer for.
func Compare(before, after *Definition, cols *replay.Columns, most int) *Comparison {
	c := &Comparison{Before: before, After: after}
	a, b := newExplainer(before, cols), newExplainer(after, cols)
	explained, last := map[[2]saying]*explanation{}, -1
	for row := range cols.Actions.Rows {
		was, is := a.verdicts.call(row), b.verdicts.call(row)
		if was.In == is.In && was.Stop == is.Stop && math.Abs(was.Points-is.Points) < 1e-9 {
			continue
		}
		chance := int(cols.ActionChance[row])
		c.Actions++
		if chance != last {
			c.Chances++
			last = chance
		}
		says := [2]saying{a.says(uint32(chance), uint32(row)), b.says(uint32(chance), uint32(row))}
		why, ok := explained[says]
		if !ok {
			why = &explanation{changes: changes(a.texts(says[0]), b.texts(says[1]))}
			explained[says] = why
		}
		why.actions++
		if len(c.Flips) < most {
			flip := Flip{Action: row, Chance: chance, Before: was, After: is, Because: why.changes}
			if flip.Because == nil {
				flip.Because = []Change{{othersChanged, printNumber(was.Points), printNumber(is.Points)}}
			}
			c.Flips = append(c.Flips, flip)
		}
	}
	rules := map[string]int{}
	for _, why := range explained {
		for _, change := range why.changes {
			rules[change.Rule] += why.actions
		}
		if why.changes == nil {
			rules[othersChanged] += why.actions
		}
	}
	for rule, n := range rules {
		c.Rules = append(c.Rules, RuleCount{rule, n})
	}
	sort.Slice(c.Rules, func(i, j int) bool {
		if c.Rules[i].Actions != c.Rules[j].Actions {
			return c.Rules[i].Actions > c.Rules[j].Actions
		}
		return c.Rules[i].Rule < c.Rules[j].Rule
	})
	return c
}

func (v *Verdicts) call(row int) Call {
	c := Call{In: v.In[row], Points: v.Points[row]}
	if c.In == Yes {
		c.Stop = v.Stop[row]
	}
	return c
}

// explainer gives the values of a definition's rules on single actions.
type explainer struct {
	def      *Definition
	verdicts *Verdicts
	judge    *judge
	decided  *memo
}

func newExplainer(d *Definition, cols *replay.Columns) *explainer {
	f := newFrame(d, cols)
	x := &explainer{def: d, verdicts: applyTo(d, f), judge: newJudge(d, f)}
	if d.decided != nil {
		x.decided = newMemo(d.decided, f)
	}
	return x
}

// saying is what the rules say of an action: its kind, then the value of
// decided, keep, count, stop, blame and cost, each by its index in the memo.
type saying [7]uint32

// explanation is what two sayings differ in, and on how many flipped actions.
type explanation struct {
	changes []Change
	actions int
}

func (x *explainer) says(chance, row uint32) saying {
	kind := codeAt(x.judge.kind, row)
	s := saying{kind}
	for i, m := range x.memos(kind) {
		if m != nil {
			s[i+1] = m.of(chance, row)
		}
	}
	return s
}

// memos are the rules for a kind; decided is nil where there is none.
func (x *explainer) memos(kind uint32) [6]*memo {
	j, rules := x.judge, x.judge.kinds[kind]
	return [6]*memo{x.decided, j.keep, j.count, j.stop[rules.stop], j.weight, j.cost[rules.cost]}
}

// texts names the rules of a saying and their values.
func (x *explainer) texts(s saying) [][2]string {
	var list [][2]string
	for i, m := range x.memos(s[0]) {
		if m == nil {
			list = append(list, [2]string{"decided", "false"})
			continue
		}
		list = append(list, [2]string{m.expr.label, m.values[s[i+1]].text(m.expr.number)})
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

func changes(was, is [][2]string) []Change {
	var list []Change
	for i := range was {
		if was[i][1] != is[i][1] {
			list = append(list, Change{is[i][0], was[i][1], is[i][1]})
		}
	}
	return list
}
