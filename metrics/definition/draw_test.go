package definition

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"pgregory.net/rapid"

	"stopledger/events"
	"stopledger/replay"
)

// drawColumns draws a few games of anything: fields absent here and there, and
// reals that meet the constants of drawn expressions exactly.
func drawColumns(t *rapid.T) *replay.Columns {
	c := replay.NewColumns()
	// One drawn seed for the cells: a draw for each would take most of the time.
	dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	games := rapid.IntRange(1, 4).Draw(t, "games")
	players := rapid.IntRange(1, 6).Draw(t, "players")
	for g := range games {
		c.GameIDs, c.Digests = append(c.GameIDs, events.Token(fmt.Sprint("g", g))), append(c.Digests, "")
		for range rapid.IntRange(0, 12).Draw(t, "chances") {
			chance := uint32(len(c.ChanceGame))
			c.ChanceGame = append(c.ChanceGame, uint32(g))
			for range dice.IntN(7) {
				c.ActionChance = append(c.ActionChance, chance)
				c.ActionDefender = append(c.ActionDefender, uint32(dice.IntN(players+1)))
				c.ActionOpponent = append(c.ActionOpponent, uint32(dice.IntN(players+1)))
			}
		}
	}
	c.Games.Rows, c.Chances.Rows, c.Actions.Rows, c.Players.Rows = games, len(c.ChanceGame), len(c.ActionChance), players+1
	for _, table := range []*replay.Table{&c.Games, &c.Chances, &c.Actions, &c.Players} {
		for _, column := range table.Columns {
			drawColumn(dice, column, table.Rows)
		}
	}
	return c
}

func drawColumn(dice *rand.Rand, c *replay.Column, rows int) {
	name := c.Field.Name
	if dice.IntN(10) == 0 && c.Field.Of != replay.OfPlayer {
		return
	}
	codes := 0
	switch {
	case c.Field.Shape == replay.Real:
		for range rows {
			of := []float64{math.NaN(), 0, 1, 2.5, 60, 300, 299.5, -4}
			c.Reals = append(c.Reals, float32(of[dice.IntN(len(of))]))
		}
		return
	case c.Field.Shape == replay.Truth:
		c.Numbers = append(c.Numbers, 0, 1)
		codes = 2
	case c.Field.Shape == replay.Number:
		c.Numbers = append(c.Numbers, 0, 1, 2, 3, -25)
		codes = 5
		if strings.HasSuffix(name, "margin") {
			for i := range 40 {
				c.Numbers = append(c.Numbers, float64(i+4))
			}
			codes += 40
		}
	case c.Field.Shape == replay.Words:
		words := c.Field.Words
		if words == nil {
			words = []string{"loud", "tired"}
		}
		for _, list := range [][]string{words[:1], words[:2], words[1:2]} {
			c.Words, c.Lists = append(c.Words, strings.Join(list, " ")), append(c.Lists, list)
		}
		codes = 3
	default:
		words := c.Field.Words
		if words == nil {
			words = []string{"a", "b", "c", "d"}
		}
		c.Words = append(c.Words, words...)
		codes = len(words)
	}
	for row := range rows {
		code := dice.IntN(codes + 1)
		if name == "player.id" {
			code = min(row, codes)
		}
		c.Codes.U16 = append(c.Codes.U16, uint16(code))
	}
}

// drawDefinition draws the text of a definition that is accepted.
func drawDefinition(t *rapid.T) string {
	var b strings.Builder
	rule := func(key, expression string) { fmt.Fprintf(&b, "%s: >-\n    %s\n", key, expression) }
	b.WriteString("name: drawn\nabout: drawn\n")
	hasDecided := rapid.Bool().Draw(t, "has decided")
	if hasDecided {
		rule("decided", drawTruth(t, 2, "chance"))
	}
	rule("keep", drawTruth(t, 2, rapid.SampledFrom([]string{"chance", "any"}).Draw(t, "keep")))
	rule("count", drawTruth(t, 2, "any"))
	b.WriteString("stop:\n")
	rule("  default", drawTruth(t, 2, rapid.SampledFrom([]string{"chance", "any"}).Draw(t, "stop")))
	rule("  contest", drawTruth(t, 1, "any"))
	b.WriteString("cost:\n")
	rule("  default", rapid.SampledFrom([]string{"chance.points", "chance.points + 1", "chance.points / (chance.breaks - 1)", "chance.clock"}).Draw(t, "cost"))
	rule("  box-out", "possession.points_after")
	rule("blame", rapid.SampledFrom([]string{
		"everyone", "first-break", "last-on-ball", "split", "1 / action.order", "action.effort", "action.reading == \"broken\" ? 2 : chance.margin / 3",
		"{\"drive\": 1, \"post\": 2, \"chase\": 0.5}[action.kind]", "action.x",
	}).Draw(t, "blame"))
	return b.String()
}

// drawTruth draws an expression that is true or false, over the chance alone
// or over anything.
func drawTruth(t *rapid.T, depth int, over string) string {
	if depth > 0 {
		a, b := func() string { return drawTruth(t, depth-1, over) }, func() string { return drawTruth(t, depth-1, over) }
		switch rapid.IntRange(0, 4).Draw(t, "shape") {
		case 0:
			return "(" + a() + " && " + b() + ")"
		case 1:
			return "(" + a() + " || " + b() + ")"
		case 2:
			return "!" + a()
		case 3:
			return "(" + a() + " ? " + b() + " : " + drawTruth(t, 0, over) + ")"
		}
	}
	atoms := []string{
		"chance.points == 0", `chance.ball == "defence"`, `chance.end in ["made-2", "made-3"]`, "abs(chance.margin) > 20", "chance.last_period",
		"chance.seconds_left < 300", "chance.clock >= 60", "300 == chance.clock", "chance.clock > 2 * chance.breaks", "has(chance.margin)", "chance.heave",
		"chance.points / chance.breaks > 1", `chance.tempo != "break"`, "true", `game.level == "college"`, "chance.margin % 2 == 0", "has(chance.clock)",
	}
	if over == "any" {
		atoms = append(atoms, "chance.decided", `action.kind == "drive"`, `"saw-late" in action.why`, "action.x < 2.5", "action.distance > action.x",
			`defender.role == "big"`, "opponent.height_cm > 1", `action.why.exists(w, w == "feet")`, "size(action.tags) > 1", `action.tags[1] == "tired"`,
			"action.first_break", `action.reading != "unclear"`, `defender.id == opponent.id`, `action.outcome == "beaten"`, "has(action.came_by)", "action.effort > 1")
	}
	return "(" + rapid.SampledFrom(atoms).Draw(t, "atom") + ")"
}
