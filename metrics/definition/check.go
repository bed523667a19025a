package definition

import (
	"fmt"
	"sort"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"

	"stopledger/events"
)

// checker goes over one expression and reports what is wrong with it.
type checker struct {
	rep    *report
	src    written
	label  string
	want   wants
	info   *ast.SourceInfo
	seen   map[int]*fieldRef // by slot
	failed bool
}

func (c *checker) problem(e ast.Expr, format string, args ...any) {
	c.failed = true
	c.rep.add(c.place(e), format, args...)
}

func (c *checker) fields() []*fieldRef {
	list := make([]*fieldRef, 0, len(c.seen))
	for _, f := range c.seen {
		list = append(list, f)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].slot < list[j].slot })
	return list
}

// names checks every name of the tree before types are looked at, collects the
// fields, and turns whole numbers into the one kind of number there is. Bound
// holds the names that loops have bound.
func (c *checker) names(e ast.Expr, bound []string) {
	switch e.Kind() {
	case ast.IdentKind:
		c.ident(e, bound)
	case ast.SelectKind:
		c.sel(e, bound)
	case ast.CallKind:
		call := e.AsCall()
		c.function(e, call.FunctionName())
		if call.IsMemberFunction() {
			c.names(call.Target(), bound)
		}
		for _, arg := range call.Args() {
			c.names(arg, bound)
		}
	case ast.ListKind:
		for _, item := range e.AsList().Elements() {
			c.names(item, bound)
		}
	case ast.MapKind:
		for _, entry := range e.AsMap().Entries() {
			c.names(entry.AsMapEntry().Key(), bound)
			c.names(entry.AsMapEntry().Value(), bound)
		}
	case ast.ComprehensionKind:
		c.loop(e, bound)
	case ast.LiteralKind:
		c.literal(e)
	default:
		c.problem(e, "nothing can be made with { } of a type here")
	}
}

func (c *checker) ident(e ast.Expr, bound []string) {
	name := e.AsIdent()
	switch {
	case contains(bound, name):
	case contains(roots, name):
		c.problem(e, "%s cannot stand alone; name one of its fields, such as %s.%s", name, name, sampleField(name))
	default:
		c.problem(e, "nothing is called %q%s", name, meantName(name))
	}
}

// meantName suggests a field or one of the six things for a lone name.
func meantName(name string) string {
	for _, f := range fieldRefs {
		if f.short == name {
			return fmt.Sprintf("; did you mean %s?", f.name)
		}
	}
	if near := events.Nearest(name, roots); near != "" {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	return "; an expression may read " + strings.Join(roots, ", ")
}

func sampleField(root string) string {
	switch root {
	case "chance", "possession":
		return "points"
	case "action":
		return "kind"
	case "game":
		return "level"
	}
	return "role"
}

func (c *checker) sel(e ast.Expr, bound []string) {
	s := e.AsSelect()
	operand := s.Operand()
	if operand.Kind() != ast.IdentKind || contains(bound, operand.AsIdent()) || !contains(roots, operand.AsIdent()) {
		c.names(operand, bound)
		if !c.failed {
			c.problem(e, "only %s have fields; .%s is of something else", strings.Join(roots, ", "), s.FieldName())
		}
		return
	}
	root := operand.AsIdent()
	f, ok := fieldsByName[root+"."+s.FieldName()]
	if !ok {
		c.failed = true
		c.rep.add(c.fieldPlace(e, operand), "%s has no field %q%s", root, s.FieldName(), meantField(root, s.FieldName()))
		return
	}
	switch {
	case c.want.undecided && f.name == decidedField:
		c.problem(operand, "decided cannot read chance.decided, which is what it says itself")
	case c.want.chanceOnly != "" && f.from > fromChance:
		c.problem(operand, "%s may read only chance, possession and game, because %s", c.label, c.want.chanceOnly)
	}
	c.seen[f.slot] = f
}

// fieldPlace is where the name of a field stands. Within has( ) only the place
// of the thing before the dot is known.
func (c *checker) fieldPlace(e, operand ast.Expr) place {
	if at, ok := c.info.GetOffsetRange(e.ID()); ok && !e.AsSelect().IsTestOnly() {
		return c.src.at(int(at.Start) + 1)
	}
	return c.place(operand)
}

func meantField(root, name string) string {
	if near := events.Nearest(name, shortNames(root)); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	for _, f := range fieldRefs {
		if f.short == name {
			return fmt.Sprintf("; did you mean %s?", f.name)
		}
	}
	return "; it has " + strings.Join(shortNames(root), ", ")
}

// operator reports whether a function is one of CEL's operators, whose names
// nobody writes.
func operator(name string) bool {
	_, symbol := operators.FindReverse(name)
	return symbol || strings.HasPrefix(name, "_") || strings.HasPrefix(name, "@")
}

func (c *checker) function(e ast.Expr, name string) {
	if operator(name) || contains(functions, name) {
		return
	}
	if name == "dyn" || name == "type" {
		c.problem(e, "there is no function %s; every field has its type already", name)
		return
	}
	hint := "; there are " + strings.Join(functions, ", ")
	if near := events.Nearest(name, functions); near != "" {
		hint = fmt.Sprintf("; did you mean %s?", near)
	}
	c.problem(e, "there is no function %s%s", name, hint)
}

func (c *checker) loop(e ast.Expr, bound []string) {
	loop := e.AsComprehension()
	c.names(loop.IterRange(), bound)
	c.names(loop.AccuInit(), bound)
	for _, name := range []string{loop.IterVar(), loop.IterVar2()} {
		if contains(roots, name) {
			c.problem(e, "a loop cannot call its value %s, which means something else; use another name", name)
			return
		}
	}
	inner := append(append([]string{}, bound...), loop.IterVar(), loop.IterVar2(), loop.AccuVar())
	c.names(loop.LoopCondition(), inner)
	c.names(loop.LoopStep(), inner)
	c.names(loop.Result(), inner)
}

var factory = ast.NewExprFactory()

func (c *checker) literal(e ast.Expr) {
	switch v := e.AsLiteral().(type) {
	case types.Int:
		e.SetKindCase(factory.NewLiteral(e.ID(), types.Double(v)))
	case types.Uint:
		c.problem(e, "write %d without the u", uint64(v))
	case types.Bytes:
		c.problem(e, "bytes are not used here; write a word in quotes")
	case types.Null:
		c.problem(e, "null is not used here; has(chance.margin) asks whether a field is known")
	}
}

// outcome checks what the whole expression gives.
func (c *checker) outcome(got *cel.Type) {
	want := cel.BoolType
	if c.want.number {
		want = cel.DoubleType
	}
	if !got.IsExactType(want) {
		c.failed = true
		c.rep.add(c.src.at(0), "%s gives a %s; want a %s", c.label, plainType(got.String()), plainType(want.String()))
	}
}

func contains(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}
