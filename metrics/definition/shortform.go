package definition

import (
	"math"
	"slices"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"stopledger/events"
	"stopledger/replay"
)

// columns lays the example out: one game, one chance, its actions, two players
// an action. What the example leaves unsaid follows from what it says, by the
// ledger's own rules where there are any.
func (x *Example) columns() (*replay.Columns, ref.Val) {
	c := replay.NewColumns()
	c.Games.Rows, c.Chances.Rows, c.Actions.Rows = 1, 1, len(x.actions)
	c.GameIDs, c.Digests, c.ChanceGame = []events.Token{"example"}, []string{""}, []uint32{0}
	c.Players.Rows = 1
	facts := x.chanceFacts()
	first, last, efforts, breaks := true, -1, map[string]int{}, 0
	actions := make([]map[string]given, len(x.actions))
	for i := range x.actions {
		actions[i] = x.actionFacts(i, efforts)
		if actions[i]["action.reading"].is(string(events.Broken)) {
			breaks++
			actions[i]["action.first_break"] = truth(first)
			first = false
		}
		if kind := actions[i]["action.kind"]; len(kind.words) > 0 && events.Kind(kind.words[0]).OnBall() {
			last = i
		}
	}
	if last >= 0 {
		actions[last]["action.last_on_ball"] = truth(true)
	}
	facts["chance.breaks"], facts["chance.actions"] = number(float64(breaks)), number(float64(len(x.actions)))
	var decided ref.Val // what the example says of chance.decided itself
	for name, g := range named(facts, x.fields) {
		switch f := fieldsByName[name]; {
		case name == decidedField && g.unknown:
			decided = absent[f.slot]
		case name == decidedField:
			decided = types.Bool(g.number != 0)
		case f.from == fromGame:
			set(c.Games.Column(f.column), 0, g)
		default:
			set(c.Chances.Column(f.column), 0, g)
		}
	}
	for i, facts := range actions {
		c.ActionChance = append(c.ActionChance, 0)
		c.ActionDefender = append(c.ActionDefender, x.player(c, facts, i, "defender"))
		c.ActionOpponent = append(c.ActionOpponent, x.player(c, facts, i, "opponent"))
		for name, g := range named(facts, x.actions[i].fields) {
			if f := fieldsByName[name]; f.from == fromAction {
				set(c.Actions.Column(f.column), i, g)
			}
		}
	}
	for _, t := range []*replay.Table{&c.Games, &c.Chances, &c.Actions, &c.Players} {
		for _, column := range t.Columns {
			if len(column.Reals)+column.Codes.Len() > 0 && t.Rows > 0 {
				set(column, t.Rows-1, given{unknown: true})
			}
		}
	}
	return c, decided
}

func (g given) is(word string) bool { return len(g.words) == 1 && g.words[0] == word }

func number(v float64) given  { return given{number: v} }
func words(w ...string) given { return given{words: w} }
func truth(b bool) given {
	if b {
		return given{number: 1}
	}
	return given{}
}

// named lays what an example sets over what follows of itself.
func named(facts map[string]given, set map[int]given) map[string]given {
	all := make(map[string]given, len(facts)+len(set))
	for name, g := range facts {
		all[name] = g
	}
	for slot, g := range set {
		all[fieldRefs[slot].name] = g
	}
	return all
}

// chanceFacts are the defaults of game, chance and possession.
func (x *Example) chanceFacts() map[string]given {
	facts := map[string]given{
		"game.id": words("example"), "game.competition": words("example"), "game.level": words("college"),
		"game.rules": words("fiba"), "game.date": words("2031-01-14"), "game.chart": words("main"),
		"chance.end": words("missed-2"), "chance.origin": words("make"), "chance.tempo": words("set"),
		"chance.period": number(1), "chance.clock": number(300), "chance.margin": number(0), "chance.heave": truth(false),
		"chance.base": words(events.Unknown), "chance.principle": words(events.Unknown), "chance.pressure": words("none"),
		"chance.offence": words("guests"), "chance.defence": words("hosts"),
		"possession.points_after": number(0), "possession.chances": number(1),
	}
	get := func(name string) (given, bool) {
		g, ok := named(facts, x.fields)[name]
		return g, ok && !g.unknown
	}
	end, _ := get("chance.end")
	chance := replay.Chance{}
	if len(end.words) == 1 {
		chance.End = events.End(end.words[0])
	}
	if chance.End.Missed() {
		facts["chance.rebound"] = words("defence")
	}
	if chance.End == events.TurnoverEnd {
		facts["chance.turnover"] = words("bad-pass")
	}
	rules, _ := events.RuleSet("fiba")
	if g, ok := get("game.rules"); ok {
		if named, known := events.RuleSet(events.RuleName(g.words[0])); known {
			rules = named
		}
	}
	facts["chance.points"] = number(float64(rules.Points(chance.End, 0)))
	if ball := ballAfter(chance.End, get); ball != "" {
		facts["chance.ball"] = words(ball)
	}
	period, ok := get("chance.period")
	if ok {
		facts["chance.last_period"] = truth(rules.Last(int(period.number)))
		facts["chance.overtime"] = truth(rules.Overtime(int(period.number)))
		if clock, ok := get("chance.clock"); ok {
			facts["chance.seconds_left"] = number(rules.Left(int(period.number), clock.number))
		}
	}
	given := 0.0
	if g, ok := get("chance.rebound"); ok && g.words[0] == "offence" {
		given = 1
	}
	facts["possession.rebounds_given"] = number(given)
	points, _ := get("chance.points")
	after, _ := get("possession.points_after")
	facts["possession.points"] = number(points.number + after.number)
	distance(facts, get, "chance.shot_x", "chance.shot_y", "chance.shot_distance")
	return facts
}

