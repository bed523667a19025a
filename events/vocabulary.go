package events

// VocabularyVersion counts changes to the words below. Caches and results name
// it, because a word added or moved may change what a fold says.
const VocabularyVersion = 1

// Kind is one thing a defender is asked to do within a chance.
type Kind string

// The twelve kinds.
const (
	Drive      Kind = "drive"
	Deny       Kind = "deny"
	Post       Kind = "post"
	BallScreen Kind = "ball-screen"
	Coverage   Kind = "coverage"
	Chase      Kind = "chase"
	Closeout   Kind = "closeout"
	Contest    Kind = "contest"
	GapHelp    Kind = "gap-help"
	Rotation   Kind = "rotation"
	BoxOut     Kind = "box-out"
	Transition Kind = "transition"
)

// Outcome is the trade's word for how an action ended.
type Outcome string

// Outcomes that every kind takes. A bare reading is an outcome too: "held,
// unspecified", for when there is no time for more.
const (
	Fouled      Outcome = "fouled"
	ChargeDrawn Outcome = "charge-drawn"
	NotClear    Outcome = "unclear"
	BareHeld    Outcome = "held"
	BareEven    Outcome = "even"
	BareBroken  Outcome = "broken"
)

// Reading is what an outcome says about the defender.
type Reading string

// The readings. NoReading is for a foul to give or to stop a break: the
// defender did what he was told, and nothing was learnt about him.
const (
	Held      Reading = "held"
	Even      Reading = "even"
	Broken    Reading = "broken"
	Unclear   Reading = "unclear"
	NoReading Reading = ""
)

// Words lists the readings.
func (Reading) Words() []string { return []string{"held", "even", "broken", "unclear"} }

// Words lists the kinds in the table's order.
func (Kind) Words() []string {
	words := make([]string, len(Kinds))
	for i, k := range Kinds {
		words[i] = string(k.Kind)
	}
	return words
}

// OutcomeRow is one outcome of a kind: the word, what it says about the
// defender, and what it looks like on the floor.
type OutcomeRow struct {
	Outcome Outcome `json:"outcome"`
	Reading Reading `json:"reading"`
	Gloss   string  `json:"gloss"`
}

// KindRow is one row of the vocabulary: at most three outcomes a reading, the
// commonest first, so that place means reading wherever they are shown.
type KindRow struct {
	Kind     Kind         `json:"kind"`
	Gloss    string       `json:"gloss"`
	Outcomes []OutcomeRow `json:"outcomes"`
}

