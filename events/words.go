package events

// A word type is a closed list of words of the trade. Its Words method is the
// single place where the list stands: checks, the JSON Schema, the handbook
// and the Pad all ask it. The empty word means "not said".

// Role is what a player is, as the opponent's coach would say it.
type Role string

// Level is the level of competition a game belongs to.
type Level string

// Origin is how a chance came about.
type Origin string

// Tempo is when within the offence's time the chance was tried.
type Tempo string

// End is how a chance ended.
type End string

// Turnover is how the ball was lost.
type Turnover string

// Side names one of the two teams from the point of view of a chance, or
// neither: "dead" when the ball went to nobody.
type Side string

// LastShot is what became of the last free throw of a trip.
type LastShot string

// Base is the defence's base scheme.
type Base string

// Principle is the rule the defence helps by.
type Principle string

// Pressure is how far up the floor the defence picks up.
type Pressure string

// ClockSource says where an event's clock came from.
type ClockSource string

// Focus is what a one-player chart says about its player in a chance.
type Focus string

// Ends says which baskets a chart set out to hold.
type Ends string

// PenaltyWhy is why shots were given outside any chance.
type PenaltyWhy string

// Words the code itself speaks of. The lists below are the authority.
const (
	Guard Role = "guard"
	Wing  Role = "wing"
	Big   Role = "big"

	OffensiveRebound Origin = "offensive-rebound"
	DefensiveRebound Origin = "defensive-rebound"
	FromMake         Origin = "make"
	FromSteal        Origin = "steal"
	FromDeadBall     Origin = "dead-ball"
	FromSideline     Origin = "sideline"
	FromBaseline     Origin = "baseline"
	FromJump         Origin = "jump"

	Made2        End = "made-2"
	Made3        End = "made-3"
	Missed2      End = "missed-2"
	Missed3      End = "missed-3"
	FreeThrowEnd End = "free-throws"
	TurnoverEnd  End = "turnover"
	JumpBallEnd  End = "jump-ball"
	PeriodEnd    End = "period-end"

	Offence Side = "offence"
	Defence Side = "defence"
	Dead    Side = "dead"

	LastMade    LastShot = "made"
	LastOffence LastShot = "offence"
	LastDefence LastShot = "defence"

	Acted     Focus = "acted"
	NotTested Focus = "not-tested"
	NotSeen   Focus = "not-seen"

	BothEnds Ends = "both"
	OneEnd   Ends = "one"

	Unknown = "unknown" // a scheme nobody named; the default, never "man"
)

// Words lists the roles.
func (Role) Words() []string { return []string{"guard", "wing", "big"} }

// Words lists the levels, youngest first.
func (Level) Words() []string {
	return []string{"youth", "high-school", "college", "development", "professional", "international"}
}

// Words lists the origins.
func (Origin) Words() []string {
	return []string{"make", "defensive-rebound", "steal", "dead-ball", "sideline", "baseline", "offensive-rebound", "jump"}
}

// Words lists the tempos, earliest first.
func (Tempo) Words() []string { return []string{"break", "early", "set", "late-clock"} }

// Words lists the ends.
func (End) Words() []string {
	return []string{"made-2", "made-3", "missed-2", "missed-3", "free-throws", "turnover", "jump-ball", "period-end"}
}

// Words lists the ways to lose the ball.
func (Turnover) Words() []string {
	return []string{"steal", "bad-pass", "travel", "shot-clock", "count", "out", "charge", "illegal-screen"}
}

// Words lists the sides.
func (Side) Words() []string { return []string{"offence", "defence", "dead"} }

// Words lists what a last free throw may become.
func (LastShot) Words() []string { return []string{"made", "offence", "defence"} }

// Words lists the base schemes.
func (Base) Words() []string {
	return []string{"man", "zone-2-3", "zone-3-2", "zone-1-3-1", "matchup-zone", "box-and-one", "triangle-and-two", Unknown}
}

// Words lists the principles.
func (Principle) Words() []string {
	return []string{"gap", "denial", "no-middle", "switch-all", Unknown}
}

// Words lists the pressures.
func (Pressure) Words() []string {
	return []string{"none", "full", "three-quarter", "half-court-trap"}
}

// Words lists where a clock may come from: the Pad's running clock, the
// charter's fingers, a film anchor, the official play-by-play, or a guess from
// the events around it.
func (ClockSource) Words() []string {
	return []string{"ticked", "typed", "film", "outline", "inferred"}
}

// Words lists what a focus chart may say of a chance.
func (Focus) Words() []string { return []string{"acted", "not-tested", "not-seen"} }

// Words lists the scopes.
func (Ends) Words() []string { return []string{"both", "one"} }

// Words lists why shots are given outside any chance.
func (PenaltyWhy) Words() []string {
	return []string{"technical", "flagrant", "clear-path", "take-foul"}
}
