package events

// TypeRow is one event type: its name, what it is for, and an empty body.
type TypeRow struct {
	Type  Type
	Gloss string
	New   func() Body
}

// Types lists every event type of this version, in the order a chart meets
// them.
var Types = []TypeRow{
	{"game-opened", "which game, by which rules, with whom", func() Body { return new(GameOpened) }},
	{"chart-scoped", "what this chart set out to hold", func() Body { return new(ChartScoped) }},
	{"film-linked", "a film, and how to know it again", func() Body { return new(FilmLinked) }},
	{"film-anchored", "ties a film time to the game clock", func() Body { return new(FilmAnchored) }},
	{"lineup-set", "who is on the floor for a team", func() Body { return new(LineupSet) }},
	{"substituted", "one in, one out", func() Body { return new(Substituted) }},
	{"scheme-set", "how a team defends from here on", func() Body { return new(SchemeSet) }},
	{"chance-began", "a chance begins; the event's id is the chance's", func() Body { return new(ChanceBegan) }},
	{"action", "one thing a defender was asked to do, with its outcome", func() Body { return new(Action) }},
	{"chance-ended", "how the chance ended", func() Body { return new(ChanceEnded) }},
	{"shots-taken", "free throws that came after the end was charted", func() Body { return new(ShotsTaken) }},
	{"penalty-shots", "free throws that no chance answers for", func() Body { return new(PenaltyShots) }},
	{"score-noted", "the scoreboard as seen", func() Body { return new(ScoreNoted) }},
	{"amended", "a whole new body in the place of an earlier one", func() Body { return new(Amended) }},
	{"voided", "an event taken out; amending over it restores", func() Body { return new(Voided) }},
	{"reassigned", "a wrong player put right over many events", func() Body { return new(Reassigned) }},
	{"chance-merged", "two chances are one", func() Body { return new(ChanceMerged) }},
	{"chart-adopted", "the chart of record of this game", func() Body { return new(ChartAdopted) }},
	{"noted", "a remark", func() Body { return new(Noted) }},
	{"totals-entered", "the official totals", func() Body { return new(TotalsEntered) }},
	{"game-closed", "nothing more is expected", func() Body { return new(GameClosed) }},
}

var typeRows = func() map[Type]TypeRow {
	rows := make(map[Type]TypeRow, len(Types))
	for _, r := range Types {
		rows[r.Type] = r
	}
	return rows
}()

// Words lists the event types.
func (Type) Words() []string {
	words := make([]string, len(Types))
	for i, r := range Types {
		words[i] = string(r.Type)
	}
	return words
}

// Type returns "game-opened".
func (*GameOpened) Type() Type { return "game-opened" }

// Type returns "chart-scoped".
func (*ChartScoped) Type() Type { return "chart-scoped" }

// Type returns "film-linked".
func (*FilmLinked) Type() Type { return "film-linked" }

// Type returns "film-anchored".
func (*FilmAnchored) Type() Type { return "film-anchored" }

// Type returns "lineup-set".
func (*LineupSet) Type() Type { return "lineup-set" }

// Type returns "substituted".
func (*Substituted) Type() Type { return "substituted" }

// Type returns "scheme-set".
func (*SchemeSet) Type() Type { return "scheme-set" }

// Type returns "chance-began".
func (*ChanceBegan) Type() Type { return "chance-began" }

// Type returns "action".
func (*Action) Type() Type { return "action" }

// Type returns "chance-ended".
func (*ChanceEnded) Type() Type { return "chance-ended" }

// Type returns "shots-taken".
func (*ShotsTaken) Type() Type { return "shots-taken" }

// Type returns "penalty-shots".
func (*PenaltyShots) Type() Type { return "penalty-shots" }

// Type returns "score-noted".
func (*ScoreNoted) Type() Type { return "score-noted" }

// Type returns "amended".
func (*Amended) Type() Type { return "amended" }

// Type returns "voided".
func (*Voided) Type() Type { return "voided" }

// Type returns "reassigned".
func (*Reassigned) Type() Type { return "reassigned" }

// Type returns "chance-merged".
func (*ChanceMerged) Type() Type { return "chance-merged" }

// Type returns "chart-adopted".
func (*ChartAdopted) Type() Type { return "chart-adopted" }

// Type returns "noted".
func (*Noted) Type() Type { return "noted" }

// Type returns "totals-entered".
func (*TotalsEntered) Type() Type { return "totals-entered" }

// Type returns "game-closed".
func (*GameClosed) Type() Type { return "game-closed" }

// Type returns the unknown type's name.
func (o *Opaque) Type() Type { return o.Name }