// Kinds is the vocabulary. The words are the trade's own; the glosses are
// common practice, no source.
var Kinds = []KindRow{
	{Drive, "on the ball", []OutcomeRow{
		{"stopped", Held, "kept the dribbler in front until he gave it up"},
		{"killed-dribble", Held, "made him pick the ball up"},
		{"stripped", Held, "took or poked the ball away"},
		{"gave-ground", Even, "in front still, but moved toward the basket"},
		{"needed-help", Even, "a team-mate had to step in before he was beaten"},
		{"beaten", Broken, "the dribbler got past his hip"},
	}},
	{Deny, "off the ball, cuts", []OutcomeRow{
		{"denied", Held, "no pass could be thrown to his man"},
		{"bumped-cutter", Held, "put a body on the cut and sent it elsewhere"},
		{"deflected", Held, "got a hand to the pass"},
		{"caught-outside", Even, "his man caught it, farther out than he wanted"},
		{"back-cut", Broken, "cut behind"},
		{"face-cut", Broken, "cut in front"},
		{"lost-him", Broken, "lost sight of his man"},
	}},
	{Post, "in the post", []OutcomeRow{
		{"denied-entry", Held, "no entry pass"},
		{"held-spot", Held, "gave no floor after the catch"},
		{"pushed-out", Held, "moved the catch off the block"},
		{"gave-step", Even, "gave a step, still between man and basket"},
		{"pinned", Broken, "sealed behind or on the side"},
		{"backed-down", Broken, "walked under the basket"},
		{"spun-on", Broken, "lost him on the turn"},
	}},
	{BallScreen, "the handler's man at a ball screen", []OutcomeRow{
		{"navigated", Held, "over or under and back in front"},
		{"forced-away", Held, "sent the handler away from the screen"},
		{"switched-clean", Held, "switched with no gap between"},
		{"trailed", Even, "behind, but close enough to bother"},
		{"hit", Broken, "stopped dead by the screen"},
		{"shot-over-it", Broken, "shot over while he went under"},
		{"missed-switch", Broken, "a switch was on and he did not make it"},
	}},
	{Coverage, "the screener's man at a ball screen", []OutcomeRow{
		{"showed-and-back", Held, "stepped out, then back to his man in time"},
		{"contained", Held, "kept ball and screener in front"},
		{"switched-clean", Held, "took the ball with no gap between"},
		{"back-late", Even, "late back to the screener, nothing came of it"},
		{"split", Broken, "the ball went between him and his team-mate"},
		{"turned-corner", Broken, "the ball went round him"},
		{"lost-screener", Broken, "the screener was free"},
	}},
	{Chase, "off-ball screens", []OutcomeRow{
		{"navigated", Held, "through and attached"},
		{"shot-gap", Held, "cut the corner and met him"},
		{"switched-clean", Held, "switched with no gap between"},
		{"trailed", Even, "a step behind at the catch"},
		{"hit", Broken, "stopped dead by the screen"},
		{"lost-on-curl", Broken, "beaten round the curl"},
		{"missed-switch", Broken, "a switch was on and he did not make it"},
	}},
	{Closeout, "from help to a shooter", []OutcomeRow{
		{"contained", Held, "took the shot away and stayed in front"},
		{"ran-off", Held, "made the shooter put it down into help"},
		{"short", Even, "stopped short: no drive, but a look at the basket"},
		{"late", Broken, "arrived after the release"},
		{"blown-by", Broken, "driven past on the way"},
		{"bit", Broken, "left his feet for a fake"},
	}},
	{Contest, "of a shot", []OutcomeRow{
		{"hand-up", Held, "a hand in the shooter's window in time"},
		{"altered", Held, "the shooter changed the shot"},
		{"blocked", Held, "blocked it"},
		{"late-hand", Even, "a hand, after the ball was gone"},
		{"open", Broken, "no contest"},
		{"bit", Broken, "left his feet for a fake"},
	}},
	{GapHelp, "one pass away", []OutcomeRow{
		{"stunted-and-back", Held, "showed at the ball and got back to his man"},
		{"dug-out", Held, "dug at the ball and it came loose or out"},
		{"no-return", Even, "helped, then was late back; nothing came of it"},
		{"late", Broken, "came after the damage"},
		{"over-helped", Broken, "helped where no help was needed and left a man open"},
		{"no-help", Broken, "stood on his man while the ball went by"},
	}},
	{Rotation, "from the weak side", []OutcomeRow{
		{"right-read", Held, "took the right man at the right time"},
		{"took-away", Held, "got there first: no pass or no shot"},
		{"late-but-there", Even, "late, but the finish was bothered"},
		{"wrong-read", Broken, "went to the wrong man"},
		{"never-came", Broken, "watched"},
	}},
	{BoxOut, "when a shot goes up", []OutcomeRow{
		{"body-then-ball", Held, "found a body, then the ball"},
		{"held-off", Held, "kept his man off the glass"},
		{"pursued", Held, "no body near, went and got it"},
		{"ball-elsewhere", Even, "did his part; it bounced away"},
		{"ball-watched", Broken, "stood and watched the flight"},
		{"moved-under", Broken, "pushed under the basket"},
		{"lost-him", Broken, "his man came in unseen"},
	}},
	{Transition, "getting back", []OutcomeRow{
		{"stopped-ball", Held, "made the ball stop or turn"},
		{"matched", Held, "found a man before he could hurt"},
		{"took-rim", Held, "first back, protected the basket"},
		{"slowed", Even, "slowed it down, not stopped"},
		{"trailed", Broken, "chased from behind"},
		{"unmatched", Broken, "back, but on nobody"},
		{"jogged", Broken, "did not run"},
	}},
}

// EveryKind lists the outcomes that every kind takes besides its own.
var EveryKind = []OutcomeRow{
	{Fouled, Broken, "fouled; a foul to give or to stop a break has no reading"},
	{ChargeDrawn, Held, "drew the charge"},
	{NotClear, Unclear, "the film does not show it"},
	{BareHeld, Held, "held, no time for more"},
	{BareEven, Even, "even, no time for more"},
	{BareBroken, Broken, "broken, no time for more"},
}

// Row returns the vocabulary's row for a kind.
func (k Kind) Row() (KindRow, bool) {
	for _, row := range Kinds {
		if row.Kind == k {
			return row, true
		}
	}
	return KindRow{}, false
}

// OutcomesOf lists every outcome the kind takes, its own first. It is empty
// for an unknown kind.
func OutcomesOf(k Kind) []OutcomeRow {
	row, ok := k.Row()
	if !ok {
		return nil
	}
	return append(append([]OutcomeRow{}, row.Outcomes...), EveryKind...)
}

// readings maps kind and outcome to reading; made once from the table.
var readings = func() map[Kind]map[Outcome]Reading {
	all := make(map[Kind]map[Outcome]Reading, len(Kinds))
	for _, k := range Kinds {
		all[k.Kind] = make(map[Outcome]Reading)
		for _, o := range OutcomesOf(k.Kind) {
			all[k.Kind][o.Outcome] = o.Reading
		}
	}
	return all
}()

// Takes reports whether the kind may end with the outcome.
func (k Kind) Takes(o Outcome) bool {
	_, ok := readings[k][o]
	return ok
}

// Reading is what the action says about its defender: the table's reading of
// its outcome, except that a foul to give or to stop a break has none.
func (a *Action) Reading() Reading {
	if a.Outcome == Fouled {
		for _, f := range a.Details["foul"] {
			if f == "to-give" || f == "stop-break" {
				return NoReading
			}
		}
	}
	return readings[a.Kind][a.Outcome]
}

// OnBall reports whether the defender of such an action is guarding the ball:
// common practice, no source.
func (k Kind) OnBall() bool {
	switch k {
	case Drive, Post, BallScreen, Closeout, Contest:
		return true
	}
	return false
}
