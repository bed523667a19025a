package evidence

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"stopledger/events"
	"stopledger/replay"
)

// Filter is one test on a field, named as an expression writes it: the value
// must be one of Values, or, where From is given, not before it in the order of
// words (dates). A row that does not say fails.
type Filter struct {
	Field  string
	Values []string
	From   string
}

// Actions says of each action of the columns whether it passes every filter.
func Actions(c *replay.Columns, filters []Filter) ([]bool, error) {
	keep := make([]bool, c.Actions.Rows)
	for i := range keep {
		keep[i] = true
	}
	for _, f := range filters {
		t, err := testOf(c, f)
		if err != nil {
			return nil, err
		}
		for a := range keep {
			keep[a] = keep[a] && t.passes(t.rowOf(a))
		}
	}
	return keep, nil
}

// Narrow is the part of the columns that passes every filter: filters of games
// and chances leave chances out with their actions, filters of actions and
// players leave actions out. Games and players stay listed, and what the fold
// worked out from whole games stays as it was.
func Narrow(c *replay.Columns, filters []Filter) (*replay.Columns, error) {
	if len(filters) == 0 {
		return c, nil
	}
	keep, err := Actions(c, filters)
	if err != nil {
		return nil, err
	}
	chances := make([]bool, c.Chances.Rows)
	for i := range chances {
		chances[i] = true
	}
	for _, f := range filters {
		t, err := testOf(c, f)
		if err != nil {
			return nil, err
		}
		if t.column.Field.Of != replay.OfGame && t.column.Field.Of != replay.OfChance {
			continue
		}
		for i := range chances {
			row := i
			if t.column.Field.Of == replay.OfGame {
				row = int(c.ChanceGame[i])
			}
			chances[i] = chances[i] && t.passes(row)
		}
	}
	return part(c, chances, keep), nil
}

// test is a filter made ready for its column.
type test struct {
	Filter
	column *replay.Column
	rowOf  func(action int) int
	codes  []bool // by code, for coded columns
}

func testOf(c *replay.Columns, f Filter) (test, error) {
	field, ok := replay.FieldNamed(f.Field)
	if !ok {
		return test{}, fmt.Errorf("filter: there is no field %q", f.Field)
	}
	t := test{Filter: f}
	switch field.Of {
	case replay.OfAction:
		t.column, t.rowOf = c.Actions.Column(field.Name), func(a int) int { return a }
	case replay.OfChance:
		t.column, t.rowOf = c.Chances.Column(field.Name), func(a int) int { return int(c.ActionChance[a]) }
	case replay.OfGame:
		t.column, t.rowOf = c.Games.Column(field.Name), func(a int) int { return int(c.ChanceGame[c.ActionChance[a]]) }
	default:
		link := c.ActionOpponent
		if len(f.Field) > 8 && f.Field[:8] == "defender" {
			link = c.ActionDefender
		}
		t.column, t.rowOf = c.Players.Column("player."+field.Name[len("player."):]), func(a int) int { return int(link[a]) }
	}
	t.codes = make([]bool, t.column.Cardinality())
	for code := 1; code < len(t.codes); code++ {
		t.codes[code] = t.fits(valueOf(t.column, code))
	}
	return t, nil
}

func (t *test) fits(values []string) bool {
	return slices.ContainsFunc(values, func(v string) bool {
		if t.From != "" {
			return v >= t.From
		}
		return slices.Contains(t.Values, v)
	})
}

func (t *test) passes(row int) bool {
	if t.column.Field.Shape == replay.Real {
		if len(t.column.Reals) == 0 || math.IsNaN(float64(t.column.Reals[row])) {
			return false
		}
		return t.fits([]string{strconv.FormatFloat(float64(t.column.Reals[row]), 'g', -1, 32)})
	}
	return t.codes[t.column.Code(row)]
}

// valueOf is what a code stands for, as words.
func valueOf(c *replay.Column, code int) []string {
	switch c.Field.Shape {
	case replay.Words:
		return c.Lists[code]
	case replay.Number:
		return []string{strconv.FormatFloat(c.Numbers[code], 'g', -1, 64)}
	case replay.Truth:
		return []string{strconv.FormatBool(c.Numbers[code] == 1)}
	}
	return []string{c.Words[code]}
}

// part lays out the rows that are kept. An action goes with its chance.
func part(c *replay.Columns, chances, actions []bool) *replay.Columns {
	out := replay.NewColumns()
	out.Games, out.Players, out.GameIDs, out.Digests = c.Games, c.Players, c.GameIDs, c.Digests
	at := make([]uint32, len(chances)) // where a chance went
	var chanceRows, actionRows []int
	for i, ok := range chances {
		if ok {
			at[i] = uint32(len(chanceRows))
			chanceRows = append(chanceRows, i)
			out.ChanceGame = append(out.ChanceGame, c.ChanceGame[i])
		}
	}
	for a, ok := range actions {
		if ok && chances[c.ActionChance[a]] {
			actionRows = append(actionRows, a)
			out.ActionChance = append(out.ActionChance, at[c.ActionChance[a]])
			out.ActionDefender = append(out.ActionDefender, c.ActionDefender[a])
			out.ActionOpponent = append(out.ActionOpponent, c.ActionOpponent[a])
		}
	}
	pick(&out.Chances, &c.Chances, chanceRows)
	pick(&out.Actions, &c.Actions, actionRows)
	out.ChanceIDs, out.ActionIDs = pickIDs(c.ChanceIDs, chanceRows), pickIDs(c.ActionIDs, actionRows)
	return out
}

func pickIDs(ids []events.ID, rows []int) []events.ID {
	if ids == nil {
		return nil
	}
	out := make([]events.ID, len(rows))
	for i, r := range rows {
		out[i] = ids[r]
	}
	return out
}

// pick copies rows of a table; dictionaries are shared.
func pick(to, from *replay.Table, rows []int) {
	to.Rows = len(rows)
	for _, old := range from.Columns {
		c := to.Column(old.Field.Name)
		c.Words, c.Lists, c.Numbers = old.Words, old.Lists, old.Numbers
		if len(old.Reals) > 0 {
			c.Reals = make([]float32, len(rows))
			for i, r := range rows {
				c.Reals[i] = old.Reals[r]
			}
		}
		c.Codes = pickCodes(old.Codes, rows)
	}
}

func pickCodes(old replay.Codes, rows []int) replay.Codes {
	switch {
	case old.Len() == 0:
		return replay.Codes{}
	case old.U8 != nil:
		return replay.Codes{U8: picked(old.U8, rows)}
	case old.U16 != nil:
		return replay.Codes{U16: picked(old.U16, rows)}
	}
	return replay.Codes{U32: picked(old.U32, rows)}
}

func picked[T uint8 | uint16 | uint32](old []T, rows []int) []T {
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = old[r]
	}
	return out
}
