package definition

import (
	"fmt"
	"strconv"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"stopledger/replay"
)

// ExampleResult is what came of one expectation of a worked example.
type ExampleResult struct {
	Example  string `json:"example"`
	Line     int    `json:"line"` // where it stands in the file, from 1
	Column   int    `json:"column"`
	What     string `json:"what"` // "stop", "points of action 2"
	Expected string `json:"expected"`
	Got      string `json:"got"`
	OK       bool   `json:"ok"`
	Reason   string `json:"reason,omitempty"` // why it is undecided
}

// Check runs a definition's worked examples, one result for each expectation.
func Check(d *Definition) []ExampleResult {
	var list []ExampleResult
	for i := range d.Examples {
		list = append(list, d.Examples[i].run(d)...)
	}
	return list
}

func (x *Example) run(d *Definition) []ExampleResult {
	cols, decided := x.columns()
	f := newFrame(d, cols)
	if decided != nil {
		f.decided, f.decidedValues = replay.Codes{}, []ref.Val{decided}
	}
	e := newEngine(d, f)
	s := &seen{worker: e.worker(), acts: make([]act, len(x.actions))}
	for i := range s.acts {
		s.acts[i].verdict = new(verdict) // not counted, until the worker says more
	}
	s.worker.run(span{0, 1}, s)
	var list []ExampleResult
	for i := range s.acts {
		expect, label := x.actions[i].expect, fmt.Sprintf(" of action %d", i+1)
		if len(x.actions) == 1 {
			expect, label = append(append([]expectation{}, expect...), x.expect...), ""
		}
		for _, e := range expect {
			if contains(expectOfAction, e.what) {
				list = append(list, x.result(e, label, s.ofAction(&s.acts[i], e.what)))
			}
		}
	}
	for _, e := range x.expect {
		switch e.what {
		case "decided":
			list = append(list, x.result(e, "", s.ofDecided()))
		case "team":
			list = append(list, x.result(e, "", s.ofTeam()))
		}
	}
	return list
}

// seen keeps what a worker finds in the one chance of an example.
type seen struct {
	*worker
	acts []act // every action of the example, those that do not count as well
	kept Truth
}

func (s *seen) block(int, int) {}

func (s *seen) chance(_ uint32, acts []act, kept Truth) {
	for i := range acts {
		s.acts[acts[i].row] = acts[i]
	}
	s.kept = kept
}

// got is a value as an example expects it, with the reason behind "undecided"
// and "error".
type got struct{ text, reason string }

func (x *Example) result(e expectation, label string, g got) ExampleResult {
	return ExampleResult{Example: x.Name, Line: x.at.line, Column: x.at.column, What: e.what + label, Expected: e.want, Got: g.text, Reason: g.reason, OK: e.want == g.text}
}

func (s *seen) ofAction(a *act, what string) got {
	switch what {
	case "counts":
		if a.in == Unsettled {
			return s.undecidedBy(a, ruleKeep, ruleCount)
		}
		return got{text: strconv.FormatBool(a.in == Yes)}
	case "stop":
		switch {
		case a.in == Unsettled:
			return s.undecidedBy(a, ruleKeep, ruleCount)
		case a.in == No:
			return got{text: "not counted"}
		case a.stop == Unsettled:
			return s.undecidedBy(a, ruleStop)
		}
		return got{text: strconv.FormatBool(a.stop == Yes)}
	}
	if a.in == Yes && a.weighed == Unsettled {
		return s.undecidedBy(a, ruleBlame)
	}
	if a.costOpen {
		return undecidedGot(s.factsOf(0).cost[a.pool].reason)
	}
	return got{text: printNumber(float64(a.points) / pointUnit)}
}

func (s *seen) undecidedBy(a *act, rules ...int) got {
	for _, rule := range rules {
		if at := a.why[rule]; at > 0 {
			return undecidedGot(s.judge.reasons.list[at-1])
		}
	}
	return got{text: "undecided"}
}

func undecidedGot(reason string) got {
	if strings.HasSuffix(reason, unknownSuffix) {
		return got{"undecided", reason}
	}
	return got{"error", reason}
}

func (s *seen) ofDecided() got {
	f := s.frame
	v := f.decidedValues[codeAt(&f.decided, 0)]
	if b, ok := v.(types.Bool); ok {
		return got{text: strconv.FormatBool(bool(b))}
	}
	return undecidedGot(reasonOf(v))
}

func (s *seen) ofTeam() got {
	kept, answered := s.factsOf(0).keep, int64(0)
	for i := range s.acts {
		if s.acts[i].pool == 0 {
			answered += s.acts[i].points
		}
	}
	if !s.keepAlone {
		kept = s.kept
	}
	cost := s.factsOf(0).cost[0]
	switch {
	case kept == Unsettled:
		return got{text: "undecided"}
	case kept == No:
		return got{text: "0"}
	case cost.reason != "":
		return undecidedGot(cost.reason)
	}
	return got{text: printNumber(float64(units(cost)-answered) / pointUnit)}
}
