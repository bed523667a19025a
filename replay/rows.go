package replay

import "stopledger/events"

// Season is a folded ledger: its games sorted by id, and what was wrong with
// lines that were no events.
type Season struct {
	Games    []*Game
	Findings []Finding // about events that belong to no game
}

// Game is one folded game with all its charts.
type Game struct {
	ID     events.Token
	Info   events.GameOpened // of the chart of record; players of all charts united
	Charts []*Chart          // sorted by name
	Record events.Token      // the chart of record: adopted, else "main", else the first by name
	Digest string            // of the game's set of events
	Events int               // distinct events, those of newer versions included

	Findings []Finding // about the game as a whole
}

// Chart returns the chart of that name, or nil.
func (g *Game) Chart(name events.Token) *Chart {
	for _, c := range g.Charts {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// OfRecord returns the chart that numbers use, or nil for a game without any.
func (g *Game) OfRecord() *Chart { return g.Chart(g.Record) }

// Chart is one account of one game.
type Chart struct {
	Name  events.Token
	Info  events.GameOpened  // this chart's opening, else the game's
	Scope events.ChartScoped // zero: both ends, everybody

	Possessions []Possession
	Chances     []Chance // in the order of play
	Actions     []Action // by chance, then in the order of play
	Strays      []Action // actions whose chance is missing, voided or not begun: uncounted
	Penalties   []Penalty
	Notes       []Note
	Films       []events.FilmLinked
	Anchors     []events.FilmAnchored

	Totals   map[events.Token]events.Totals // by team, counted from this chart
	Players  map[events.Token]events.Totals // by player, as far as charted
	Official *events.TotalsEntered          // as entered, or nil
	Exposure []Exposure                     // sorted by player
	Charters []Charter                      // who charted, sorted

	Now    Situation // after the last event: for a Pad that opens the chart
	Closed bool      // a game-closed stands

	Findings []Finding
}

// Possession is a team's unbroken control of the ball.
type Possession struct {
	Offence events.Token
	First   int // index of its first chance
	Chances int // how many chances it holds, one after the other
	Points  int // scored in it
}

// Chance is one try at scoring within a possession.
type Chance struct {
	ID         events.ID
	Possession int // index
	Number     int // within the possession, from 1
	Offence    events.Token
	Defence    events.Token
	Origin     events.Origin
	Tempo      events.Tempo
	When       events.When // of the beginning, as it stands
	Finish     events.When // of the end, as it stands; zero while open
	Began      Mark
	Finished   Mark // zero while open

	Ended     bool
	End       events.End
	Turnover  events.Turnover
	Next      events.Side
	Shooter   events.Token
	LostBy    events.Token
	Spot      *events.Spot
	BlockedBy events.Token
	StealBy   events.Token
	Heave     bool
	Rebound   events.Side // of the last miss, from the floor or the line
	ReboundBy events.Token
	TeamBoard bool // the rebound is the team's: dead or out of bounds
	Made      int  // free throws, those that came later included
	Attempted int
	Focus     events.Focus

	Points int
	// Ball says who has the ball next: Offence, Defence, or "" where the chart
	// does not tell. A miss that the period's end swallows is the defence's: the
	// possession is over.
	Ball events.Side

	Base      events.Base
	Principle events.Principle
	Pressure  events.Pressure

	Margin *int // the defence's lead before the chance; nil where the score is unknown

	First   int // index of its first action
	Actions int // how many it holds
	Breaks  int // how many of them read broken

	PointsAfter int // scored in the possession after this chance

	OnFloor      []events.Token // the defence's line-up, as far as known
	OffenceFloor []events.Token
}

// Opportunity reports whether the chance was a try at all: ended, and not by
// the period's end without a shot.
func (c *Chance) Opportunity() bool { return c.Ended && c.End != events.PeriodEnd }

// Action is one thing a defender was asked to do, as it stands.
type Action struct {
	ID       events.ID
	Chance   int // index; -1 for a stray
	ChanceID events.ID
	Kind     events.Kind
	Defender events.Token
	Opponent events.Token
	Outcome  events.Outcome
	Reading  events.Reading
	Details  events.Details
	Spot     *events.Spot
	When     events.When
	Mark     Mark

	Order      int  // within the chance, from 1
	Effort     int  // the defender's first, second, third thing in the chance
	FirstBreak bool // the first action of the chance that reads broken
	LastOnBall bool // the last action of the chance that guarded the ball
}

// Mark says who charted a fact, and which revision stands.
type Mark struct {
	Charter  events.Token
	Pad      events.Token
	N        int64
	Revision events.ID // the correction that stands, or the event's own id
}

// Penalty is a trip to the line that no chance answers for.
type Penalty struct {
	ID   events.ID
	When events.When
	events.PenaltyShots
}

// Note is a remark.
type Note struct {
	ID   events.ID
	When events.When
	Mark Mark
	events.Noted
}

// Exposure says how much a player could have been tested: what happened while
// he was on the floor on defence, as far as line-ups are known.
type Exposure struct {
	Player  events.Token
	Team    events.Token
	Chances int // ended chances against his team with him on the floor
	Misses  int // misses among them whose rebound somebody took
	Acted   int // chances in which he has an action
}

// Charter counts one charter's work on a chart.
type Charter struct {
	Charter     events.Token
	Events      int
	Corrections int
}

// Situation is the state of the game after the last event.
type Situation struct {
	When    events.When
	Score   map[events.Token]int // by team; as charted, or as last noted
	LineUps map[events.Token][]events.Token
	Schemes map[events.Token]events.SchemeSet
	Open    events.ID // the chance that has begun and not ended, or ""
}

// Severity says how much a finding should worry.
type Severity string

// Severities, gravest last.
const (
	Remark  Severity = "remark"  // worth knowing
	Odd     Severity = "odd"     // probably a slip
	Serious Severity = "serious" // numbers are affected
)

// Rank orders severities, the gravest highest.
func (s Severity) Rank() int {
	switch s {
	case Serious:
		return 3
	case Odd:
		return 2
	case Remark:
		return 1
	}
	return 0
}

// Finding is something about the charting that a person should look at.
type Finding struct {
	What     string       `json:"what"` // a stable code, such as "stray-action"
	Severity Severity     `json:"severity,omitempty"`
	Event    events.ID    `json:"event,omitempty"`
	Chart    events.Token `json:"chart,omitempty"`
	Text     string       `json:"text"`
}
