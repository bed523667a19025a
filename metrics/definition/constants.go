package definition

import (
	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/cost"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"
)

// constants refuses what can be seen to fail on every row: a divisor that is
// zero, an index that its list or map does not have.
func (c *checker) constants(e ast.Expr) {
	each(e, func(e ast.Expr) {
		if e.Kind() != ast.CallKind {
			return
		}
		args := e.AsCall().Args()
		switch e.AsCall().FunctionName() {
		case operators.Divide, operators.Modulo:
			if v, ok := constantNumber(args[1]); ok && v == 0 {
				c.problem(args[1], "division by zero")
			}
		case operators.Index:
			c.index(args[0], args[1])
		}
	})
}

func (c *checker) index(of, at ast.Expr) {
	if n, ok := constantNumber(at); ok {
		switch {
		case n < 0 || n != float64(int(n)):
			c.problem(at, "an index is a whole number from 0; got %v", n)
		case of.Kind() == ast.ListKind && int(n) >= len(of.AsList().Elements()):
			c.problem(at, "index %v of a list that ends at %d", n, len(of.AsList().Elements())-1)
		}
		return
	}
	if of.Kind() != ast.MapKind || at.Kind() != ast.LiteralKind {
		return
	}
	for _, entry := range of.AsMap().Entries() {
		key := entry.AsMapEntry().Key()
		if key.Kind() != ast.LiteralKind || key.AsLiteral().Equal(at.AsLiteral()) == types.True {
			return
		}
	}
	c.problem(at, "the map has no %v", at.AsLiteral().Value())
}

// constantNumber folds numbers without fields.
func constantNumber(e ast.Expr) (float64, bool) {
	switch e.Kind() {
	case ast.LiteralKind:
		v, ok := e.AsLiteral().(types.Double)
		return float64(v), ok
	case ast.CallKind:
		args := e.AsCall().Args()
		list := make([]float64, len(args))
		for i, arg := range args {
			v, ok := constantNumber(arg)
			if !ok {
				return 0, false
			}
			list[i] = v
		}
		return foldCall(e.AsCall().FunctionName(), list)
	}
	return 0, false
}

func foldCall(function string, args []float64) (float64, bool) {
	switch {
	case function == operators.Negate && len(args) == 1:
		return -args[0], true
	case len(args) != 2:
		return 0, false
	}
	switch function {
	case operators.Add:
		return args[0] + args[1], true
	case operators.Subtract:
		return args[0] - args[1], true
	case operators.Multiply:
		return args[0] * args[1], true
	case operators.Divide:
		return args[0] / args[1], args[1] != 0
	}
	return 0, false
}

// tryConstant evaluates an expression without fields, so that one that fails
// is refused when it is read.
func (c *checker) tryConstant(e *expression) {
	if len(e.fields) > 0 {
		return
	}
	v := e.evaluate(newRecord())
	e.literal = &v
	switch {
	case v.reason != "":
		c.failed = true
		c.rep.add(c.src.at(0), "%s can never be worked out: %s", e.label, v.reason)
	case c.want.number && v.number < 0:
		c.failed = true
		c.rep.add(c.src.at(0), "%s is %v; it cannot be less than 0", e.label, v.number)
	}
}

// cost refuses expressions that would take too many steps on a row.
func (c *checker) cost(lang *cel.Env, checked *cel.Ast) {
	estimate, err := lang.EstimateCost(checked, sizes{})
	if err != nil {
		c.failed = true
		c.rep.add(c.src.at(0), "%s: cost cannot be estimated: %v", c.label, err)
		return
	}
	if estimate.Max > maxCost {
		c.failed = true
		c.rep.add(c.src.at(0), "%s could take %d steps on a row; at most %d are allowed: use shorter lists or fewer loops within loops", c.label, estimate.Max, maxCost)
	}
}

// sizes tells the cost estimate how long words and lists of words may be.
type sizes struct{}

// EstimateSize bounds the words and lists of fields.
func (sizes) EstimateSize(element cost.AstNode) *cost.SizeEstimate {
	if len(element.Path()) == 0 {
		return nil
	}
	most := uint64(longestWord)
	if element.Type().Kind() == types.ListKind {
		most = longestList
	}
	return &cost.SizeEstimate{Min: 0, Max: most}
}

// EstimateCallCost leaves calls to CEL's own estimate.
func (sizes) EstimateCallCost(string, string, *cost.AstNode, []cost.AstNode) *cost.CallEstimate {
	return nil
}

// each visits a tree from the top.
func each(e ast.Expr, visit func(ast.Expr)) {
	ast.PreOrderVisit(e, ast.NewExprVisitor(visit))
}

func hasLoop(e ast.Expr) bool {
	found := false
	each(e, func(e ast.Expr) { found = found || e.Kind() == ast.ComprehensionKind })
	return found
}
