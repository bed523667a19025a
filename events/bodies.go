package events

import "encoding/json"

// Type names what kind of fact an event is.
type Type string

// Body is the content of an event: a pointer to one of the structs below.
type Body interface{ Type() Type }

// GameOpened says which game this is. Several openings of one chart add up:
// players are united, other facts are the latest opening's, so that numbers
// may be added as they are seen.
type GameOpened struct {
	Competition Token    `json:"competition,omitempty"`
	Level       Level    `json:"level,omitempty"`
	Rules       Rules    `json:"rules"`
	Date        string   `json:"date,omitempty"` // YYYY-MM-DD
	Home        Team     `json:"home"`
	Away        Team     `json:"away"`
	Players     []Player `json:"players,omitempty"`
	Invented    bool     `json:"invented,omitempty"` // demo data; marked wherever it is shown
}

// Team is a team's id and, since a team is no person, its name.
type Team struct {
	ID   Token  `json:"id"`
	Name string `json:"name,omitempty"`
}

// Player is a roster line. His name and measurements are not in the log.
type Player struct {
	ID     Token  `json:"id"`
	Team   Token  `json:"team"`
	Number string `json:"number,omitempty"` // as on the shirt: "0" and "00" differ
	Role   Role   `json:"role,omitempty"`
}

// ChartScoped says what this chart set out to hold, so that nobody asks more
// of it.
type ChartScoped struct {
	Ends  Ends  `json:"ends,omitempty"`  // both, or one: Team's defence only
	Team  Token `json:"team,omitempty"`  // the team whose defence is charted
	Focus Token `json:"focus,omitempty"` // the one player charted
	From  When  `json:"from,omitzero"`
	To    When  `json:"to,omitzero"`
}

// FilmLinked names a film and how to know it again.
type FilmLinked struct {
	ID          Token  `json:"id"`
	Name        string `json:"name"`
	Bytes       int64  `json:"bytes,omitempty"`
	Fingerprint string `json:"fingerprint,omitempty"`
}

// FilmAnchored ties a film time to a game clock.
type FilmAnchored struct {
	Film   Token   `json:"film"`
	At     float64 `json:"at"` // seconds from the film's start
	Period int     `json:"period"`
	Clock  float64 `json:"clock"` // seconds left in the period
}

// LineupSet says which one to five players a team has on the floor.
type LineupSet struct {
	Team    Token   `json:"team"`
	Players []Token `json:"players"`
}

// Substituted swaps one player for another.
type Substituted struct {
	Team Token `json:"team"`
	In   Token `json:"in,omitempty"`
	Out  Token `json:"out,omitempty"`
}

// SchemeSet says how a team defends from here on.
type SchemeSet struct {
	Team      Token     `json:"team"`
	Base      Base      `json:"base,omitempty"`
	Principle Principle `json:"principle,omitempty"`
	Pressure  Pressure  `json:"pressure,omitempty"`
}

// ChanceBegan opens a chance; the event's own id is the chance's id.
type ChanceBegan struct {
	Offence Token  `json:"offence"`
	Origin  Origin `json:"origin,omitempty"`
	Tempo   Tempo  `json:"tempo,omitempty"`
}

// Action is one thing a defender was asked to do within a chance, with its
// outcome. Defender is absent when it was nobody's (a blown switch), Opponent
// where there was none (a zone).
type Action struct {
	Chance   ID      `json:"chance"`
	Kind     Kind    `json:"kind"`
	Defender Token   `json:"defender,omitempty"`
	Opponent Token   `json:"opponent,omitempty"`
	Outcome  Outcome `json:"outcome"`
	Details  Details `json:"details,omitempty"`
	Spot     *Spot   `json:"spot,omitempty"`
}

// Details are an action's optional words by detail name.
type Details map[string][]string

// First is the first value of a detail, or "" when it was not said.
func (d Details) First(name string) string {
	if v := d[name]; len(v) > 0 {
		return v[0]
	}
	return ""
}

