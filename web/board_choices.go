package web

import (
	"slices"
	"strconv"

	"stopledger/replay"
)

// choicesOf lists the values that a field has in the columns, sorted.
func choicesOf(c *replay.Columns, name string) []string {
	field, ok := replay.FieldNamed(name)
	if !ok {
		return nil
	}
	table := map[replay.Of]*replay.Table{replay.OfGame: &c.Games, replay.OfChance: &c.Chances, replay.OfAction: &c.Actions, replay.OfPlayer: &c.Players}[field.Of]
	col := table.Column(field.Name)
	out := []string{}
	switch field.Shape {
	case replay.Number:
		numbers := slices.Clone(col.Numbers[1:])
		slices.Sort(numbers)
		for _, n := range numbers {
			out = append(out, strconv.FormatFloat(n, 'g', -1, 64))
		}
	case replay.Word:
		out = append(out, col.Words[1:]...)
		slices.Sort(out)
	}
	return out
}
