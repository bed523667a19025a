package definition

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/types"
)

// expression is one compiled expression of a definition.
type expression struct {
	label     string // where it stands: "keep", "stop.contest"
	text      string // as written
	canonical string // the same without the writer's spaces and quotes
	program   cel.Program
	number    bool // gives a number rather than true or false

	fields []*fieldRef // what it reads, by slot
	// cuts holds, for each measured field that is only ever compared with
	// constants, these constants in ascending order. Between two of them all
	// values are alike to the expression, so the field has few distinct values
	// after all.
	cuts map[int][]float64
	// literal is the value of an expression without fields.
	literal *value
}

// wants says what an expression must give and what it may read.
type wants struct {
	number     bool   // a number instead of true or false
	chanceOnly string // if not empty: it may read only game, chance and possession, because
	undecided  bool   // it may not read chance.decided: it is that field
}

// source of an expression within the file, for errors.
type written struct {
	text string
	at   func(offset int) place
}

// compile checks an expression and makes it ready, or reports what is wrong
// and returns nil.
func compile(rep *report, label string, src written, want wants) *expression {
	lang, err := language()
	if err != nil {
		panic(fmt.Sprintf("definition: the language does not build: %v", err)) // our own mistake
	}
	if strings.TrimSpace(src.text) == "" {
		rep.add(src.at(0), "%s is empty; want an expression such as %s", label, want.sample())
		return nil
	}
	if n := len([]rune(src.text)); n > maxExpression {
		rep.add(src.at(0), "%s is %d characters long; an expression may have %d", label, n, maxExpression)
		return nil
	}
	parsed, issues := lang.Parse(src.text)
	if issues.Err() != nil {
		reportSyntax(rep, src, issues)
		return nil
	}
	tree := parsed.NativeRep()
	c := &checker{rep: rep, src: src, label: label, want: want, info: tree.SourceInfo(), seen: map[int]*fieldRef{}}
	e := &expression{label: label, text: src.text, number: want.number}
	if e.canonical, err = cel.AstToString(parsed); err != nil {
		rep.add(src.at(0), "%s cannot be written back: %v", label, err)
		return nil
	}
	if c.names(tree.Expr(), nil); c.failed {
		return nil
	}
	checked, issues := lang.Check(parsed)
	if issues.Err() != nil {
		c.reportTypes(issues)
		return nil
	}
	root := checked.NativeRep().Expr()
	if c.outcome(checked.OutputType()); c.failed {
		return nil
	}
	c.constants(root)
	c.vocabulary(root, nil)
	c.cost(lang, checked)
	if c.failed {
		return nil
	}
	e.fields = c.fields()
	e.cuts = cutsOf(root, e.fields)
	options := []cel.ProgramOption{cel.EvalOptions(cel.OptOptimize)}
	if hasLoop(root) {
		options = append(options, cel.CostLimit(maxCost))
	}
	if e.program, err = lang.Program(checked, options...); err != nil {
		rep.add(src.at(0), "%s: %v", label, err)
		return nil
	}
	if c.tryConstant(e); c.failed {
		return nil
	}
	return e
}

func (w wants) sample() string {
	if w.number {
		return `'chance.points'`
	}
	return `'chance.points == 0'`
}

// ofChance reports whether the expression depends on the chance alone.
func (e *expression) ofChance() bool {
	return !slices.ContainsFunc(e.fields, func(f *fieldRef) bool { return f.from > fromChance })
}

// value is what one evaluation gave: a number (true is 1), or why none.
type value struct {
	number float64
	reason string // not empty: undecided
	failed bool   // undecided by an error, not for want of a field
}

// evaluate runs the expression on a row.
func (e *expression) evaluate(r *record) value {
	if e.literal != nil {
		return *e.literal
	}
	out, _, err := e.program.Eval(r)
	if err != nil {
		return value{reason: plainReason(err), failed: true}
	}
	switch v := out.(type) {
	case types.Bool:
		if v {
			return value{number: 1}
		}
		return value{}
	case types.Double:
		if f := float64(v); !math.IsNaN(f) && !math.IsInf(f, 0) {
			return value{number: f}
		}
		return value{reason: "the number is not finite", failed: true}
	}
	return value{reason: reasonOf(out)}
}

// plainReason says an evaluation error without the machinery's words.
func plainReason(err error) string {
	text := err.Error()
	switch {
	case strings.Contains(text, errDivision.Error()):
		return errDivision.Error()
	case strings.Contains(text, "cost limit"):
		return fmt.Sprintf("more than %d steps", maxCost)
	case strings.Contains(text, "index out of bounds"):
		return "index out of range"
	}
	return text
}

// place is where a node begins in the file.
func (c *checker) place(e ast.Expr) place {
	if e.Kind() == ast.SelectKind {
		return c.place(e.AsSelect().Operand()) // its own place is the dot
	}
	if at, ok := c.info.GetOffsetRange(e.ID()); ok {
		return c.src.at(int(at.Start))
	}
	return c.src.at(0)
}