// ChanceEnded closes a chance. Points are computed by the rule set from End
// and Made, never typed.
type ChanceEnded struct {
	Chance    ID       `json:"chance"`
	End       End      `json:"end"`
	Turnover  Turnover `json:"turnover,omitempty"` // with end turnover
	Next      Side     `json:"next,omitempty"`     // with end jump-ball: offence or defence
	Shooter   Token    `json:"shooter,omitempty"`  // who shot, or went to the line
	LostBy    Token    `json:"lost_by,omitempty"`  // who turned it over
	Spot      *Spot    `json:"spot,omitempty"`     // of the shot
	BlockedBy Token    `json:"blocked_by,omitempty"`
	StealBy   Token    `json:"steal_by,omitempty"`
	Heave     bool     `json:"heave,omitempty"`      // left out of contests and points per chance
	Rebound   Side     `json:"rebound,omitempty"`    // of a missed shot or last free throw
	ReboundBy Token    `json:"rebound_by,omitempty"` // absent: not said, or the team's
	// TeamRebound says that nobody took the ball: it went dead or out of bounds
	// and is Rebound's side's. Official totals do not count it as a rebound.
	TeamRebound bool  `json:"team_rebound,omitempty"`
	Made        int   `json:"made,omitempty"` // free throws with this end
	Attempted   int   `json:"attempted,omitempty"`
	Focus       Focus `json:"focus,omitempty"` // in a focus chart
}

// ShotsTaken are free throws that came after the end was charted.
type ShotsTaken struct {
	Chance    ID       `json:"chance"`
	Made      int      `json:"made"`
	Attempted int      `json:"attempted"`
	Last      LastShot `json:"last,omitempty"`
	ReboundBy Token    `json:"rebound_by,omitempty"` // with last offence or defence
	// TeamRebound is as in [ChanceEnded].
	TeamRebound bool  `json:"team_rebound,omitempty"`
	Shooter     Token `json:"shooter,omitempty"`
}

// PenaltyShots are points that no chance answers for.
type PenaltyShots struct {
	Team      Token      `json:"team"`
	Made      int        `json:"made"`
	Attempted int        `json:"attempted"`
	Why       PenaltyWhy `json:"why"`
	BallAfter Token      `json:"ball_after,omitempty"` // the team with the ball afterwards
	Shooter   Token      `json:"shooter,omitempty"`
}

// ScoreNoted is the scoreboard as seen, for charts that do not hold both ends.
type ScoreNoted struct {
	Home int `json:"home"`
	Away int `json:"away"`
}

// Amended puts a whole new body, and if it changed a new moment, in the place
// of what Base said. Target is an original event; Base is the revision that
// was looked at: the target itself or an earlier correction of it. Body is of
// the target's type and is read with [DecodeBody] once the target is known; an
// amendment without a body changes the moment alone.
type Amended struct {
	Target ID              `json:"target"`
	Base   ID              `json:"base"`
	Body   json.RawMessage `json:"body,omitempty"`
	When   *When           `json:"when,omitempty"`
	Why    string          `json:"why,omitempty"`
}

// Voided takes a target out. It is a revision: amending over it restores.
type Voided struct {
	Target ID     `json:"target"`
	Base   ID     `json:"base"`
	Why    string `json:"why,omitempty"`
}

// Reassigned puts a wrong shirt number right in one step: wherever From stands
// in the targets, To is meant.
type Reassigned struct {
	From    Token `json:"from"`
	To      Token `json:"to"`
	Targets []ID  `json:"targets"`
}

// ChanceMerged says that two chances are one: Drop's actions belong to Keep.
type ChanceMerged struct {
	Keep ID `json:"keep"`
	Drop ID `json:"drop"`
}

// ChartAdopted chooses the chart of record of this game.
type ChartAdopted struct {
	Chart Token `json:"chart"`
}

// Noted is a free remark.
type Noted struct {
	Text  string `json:"text"`
	About ID     `json:"about,omitempty"`
}

// TotalsEntered are the official totals.
type TotalsEntered struct {
	Teams   map[Token]Totals `json:"teams"`
	Players map[Token]Totals `json:"players,omitempty"`
}

// Totals are a box score's counts, of a team or a player.
type Totals struct {
	Points int `json:"points"`
	FGA    int `json:"fga"`
	FGM    int `json:"fgm"`
	ThreeA int `json:"three_a"`
	ThreeM int `json:"three_m"`
	FTA    int `json:"fta"`
	FTM    int `json:"ftm"`
	OReb   int `json:"oreb"`
	DReb   int `json:"dreb"`
	Tov    int `json:"tov"`
}

// GameClosed says that nothing more is expected.
type GameClosed struct{}

// Opaque is a body of a type this version does not know; only events of a
// newer version hold one.
type Opaque struct{ Name Type }
