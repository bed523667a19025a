package definition

import (
	"math"
	"slices"

	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/operators"

	"stopledger/replay"
)

// cutsOf finds, for each measured field, the constants it is compared with. A
// field that is used in any other way is left out of the answer.
func cutsOf(root ast.Expr, fields []*fieldRef) map[int][]float64 {
	uses, compared := map[int]int{}, map[int][]float64{}
	each(root, func(e ast.Expr) {
		switch e.Kind() {
		case ast.SelectKind:
			if f := measured(e); f != nil && !e.AsSelect().IsTestOnly() {
				uses[f.slot]++
			}
		case ast.CallKind:
			if f, at, ok := comparison(e.AsCall()); ok {
				compared[f.slot] = append(compared[f.slot], at)
			}
		}
	})
	cuts := map[int][]float64{}
	for _, f := range fields {
		if f.field.Shape == replay.Real && len(compared[f.slot]) == uses[f.slot] {
			list := slices.Clone(compared[f.slot])
			slices.Sort(list)
			cuts[f.slot] = slices.Compact(list)
		}
	}
	return cuts
}

func measured(e ast.Expr) *fieldRef {
	if e.Kind() != ast.SelectKind || e.AsSelect().Operand().Kind() != ast.IdentKind {
		return nil
	}
	f := fieldsByName[e.AsSelect().Operand().AsIdent()+"."+e.AsSelect().FieldName()]
	if f == nil || f.field.Shape != replay.Real {
		return nil
	}
	return f
}

func comparison(call ast.CallExpr) (*fieldRef, float64, bool) {
	switch call.FunctionName() {
	case operators.Less, operators.LessEquals, operators.Greater, operators.GreaterEquals, operators.Equals, operators.NotEquals:
	default:
		return nil, 0, false
	}
	a, b := call.Args()[0], call.Args()[1]
	if measured(a) == nil {
		a, b = b, a
	}
	f := measured(a)
	if f == nil || a.AsSelect().IsTestOnly() {
		return nil, 0, false
	}
	at, ok := constantNumber(b)
	return f, at, ok
}

// cells lists one value for each cell that the cuts make, in the order of
// [cellOf]: nothing, below the first cut, the first cut, between, and so on.
func cells(cuts []float64) []float64 {
	list := []float64{math.NaN()}
	below := math.Inf(-1)
	for _, cut := range cuts {
		list = append(list, between(below, cut), cut)
		below = cut
	}
	return append(list, between(below, math.Inf(1)))
}

func between(a, b float64) float64 {
	switch {
	case math.IsInf(a, -1) && math.IsInf(b, 1):
		return 0
	case math.IsInf(a, -1):
		return b - math.Max(1, math.Abs(b))
	case math.IsInf(b, 1):
		return a + math.Max(1, math.Abs(a))
	}
	return a/2 + b/2
}

// cellOf is the cell of a value: 0 for an absent one.
func cellOf(cuts []float64, v float32) uint32 {
	x := float64(v)
	if x != x {
		return 0
	}
	cell := uint32(1)
	for _, cut := range cuts {
		switch {
		case x < cut:
			return cell
		case x == cut:
			return cell + 1
		}
		cell += 2
	}
	return cell
}
