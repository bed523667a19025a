// Package contrast sets two definitions side by side over the same columns:
// every group's old and new numbers, what moved most, and the actions whose
// verdict flipped, each with the expression that decided it.
//
// Of is the whole of it. It judges by package definition and counts by package
// metrics, so its numbers are those that each definition gives alone.
package contrast

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"sync"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// Result is two definitions over the same columns.
type Result struct {
	From, To *metrics.RateTable
	By       []string
	Groups   []Group // what moved most first
	Total    Group
	Flips    []Flip // in the order of the columns
	Rules    []RuleFlips
}

// Group is one group under both. Old or New is nil where a definition counts
// nothing of it.
type Group struct {
	Key      []string
	Old, New *metrics.Rate
	// Moved is how many stops the change is worth: the difference of the stop
	// rates times the larger of the two numbers of judged trials. A group that
	// only one definition counts has moved by all of its judged trials.
	Moved float64
}

// Verdict is what a definition says of a trial.
type Verdict string

// The verdicts.
const (
	Stop       Verdict = "stop"
	NoStop     Verdict = "no stop"
	Undecided  Verdict = "undecided"
	NotCounted Verdict = "not counted"
)

// Flip is an action that stands for a trial and whose verdict is another under
// the new definition.
type Flip struct {
	Action int // row in the columns
	From   Verdict
	To     Verdict
	// Rule is the expression that decided: "keep", "count", "decided" or the stop
	// rule of its kind, as the new definition reads it. Old and New are its text;
	// they are alike where what they read differs, such as chance.decided.
	Rule     string
	Old, New string
}

// RuleFlips is how many verdicts a rule turned.
type RuleFlips struct {
	Rule     string
	Old, New string
	Rows     int
}

// Of compares two definitions. By groups the numbers as in metrics.Rates.
func Of(from, to *definition.Definition, cols *replay.Columns, by []string) (*Result, error) {
	r := &Result{By: by}
	var old, new *definition.Verdicts
	var errs [2]error
	var wg sync.WaitGroup
	wg.Go(func() { old = definition.Apply(from, cols) })
	wg.Go(func() { new = definition.Apply(to, cols) })
	wg.Go(func() { r.From, errs[0] = metrics.Rates(from, cols, by) })
	wg.Go(func() { r.To, errs[1] = metrics.Rates(to, cols, by) })
	wg.Wait()
	if err := cmp.Or(errs[0], errs[1]); err != nil {
		return nil, err
	}
	r.match()
	r.flip(cols, old, new)
	return r, nil
}

// match puts the groups of both tables side by side.
func (r *Result) match() {
	key := func(g *metrics.Rate) string { return strings.Join(g.Key, "\x00") }
	at := map[string]int{}
	for i := range r.From.Groups {
		g := &r.From.Groups[i]
		at[key(g)] = len(r.Groups)
		r.Groups = append(r.Groups, Group{Key: g.Key, Old: g})
	}
	for i := range r.To.Groups {
		g := &r.To.Groups[i]
		if j, ok := at[key(g)]; ok {
			r.Groups[j].New = g
		} else {
			r.Groups = append(r.Groups, Group{Key: g.Key, New: g})
		}
	}
	for i := range r.Groups {
		r.Groups[i].Moved = moved(r.Groups[i].Old, r.Groups[i].New)
	}
	slices.SortStableFunc(r.Groups, func(a, b Group) int {
		return cmp.Or(cmp.Compare(b.Moved, a.Moved), slices.Compare(a.Key, b.Key))
	})
	r.Total = Group{Key: []string{}, Old: &r.From.Total, New: &r.To.Total, Moved: moved(&r.From.Total, &r.To.Total)}
}

func moved(old, new *metrics.Rate) float64 {
	switch {
	case old == nil && new == nil:
		return 0
	case old == nil || old.Judged == 0:
		return judged(new)
	case new == nil || new.Judged == 0:
		return judged(old)
	}
	return math.Abs(new.StopRate-old.StopRate) * max(old.Judged, new.Judged)
}

func judged(r *metrics.Rate) float64 {
	if r == nil {
		return 0
	}
	return r.Judged
}

// flip lists the trials whose verdict is another.
func (r *Result) flip(cols *replay.Columns, old, new *definition.Verdicts) {
	rules := rulePair{textsOf(r.From.Definition), textsOf(r.To.Definition)}
	explain := definition.NewExplainer(r.From.Definition, r.To.Definition, cols)
	kinds := cols.Actions.Column("action.kind")
	count := map[string]int{}
	for a := range cols.Actions.Rows {
		if old.Trial[a] <= 0 && new.Trial[a] <= 0 {
			continue
		}
		f := Flip{Action: a, From: verdict(old, a), To: verdict(new, a)}
		if f.From == f.To {
			continue
		}
		kind := events.Kind(kinds.Words[kinds.Code(a)])
		f.Rule, f.Old, f.New = rules.deciding(explain.Changes(a), kind)
		r.Flips = append(r.Flips, f)
		if i, ok := count[f.Rule]; ok {
			r.Rules[i].Rows++
		} else {
			count[f.Rule] = len(r.Rules)
			r.Rules = append(r.Rules, RuleFlips{f.Rule, f.Old, f.New, 1})
		}
	}
	slices.SortStableFunc(r.Rules, func(a, b RuleFlips) int { return b.Rows - a.Rows })
}

// verdict is what a definition says of the trial that an action stands for. An
// action that another of its trial stands for under this definition has the
// verdict of its own stop rule.
func verdict(v *definition.Verdicts, action int) Verdict {
	if v.In[action] != definition.Yes {
		if v.In[action] == definition.Unsettled {
			return Undecided
		}
		return NotCounted
	}
	switch v.Stop[action] {
	case definition.Yes:
		return Stop
	case definition.No:
		return NoStop
	}
	return Undecided
}

// rulePair is the expressions of both definitions by label.
type rulePair struct{ old, new map[string]string }

func textsOf(d *definition.Definition) map[string]string {
	texts := map[string]string{}
	for _, r := range d.Rules() {
		texts[r.Label] = r.Text
	}
	return texts
}

// deciding names the expression that made the difference: the first of keep,
// count and stop that gives another value. Where its text is the same on both
// sides it reads chance.decided, and that decided.
func (p rulePair) deciding(changes []definition.Change, kind events.Kind) (rule, old, new string) {
	decided := false
	for _, c := range changes {
		was, is := c.Rule, c.Rule
		switch {
		case c.Rule == "decided":
			decided = true
			continue
		case strings.HasPrefix(c.Rule, "stop."):
			if was = stopRule(p.old, kind); is == "stop.default" {
				rule = was
			}
		case c.Rule != "keep" && c.Rule != "count":
			continue
		}
		if decided && p.old[was] == p.new[is] {
			return "decided", p.old["decided"], p.new["decided"]
		}
		return cmp.Or(rule, is), p.old[was], p.new[is]
	}
	return "", "", ""
}

func stopRule(texts map[string]string, kind events.Kind) string {
	if label := "stop." + string(kind); texts[label] != "" {
		return label
	}
	return "stop.default"
}
