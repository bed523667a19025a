package definition

import (
	"fmt"
	"strings"

	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"

	"stopledger/events"
)

// meaning is what a part of an expression may be in words: words that stand in
// the expression itself, and the closed list of a field. A field of an open
// list, such as an id, has neither and is never wrong.
type meaning struct {
	written []ast.Expr
	field   *fieldRef // of a closed list
	open    bool      // may be any word
}

func (m meaning) and(other meaning) meaning {
	m.written = append(append([]ast.Expr{}, m.written...), other.written...)
	m.open = m.open || other.open
	if m.field == nil {
		m.field = other.field
	}
	return m
}

// vocabulary goes through the tree and holds every written word that is
// compared with a field of a closed list against that list. A word no list
// knows would make a comparison that is silently never true.
func (c *checker) vocabulary(e ast.Expr, bound map[string]meaning) {
	switch e.Kind() {
	case ast.CallKind:
		call := e.AsCall()
		args := call.Args()
		if call.IsMemberFunction() {
			c.vocabulary(call.Target(), bound)
			c.affix(call, bound)
		}
		for _, arg := range args {
			c.vocabulary(arg, bound)
		}
		switch call.FunctionName() {
		case operators.Equals, operators.NotEquals, operators.In, operators.Less, operators.LessEquals, operators.Greater, operators.GreaterEquals:
			c.compare(args[0], args[1], bound)
		case operators.Index:
			if args[0].Kind() == ast.MapKind {
				c.compare(args[1], args[0], bound)
			}
		}
	case ast.ListKind:
		for _, item := range e.AsList().Elements() {
			c.vocabulary(item, bound)
		}
	case ast.MapKind:
		for _, entry := range e.AsMap().Entries() {
			c.vocabulary(entry.AsMapEntry().Key(), bound)
			c.vocabulary(entry.AsMapEntry().Value(), bound)
		}
	case ast.ComprehensionKind:
		loop := e.AsComprehension()
		c.vocabulary(loop.IterRange(), bound)
		c.vocabulary(loop.AccuInit(), bound)
		inner := c.bind(loop, bound)
		c.vocabulary(loop.LoopCondition(), inner)
		c.vocabulary(loop.LoopStep(), inner)
		c.vocabulary(loop.Result(), inner)
	}
}

// bind says what a loop's names mean: its value ranges over the words of its
// list, its result holds what the steps add.
func (c *checker) bind(loop ast.ComprehensionExpr, bound map[string]meaning) map[string]meaning {
	inner := make(map[string]meaning, len(bound)+2)
	for name, m := range bound {
		inner[name] = m
	}
	inner[loop.IterVar()] = c.meaning(loop.IterRange(), bound)
	inner[loop.AccuVar()] = meaning{}
	inner[loop.AccuVar()] = c.meaning(loop.AccuInit(), bound).and(c.meaning(loop.LoopStep(), inner))
	return inner
}

// meaning says what words an expression may give.
func (c *checker) meaning(e ast.Expr, bound map[string]meaning) meaning {
	switch e.Kind() {
	case ast.LiteralKind:
		if _, ok := e.AsLiteral().(types.String); ok {
			return meaning{written: []ast.Expr{e}}
		}
	case ast.IdentKind:
		return bound[e.AsIdent()]
	case ast.SelectKind:
		if f := fieldsByName[e.AsSelect().Operand().AsIdent()+"."+e.AsSelect().FieldName()]; f != nil && f.field.Words != nil {
			return meaning{field: f}
		}
		return meaning{open: true}
	case ast.ListKind:
		var m meaning
		for _, item := range e.AsList().Elements() {
			m = m.and(c.meaning(item, bound))
		}
		return m
	case ast.MapKind: // asked for its keys
		var m meaning
		for _, entry := range e.AsMap().Entries() {
			m = m.and(c.meaning(entry.AsMapEntry().Key(), bound))
		}
		return m
	case ast.ComprehensionKind:
		return c.meaning(e.AsComprehension().Result(), c.bind(e.AsComprehension(), bound))
	case ast.CallKind:
		return c.callMeaning(e, bound)
	}
	return meaning{}
}

