// Package frame lays a season out as a data frame, one row an action, for
// whoever would rather think in a notebook: as CSV or as Parquet
// (https://parquet.apache.org). [Of] gives the frame, [Frame.WriteCSV] and
// [Frame.WriteParquet] write it, [Frame.Describe] documents every column from
// the same table that the expressions' fields come from.
package frame

import (
	"math"
	"strings"

	"stopledger/replay"
)

// Type is what a column of the frame holds.
type Type string

// The types. A text column of several words joins them with "; ".
const (
	Text   Type = "text"
	Number Type = "number"
	Whole  Type = "whole number"
	Truth  Type = "true or false"
)

// Column is one column of the frame. Its cell is nil where the row does not
// say.
type Column struct {
	Name  string
	Type  Type
	Gloss string
	Cell  func(row int) any // string, float64, int64, bool or nil
}

// Frame is a table with one row an action.
type Frame struct {
	Rows    int
	Columns []Column
	Mark    string // a notice that goes with the data, such as "invented"
}

// Of lays out the columns of a season: ids first, then game, chance and
// possession, the action with its details, the defender and the opponent.
// Further columns, such as the verdicts of a definition, go behind.
func Of(c *replay.Columns, extra ...Column) *Frame {
	f := &Frame{Rows: c.Actions.Rows}
	f.Columns = append(f.Columns,
		Column{"action_id", Text, "the action's event", func(row int) any { return string(c.ActionIDs[row]) }},
		Column{"chance_id", Text, "the chance's event", func(row int) any { return string(c.ChanceIDs[c.ActionChance[row]]) }},
	)
	byChance := func(row int) int { return int(c.ActionChance[row]) }
	f.table("", &c.Games, func(row int) int { return int(c.ChanceGame[c.ActionChance[row]]) })
	f.table("", &c.Chances, byChance)
	f.table("", &c.Actions, func(row int) int { return row })
	f.table("defender", &c.Players, func(row int) int { return int(c.ActionDefender[row]) })
	f.table("opponent", &c.Players, func(row int) int { return int(c.ActionOpponent[row]) })
	f.Columns = append(f.Columns, extra...)
	return f
}

// table adds a table's columns, each row of the frame looking into it at at.
func (f *Frame) table(as string, t *replay.Table, at func(row int) int) {
	for _, col := range t.Columns {
		name := col.Field.Name
		if as != "" {
			name = as + strings.TrimPrefix(name, "player")
		}
		typ, cell := reader(col)
		f.Columns = append(f.Columns, Column{
			Name:  strings.NewReplacer(".", "_", "-", "_").Replace(name),
			Type:  typ,
			Gloss: col.Field.Gloss,
			Cell:  func(row int) any { return cell(at(row)) },
		})
	}
}

func reader(col *replay.Column) (Type, func(row int) any) {
	switch col.Field.Shape {
	case replay.Real:
		return Number, func(row int) any {
			if len(col.Reals) == 0 || math.IsNaN(float64(col.Reals[row])) {
				return nil
			}
			return float64(col.Reals[row])
		}
	case replay.Number:
		return coded(Number, col, func(code uint32) any { return col.Numbers[code] })
	case replay.Truth:
		return coded(Truth, col, func(code uint32) any { return col.Numbers[code] == 1 })
	case replay.Words:
		return coded(Text, col, func(code uint32) any { return strings.Join(col.Lists[code], "; ") })
	}
	return coded(Text, col, func(code uint32) any { return col.Words[code] })
}

func coded(typ Type, col *replay.Column, value func(code uint32) any) (Type, func(row int) any) {
	return typ, func(row int) any {
		code := col.Code(row)
		if code == 0 {
			return nil
		}
		return value(code)
	}
}
