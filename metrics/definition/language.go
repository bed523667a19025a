package definition

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"
	"sync"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/env"
	"cel.dev/cel-go/common/operators"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/common/types/traits"

	"stopledger/replay"
)

// The language is CEL with its own macros and a subset of its functions. All
// numbers are doubles, so that an analyst need not know two kinds of them, and
// dividing by zero is an error instead of an infinity.

// Limits on one expression. The cost limit is in cel-go's units, about one a
// step; the shipped expressions stay under 40.
const (
	maxExpression = 2000 // characters
	maxNodes      = 500
	maxDepth      = 40
	maxCost       = 2000
	longestWord   = 64 // assumed of any word when costs are estimated
	longestList   = 16 // assumed of any list of words
)

// functions lists what may be called by name, for the nearest right word.
var functions = []string{"abs", "min", "max", "int", "double", "size", "contains", "startsWith", "endsWith", "has", "all", "exists", "exists_one", "filter", "map"}

// language returns the environment that expressions are compiled in.
var language = sync.OnceValues(func() (*cel.Env, error) {
	registry, err := types.NewRegistry()
	if err != nil {
		return nil, err
	}
	options := []cel.EnvOption{
		cel.CustomTypeAdapter(registry),
		cel.CustomTypeProvider(provider{registry}),
		cel.StdLib(cel.StdLibSubset(standardSubset())),
		cel.EnableMacroCallTracking(),
		cel.ParserExpressionSizeLimit(maxExpression),
		cel.ParserRecursionLimit(maxDepth),
		cel.ExpressionNodeLimit(maxNodes),
	}
	for _, root := range roots {
		options = append(options, cel.Variable(root, cel.ObjectType(typeOf(root))))
	}
	return cel.NewCustomEnv(append(options, numberFunctions()...)...)
})

// standardSubset keeps what a definition may use of CEL's standard functions.
func standardSubset() *env.LibrarySubset {
	subset := env.NewLibrarySubset().
		AddIncludedMacros(operators.Has, operators.All, operators.Exists, operators.ExistsOne, operators.Map, operators.Filter)
	whole := []string{
		operators.LogicalAnd, operators.LogicalOr, operators.LogicalNot, operators.Conditional, operators.NotStrictlyFalse,
		operators.Equals, operators.NotEquals, operators.In, "contains", "startsWith", "endsWith",
	}
	for _, name := range whole {
		subset.AddIncludedFunctions(env.NewFunction(name))
	}
	some := map[string][]string{
		operators.Add:           {"add_double", "add_string", "add_list"},
		operators.Subtract:      {"subtract_double"},
		operators.Multiply:      {"multiply_double"},
		operators.Negate:        {"negate_double"},
		operators.Less:          {"less_double", "less_string"},
		operators.LessEquals:    {"less_equals_double", "less_equals_string"},
		operators.Greater:       {"greater_double", "greater_string"},
		operators.GreaterEquals: {"greater_equals_double", "greater_equals_string"},
		operators.Index:         {"index_map"},
	}
	for name, ids := range some {
		overloads := make([]*env.Overload, len(ids))
		for i, id := range ids {
			overloads[i] = &env.Overload{ID: id}
		}
		subset.AddIncludedFunctions(env.NewFunction(name, overloads...))
	}
	return subset
}

var errDivision = errors.New("division by zero")

// numberFunctions are the functions over the one kind of number.
func numberFunctions() []cel.EnvOption {
	number, word := cel.DoubleType, cel.StringType
	anything := cel.TypeParamType("A")
	one := func(f func(float64) float64) cel.OverloadOpt {
		return cel.UnaryBinding(func(v ref.Val) ref.Val { return types.Double(f(float64(v.(types.Double)))) })
	}
	two := func(f func(a, b float64) (float64, error)) cel.OverloadOpt {
		return cel.BinaryBinding(func(a, b ref.Val) ref.Val {
			v, err := f(float64(a.(types.Double)), float64(b.(types.Double)))
			if err != nil {
				return types.WrapErr(err)
			}
			return types.Double(v)
		})
	}
	size := cel.UnaryBinding(func(v ref.Val) ref.Val {
		return types.Double(v.(traits.Sizer).Size().(types.Int))
	})
	pair := []*cel.Type{number, number}
	return []cel.EnvOption{
		cel.Function(operators.Divide, cel.Overload("divide_numbers", pair, number, two(divide))),
		cel.Function(operators.Modulo, cel.Overload("modulo_numbers", pair, number, two(remainder))),
		cel.Function("abs", cel.Overload("abs_number", pair[:1], number, one(math.Abs))),
		cel.Function("int", cel.Overload("int_number", pair[:1], number, one(math.Trunc))),
		cel.Function("double", cel.Overload("double_number", pair[:1], number, one(func(v float64) float64 { return v }))),
		cel.Function("min", cel.Overload("min_numbers", pair, number, two(func(a, b float64) (float64, error) { return math.Min(a, b), nil }))),
		cel.Function("max", cel.Overload("max_numbers", pair, number, two(func(a, b float64) (float64, error) { return math.Max(a, b), nil }))),
		// An index is planned as a qualifier and needs no function behind it.
		cel.Function(operators.Index, cel.Overload("index_list_number", []*cel.Type{cel.ListType(anything), number}, anything)),
		cel.Function("size",
			cel.Overload("size_word", []*cel.Type{word}, number, size),
			cel.MemberOverload("word_size", []*cel.Type{word}, number, size),
			cel.Overload("size_list_of", []*cel.Type{cel.ListType(anything)}, number, size),
			cel.MemberOverload("list_of_size", []*cel.Type{cel.ListType(anything)}, number, size)),
	}
}