func (c *checker) callMeaning(e ast.Expr, bound map[string]meaning) meaning {
	args := e.AsCall().Args()
	switch e.AsCall().FunctionName() {
	case operators.Conditional:
		return c.meaning(args[1], bound).and(c.meaning(args[2], bound))
	case operators.Index:
		if args[0].Kind() != ast.MapKind {
			return c.meaning(args[0], bound)
		}
		var m meaning
		for _, entry := range args[0].AsMap().Entries() {
			m = m.and(c.meaning(entry.AsMapEntry().Value(), bound))
		}
		return m
	case operators.Add:
		if word, ok := joined(e); ok {
			return meaning{written: []ast.Expr{factory.NewLiteral(e.ID(), types.String(word))}}
		}
		// Lists one after the other; words put together from fields may be anything.
		a, b := c.meaning(args[0], bound), c.meaning(args[1], bound)
		if isWord(a) || isWord(b) {
			return a.and(b)
		}
		return meaning{open: true}
	}
	return meaning{}
}

func isWord(m meaning) bool { return len(m.written) > 0 || m.field != nil }

// joined folds "dr" + "ive".
func joined(e ast.Expr) (string, bool) {
	if e.Kind() == ast.LiteralKind {
		s, ok := e.AsLiteral().(types.String)
		return string(s), ok
	}
	if e.Kind() != ast.CallKind || e.AsCall().FunctionName() != operators.Add {
		return "", false
	}
	a, okA := joined(e.AsCall().Args()[0])
	b, okB := joined(e.AsCall().Args()[1])
	return a + b, okA && okB
}

func (c *checker) compare(x, y ast.Expr, bound map[string]meaning) {
	a, b := c.meaning(x, bound), c.meaning(y, bound)
	c.hold(a, b)
	c.hold(b, a)
	if a.field != nil && b.field != nil && !share(a.field.field.Words, b.field.field.Words) && len(a.written)+len(b.written) == 0 {
		c.problem(x, "%s and %s have no word in common, so they are never equal", a.field.name, b.field.name)
	}
}

// hold checks the words of one side against the field of the other.
func (c *checker) hold(words, against meaning) {
	if against.field == nil {
		return
	}
	for _, e := range words.written {
		word := string(e.AsLiteral().(types.String))
		if !contains(against.field.field.Words, word) {
			c.problem(e, "%s is never %q; %s", against.field.name, word, meantWord(word, against.field.field.Words))
		}
	}
}

func meantWord(word string, words []string) string {
	if near := events.Nearest(word, words); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "want one of " + strings.Join(words, ", ")
}

// affix checks action.kind.startsWith("dri") and its like: some word of the
// list must answer to it.
func (c *checker) affix(call ast.CallExpr, bound map[string]meaning) {
	var test func(s, part string) bool
	switch call.FunctionName() {
	case "startsWith":
		test = strings.HasPrefix
	case "endsWith":
		test = strings.HasSuffix
	case "contains":
		test = strings.Contains
	default:
		return
	}
	of := c.meaning(call.Target(), bound).field
	part, ok := joined(call.Args()[0])
	if of == nil || !ok {
		return
	}
	for _, word := range of.field.Words {
		if test(word, part) {
			return
		}
	}
	c.problem(call.Args()[0], "no word of %s %s %q; it is one of %s", of.name,
		map[string]string{"startsWith": "starts with", "endsWith": "ends with", "contains": "contains"}[call.FunctionName()],
		part, strings.Join(of.field.Words, ", "))
}

func share(a, b []string) bool {
	for _, w := range a {
		if contains(b, w) {
			return true
		}
	}
	return false
}