// ballAfter says who has the ball next, as the end tells it.
func ballAfter(end events.End, get func(string) (given, bool)) string {
	if rebound, ok := get("chance.rebound"); ok && !rebound.is("dead") {
		return rebound.words[0]
	}
	switch end {
	case events.Made2, events.Made3, events.FreeThrowEnd, events.TurnoverEnd, events.JumpBallEnd:
		return "defence"
	}
	return ""
}

func distance(facts map[string]given, get func(string) (given, bool), x, y, name string) {
	a, okA := get(x)
	b, okB := get(y)
	if okA && okB {
		facts[name] = number(math.Hypot(a.number, b.number))
	}
}

// actionFacts are the defaults of one action and its two players.
func (x *Example) actionFacts(i int, efforts map[string]int) map[string]given {
	facts := map[string]given{
		"action.kind": words("drive"), "action.order": number(float64(i + 1)),
		"action.first_break": truth(false), "action.last_on_ball": truth(false),
		"defender.id": words("hosts-4"), "defender.team": words("hosts"), "defender.number": words("4"), "defender.role": words("guard"),
		"opponent.id": words("guests-7"), "opponent.team": words("guests"), "opponent.number": words("7"), "opponent.role": words("guard"),
	}
	get := func(name string) (given, bool) {
		g, ok := named(facts, x.actions[i].fields)[name]
		return g, ok && !g.unknown
	}
	var kind events.Kind
	if g, ok := get("action.kind"); ok {
		kind = events.Kind(g.words[0])
		facts["action.kind"] = g
		facts["action.outcome"] = words(string(events.OutcomesOf(kind)[0].Outcome))
	}
	if g, ok := get("action.outcome"); ok {
		a := events.Action{Kind: kind, Outcome: events.Outcome(g.words[0]), Details: events.Details{}}
		if foul, ok := get("action.foul"); ok {
			a.Details["foul"] = foul.words
		}
		if reading := a.Reading(); reading != events.NoReading {
			facts["action.reading"] = words(string(reading))
		}
	}
	defender := ""
	if g, ok := get("defender.id"); ok {
		defender = g.words[0]
		efforts[defender]++
		facts["action.effort"] = number(float64(efforts[defender]))
	} else {
		facts["action.effort"] = number(1)
	}
	distance(facts, get, "action.x", "action.y", "action.distance")
	if g, ok := get("action.reading"); ok {
		facts["action.reading"] = g
	}
	return facts
}

// player adds a row for an action's defender or opponent; nobody is row 0.
func (x *Example) player(c *replay.Columns, facts map[string]given, i int, root string) uint32 {
	all := named(facts, x.actions[i].fields)
	if all[root+".id"].unknown {
		return 0
	}
	for row := 1; row < c.Players.Rows; row++ {
		if id := c.Players.Column("player.id"); root == "defender" && id.Words[id.Code(row)] == all["defender.id"].words[0] {
			return uint32(row)
		}
	}
	row := c.Players.Rows
	c.Players.Rows++
	for _, short := range shortNames(root) {
		if g, ok := all[root+"."+short]; ok {
			set(c.Players.Column("player."+short), row, g)
		}
	}
	return uint32(row)
}

// set writes one field of one row, filling the rows before it as absent.
func set(c *replay.Column, row int, g given) {
	if c.Field.Shape == replay.Real {
		for len(c.Reals) <= row {
			c.Reals = append(c.Reals, float32(math.NaN()))
		}
		if !g.unknown {
			c.Reals[row] = float32(g.number)
		}
		return
	}
	for len(c.Codes.U16) <= row {
		c.Codes.U16 = append(c.Codes.U16, 0)
	}
	if g.unknown {
		return
	}
	c.Codes.U16[row] = uint16(codeOf(c, g))
}

// codeOf finds a value in a column's dictionary, or puts it there.
func codeOf(c *replay.Column, g given) int {
	switch c.Field.Shape {
	case replay.Number, replay.Truth:
		if at := slices.Index(c.Numbers, g.number); at > 0 {
			return at
		}
		c.Numbers = append(c.Numbers, g.number)
	default:
		text := strings.Join(g.words, " ")
		if at := slices.Index(c.Words, text); at > 0 {
			return at
		}
		c.Words = append(c.Words, text)
		if c.Field.Shape == replay.Words {
			c.Lists = append(c.Lists, g.words)
		}
	}
	return c.Cardinality() - 1
}