func divide(a, b float64) (float64, error) {
	if b == 0 {
		return 0, errDivision
	}
	return a / b, nil
}

func remainder(a, b float64) (float64, error) {
	if b == 0 {
		return 0, errDivision
	}
	return math.Mod(a, b), nil
}

// typeOf is the CEL type name of a root. It differs from the root's own name,
// so that no expression can mean the type.
func typeOf(root string) string { return "stopledger." + root }

// provider tells the checker the fields of the six things, and the planner how
// to read them from a row.
type provider struct{ *types.Registry }

var rootOfType = func() map[string]string {
	m := make(map[string]string)
	for _, root := range roots {
		m[typeOf(root)] = root
	}
	return m
}()

func (p provider) FindStructType(name string) (*types.Type, bool) {
	if _, ok := rootOfType[name]; ok {
		return types.NewTypeTypeWithParam(types.NewObjectType(name)), true
	}
	return p.Registry.FindStructType(name)
}

func (p provider) FindStructFieldNames(name string) ([]string, bool) {
	if root, ok := rootOfType[name]; ok {
		return shortNames(root), true
	}
	return p.Registry.FindStructFieldNames(name)
}

func (p provider) FindStructFieldType(name, field string) (*types.FieldType, bool) {
	root, ok := rootOfType[name]
	if !ok {
		return p.Registry.FindStructFieldType(name, field)
	}
	f, ok := fieldsByName[root+"."+field]
	if !ok {
		return nil, false
	}
	slot := f.slot
	return &types.FieldType{
		Type:    celType(f.field.Shape),
		IsSet:   func(r any) bool { return !types.IsUnknown(r.(*record).values[slot]) },
		GetFrom: func(r any) (any, error) { return r.(*record).value(slot) },
	}, true
}

func celType(s replay.Shape) *types.Type {
	switch s {
	case replay.Number, replay.Real:
		return types.DoubleType
	case replay.Truth:
		return types.BoolType
	case replay.Words:
		return types.NewListType(types.StringType)
	}
	return types.StringType
}

// record is what an expression is evaluated on: one value for each field.
type record struct{ values []ref.Val }

func newRecord() *record {
	r := &record{values: make([]ref.Val, len(fieldRefs))}
	for i := range r.values {
		r.values[i] = absent[i]
	}
	return r
}

// value hands an undecidable chance.decided on as the error it is.
func (r *record) value(slot int) (any, error) {
	v := r.values[slot]
	if err, ok := v.(*types.Err); ok {
		return nil, err
	}
	return v, nil
}

// ResolveName makes the row an activation: every root is the row itself.
func (r *record) ResolveName(name string) (any, bool) {
	switch name {
	case "chance", "possession", "action", "defender", "opponent", "game":
		return r, true
	}
	return nil, false
}

// Parent ends the chain of activations.
func (r *record) Parent() cel.Activation { return nil }

// absent is the unknown value of each field; its id is the slot plus one.
var absent = func() []ref.Val {
	list := make([]ref.Val, len(fieldRefs))
	for i, f := range fieldRefs {
		list[i] = types.NewUnknown(int64(i)+1, types.QualifyAttribute[string](types.NewAttributeTrail(f.root), f.short))
	}
	return list
}()

const unknownSuffix = " unknown"

// unknownFields names the fields an evaluation missed.
func unknownFields(u *types.Unknown) string {
	var names []string
	for _, id := range u.IDs() {
		if id >= 1 && int(id) <= len(fieldRefs) {
			names = append(names, fieldRefs[id-1].name)
		}
	}
	sort.Strings(names)
	return strings.Join(names, ", ") + unknownSuffix
}

// reasonOf says why an evaluation gave neither value.
func reasonOf(v ref.Val) string {
	if u, ok := v.(*types.Unknown); ok {
		return unknownFields(u)
	}
	if e, ok := v.(*types.Err); ok {
		return e.Error()
	}
	return fmt.Sprintf("unexpected %v", v.Type())
}
