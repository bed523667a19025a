package definition

import (
	"math"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"stopledger/replay"
)

// frame is the columns that a definition is applied to, with what it computes
// of every chance first.
type frame struct {
	cols *replay.Columns
	// chance.decided by chance, and its values by code. Without codes every
	// chance has the first value.
	decided       replay.Codes
	decidedValues []ref.Val
}

// newFrame works chance.decided out.
func newFrame(d *Definition, cols *replay.Columns) *frame {
	f := &frame{cols: cols, decidedValues: []ref.Val{types.False}}
	if d.decided == nil {
		return f
	}
	e := f.expressionElement(d.decided)
	c := f.sortBundle([]element{e})
	if c == nil {
		codes, values := f.evaluateChances(d.decided)
		f.decided, f.decidedValues = codes, nil
		for _, v := range values {
			f.decidedValues = append(f.decidedValues, v.val())
		}
		return f
	}
	f.decided, f.decidedValues = c.of, nil
	for _, chance := range c.first {
		f.decidedValues = append(f.decidedValues, e.value(e.code(chance)).val())
	}
	return f
}

// val is the value as whoever reads chance.decided gets it.
func (v value) val() ref.Val {
	if v.reason == "" {
		return types.Bool(v.number != 0)
	}
	if v.failed {
		return types.NewErr("%s", v.reason)
	}
	var all *types.Unknown
	for _, name := range strings.Split(strings.TrimSuffix(v.reason, unknownSuffix), ", ") {
		if f := fieldsByName[name]; f != nil {
			all = types.MergeUnknowns(all, absent[f.slot].(*types.Unknown))
		}
	}
	return all
}

// lens reads one field on the rows of chances or of actions.
type lens struct {
	ref    *fieldRef
	codes  *replay.Codes
	reals  []float32
	cuts   []float64 // not nil: a measured field in cells
	raw    bool      // a measured field as it is
	values []ref.Val // by code or cell
}

// lensOf finds a field for an expression.
func (f *frame) lensOf(r *fieldRef, e *expression) lens {
	l := lens{ref: r}
	if r.name == decidedField {
		l.values, l.codes = f.decidedValues, &f.decided
		return l
	}
	c := f.column(r)
	if r.field.Shape == replay.Real {
		l.reals = c.Reals
		cuts, ok := e.cuts[r.slot] // only expressions read measured fields
		if !ok {
			l.raw = true
			return l
		}
		l.cuts = cuts
		for _, v := range cells(cuts) {
			l.values = append(l.values, realValue(r, v))
		}
		return l
	}
	l.codes = &c.Codes
	l.values = valuesOf(r, c)
	return l
}

func (f *frame) column(r *fieldRef) *replay.Column {
	switch r.from {
	case fromGame:
		return f.cols.Games.Column(r.column)
	case fromChance:
		return f.cols.Chances.Column(r.column)
	case fromAction:
		return f.cols.Actions.Column(r.column)
	}
	return f.cols.Players.Column(r.column)
}

func realValue(r *fieldRef, v float64) ref.Val {
	if math.IsNaN(v) {
		return absent[r.slot]
	}
	return types.Double(v)
}

// valuesOf turns a dictionary into CEL values.
func valuesOf(r *fieldRef, c *replay.Column) []ref.Val {
	list := make([]ref.Val, c.Cardinality())
	for code := range list {
		switch {
		case code == 0:
			list[code] = absent[r.slot]
		case r.field.Shape == replay.Number:
			list[code] = types.Double(c.Numbers[code])
		case r.field.Shape == replay.Truth:
			list[code] = types.Bool(c.Numbers[code] != 0)
		case r.field.Shape == replay.Words:
			list[code] = types.NewStringList(types.DefaultTypeAdapter, c.Lists[code])
		default:
			list[code] = types.String(c.Words[code])
		}
	}
	return list
}

// code is the field's code in its own table.
func (l *lens) code(row uint32) uint32 {
	if l.ref.field.Shape == replay.Real {
		if l.reals == nil {
			return 0
		}
		return cellOf(l.cuts, l.reals[row])
	}
	if l.codes == nil || l.codes.Len() == 0 {
		return 0
	}
	return l.codes.At(int(row))
}

// value is the field's value in its own table.
func (l *lens) value(row uint32) ref.Val {
	if !l.raw {
		return l.values[l.code(row)]
	}
	if l.reals == nil {
		return absent[l.ref.slot]
	}
	return realValue(l.ref, float64(l.reals[row]))
}

// at is the row of the field's own table that belongs to a chance and, for an
// action's expression, an action.
func (f *frame) at(from source, chance, action uint32) uint32 {
	switch from {
	case fromGame:
		return f.cols.ChanceGame[chance]
	case fromChance:
		return chance
	case fromAction:
		return action
	case fromDefender:
		return f.cols.ActionDefender[action]
	}
	return f.cols.ActionOpponent[action]
}
