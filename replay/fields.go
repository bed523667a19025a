package replay

import (
	"strings"

	"stopledger/events"
)

// Of says which table a field stands in.
type Of string

// The tables. Fields of players are seen twice, as defender and as opponent.
const (
	OfGame   Of = "game"
	OfChance Of = "chance" // chance.* and possession.*
	OfAction Of = "action"
	OfPlayer Of = "player"
)

// Shape says what a field holds.
type Shape string

// The shapes.
const (
	Word   Shape = "word"   // one word or id
	Words  Shape = "words"  // several words
	Number Shape = "number" // a number of few distinct values, coded
	Truth  Shape = "truth"  // true or false
	Real   Shape = "real"   // a measured number, plain
)

// Field is one thing an expression may read of a row. The table is the single
// source of its name, shape, closed list of words and meaning.
type Field struct {
	Name  string // as an expression writes it: "chance.end"; of a player, "player.role"
	Of    Of
	Shape Shape
	Words []string // closed list, nil where ids or free words stand
	Gloss string
}

// Fields is every field of the columns. The details of the vocabulary follow
// the plain fields of an action, one field a detail name.
var Fields = append([]Field{
	{"game.id", OfGame, Word, nil, "the game"},
	{"game.competition", OfGame, Word, nil, "the competition"},
	{"game.level", OfGame, Word, events.Level("").Words(), "level of competition"},
	{"game.rules", OfGame, Word, events.RuleName("").Words(), "rule set"},
	{"game.date", OfGame, Word, nil, "date, YYYY-MM-DD"},
	{"game.chart", OfGame, Word, nil, "the chart of record"},
	{"game.invented", OfGame, Truth, nil, "demo data, marked as invented"},

	{"chance.end", OfChance, Word, events.End("").Words(), "how the chance ended"},
	{"chance.turnover", OfChance, Word, events.Turnover("").Words(), "how the ball was lost"},
	{"chance.origin", OfChance, Word, events.Origin("").Words(), "how the chance came about"},
	{"chance.tempo", OfChance, Word, events.Tempo("").Words(), "when it was tried"},
	{"chance.points", OfChance, Number, nil, "points scored, free throws included"},
	{"chance.rebound", OfChance, Word, events.Side("").Words(), "who got the rebound"},
	{"chance.ball", OfChance, Word, []string{"offence", "defence"}, "who has the ball next"},
	{"chance.period", OfChance, Number, nil, "the period, from 1"},
	{"chance.last_period", OfChance, Truth, nil, "the last of regulation, or an overtime"},
	{"chance.overtime", OfChance, Truth, nil, "an overtime"},
	{"chance.clock", OfChance, Real, nil, "seconds left in the period when it began"},
	{"chance.seconds_left", OfChance, Real, nil, "seconds left in the game, or in the overtime, when it began"},
	{"chance.margin", OfChance, Number, nil, "the defence's lead before it"},
	{"chance.heave", OfChance, Truth, nil, "a heave at the horn"},
	{"chance.base", OfChance, Word, events.Base("").Words(), "the defence's base scheme"},
	{"chance.principle", OfChance, Word, events.Principle("").Words(), "the rule it helps by"},
	{"chance.pressure", OfChance, Word, events.Pressure("").Words(), "how far up it picks up"},
	{"chance.offence", OfChance, Word, nil, "the team with the ball"},
	{"chance.defence", OfChance, Word, nil, "the team without it"},
	{"chance.breaks", OfChance, Number, nil, "actions in it that read broken"},
	{"chance.actions", OfChance, Number, nil, "actions charted in it"},
	{"chance.shot_x", OfChance, Real, nil, "the shot's place, metres to the shooter's right"},
	{"chance.shot_y", OfChance, Real, nil, "the shot's place, metres toward midcourt"},
	{"chance.shot_distance", OfChance, Real, nil, "the shot's distance from the basket's centre, metres"},
	{"possession.points", OfChance, Number, nil, "points of the whole possession"},
	{"possession.points_after", OfChance, Number, nil, "points of the possession after this chance"},
	{"possession.chances", OfChance, Number, nil, "chances of the possession"},
	{"possession.rebounds_given", OfChance, Number, nil, "offensive rebounds the possession gave up"},

	{"action.kind", OfAction, Word, events.Kind("").Words(), "what was asked of the defender"},
	{"action.outcome", OfAction, Word, allOutcomes(), "how it ended"},
	{"action.reading", OfAction, Word, events.Reading("").Words(), "what that says about him"},
	{"action.effort", OfAction, Number, nil, "his first, second, third thing in the chance"},
	{"action.order", OfAction, Number, nil, "place within the chance, from 1"},
	{"action.first_break", OfAction, Truth, nil, "the first of the chance to read broken"},
	{"action.last_on_ball", OfAction, Truth, nil, "the last of the chance that guarded the ball"},
	{"action.x", OfAction, Real, nil, "its place, metres to the shooter's right"},
	{"action.y", OfAction, Real, nil, "its place, metres toward midcourt"},
	{"action.distance", OfAction, Real, nil, "its distance from the basket's centre, metres"},

	{"player.id", OfPlayer, Word, nil, "the player's code"},
	{"player.team", OfPlayer, Word, nil, "his team"},
	{"player.number", OfPlayer, Word, nil, "his shirt number"},
	{"player.role", OfPlayer, Word, events.Role("").Words(), "guard, wing or big"},
	{"player.height_cm", OfPlayer, Number, nil, "height, centimetres"},
	{"player.wingspan_cm", OfPlayer, Number, nil, "wingspan, centimetres"},
	{"player.weight_kg", OfPlayer, Number, nil, "weight, kilograms"},
	{"player.hand", OfPlayer, Word, events.Hand("").Words(), "the hand he shoots with"},
	{"player.shooter", OfPlayer, Truth, nil, "must be guarded at the three-point line"},
}, detailFields()...)

// FieldNamed finds a field by the name an expression writes, with defender and
// opponent both reading players' fields.
func FieldNamed(name string) (Field, bool) {
	root, rest, _ := strings.Cut(name, ".")
	if root == "defender" || root == "opponent" {
		name = "player." + rest
	}
	for _, f := range Fields {
		if f.Name == name {
			return f, true
		}
	}
	return Field{}, false
}

// detailFields makes one field of every detail name; the words of all kinds
// that take it are united.
func detailFields() []Field {
	var fields []Field
	at := make(map[string]int)
	for _, row := range events.DetailRows {
		i, known := at[row.Name]
		if !known {
			shape := Word
			if row.Many {
				shape = Words
			}
			at[row.Name] = len(fields)
			fields = append(fields, Field{"action." + row.Name, OfAction, shape, row.Words, row.Gloss})
			continue
		}
		fields[i].Words = append(append([]string{}, fields[i].Words...), row.Words...)
	}
	return fields
}

func allOutcomes() []string {
	var words []string
	seen := make(map[events.Outcome]bool)
	for _, k := range events.Kinds {
		for _, o := range events.OutcomesOf(k.Kind) {
			if !seen[o.Outcome] {
				seen[o.Outcome] = true
				words = append(words, string(o.Outcome))
			}
		}
	}
	return words
}
