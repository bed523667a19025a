package evidence

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// Row is one chance as a person would want to look at it.
type Row struct {
	Game     events.Token `json:"game"`
	Date     string       `json:"date,omitempty"`
	Level    events.Level `json:"level,omitempty"`
	Home     events.Team  `json:"home"`
	Away     events.Team  `json:"away"`
	Invented bool         `json:"invented,omitempty"`
	Chart    events.Token `json:"chart"`

	Chance  events.ID    `json:"chance"`
	Period  int          `json:"period,omitempty"`
	Clock   *float64     `json:"clock,omitempty"`  // seconds left when it began
	Finish  *float64     `json:"finish,omitempty"` // seconds left when it ended
	Offence events.Token `json:"offence"`
	Defence events.Token `json:"defence"`
	Margin  *int         `json:"margin,omitempty"` // the defence's lead before it
	Origin  string       `json:"origin,omitempty"`
	Tempo   string       `json:"tempo,omitempty"`
	Scheme  string       `json:"scheme,omitempty"` // base and principle, as far as charted

	End     events.End      `json:"end,omitempty"`
	Turn    events.Turnover `json:"turnover,omitempty"`
	Points  int             `json:"points"`
	Ball    events.Side     `json:"ball,omitempty"` // who has it next
	Rebound events.Side     `json:"rebound,omitempty"`
	Acts    []Act           `json:"actions"` // in order

	Film   *Shown `json:"film,omitempty"`
	NoFilm string `json:"no_film,omitempty"` // why there is none

	from, to film.Moment
}

// Act is one action of a chance.
type Act struct {
	ID       events.ID      `json:"id"`
	Kind     events.Kind    `json:"kind"`
	Outcome  events.Outcome `json:"outcome"`
	Reading  events.Reading `json:"reading,omitempty"`
	Defender events.Token   `json:"defender,omitempty"`
	Opponent events.Token   `json:"opponent,omitempty"`
	Details  events.Details `json:"details,omitempty"`
	Spot     *events.Spot   `json:"spot,omitempty"`
	Effort   int            `json:"effort,omitempty"`
	Asked    bool           `json:"asked,omitempty"` // one of those that were looked for
}

// Shown is where a chance is on film.
type Shown struct {
	ID    events.Token `json:"id"`
	Name  string       `json:"name"`
	At    float64      `json:"at"`  // seconds into the film where it begins
	End   float64      `json:"end"` // where it ends
	Doubt float64      `json:"doubt"`
	By    string       `json:"by"` // what the placing rests on
}

// Of looks up chances of one game's chart of record, in the order of play. The
// actions named in asked are marked. Chances that the chart does not hold are
// passed over.
func Of(g *replay.Game, chances map[events.ID]bool, asked map[events.ID]bool) []Row {
	c := g.OfRecord()
	if c == nil {
		return nil
	}
	films := filmsOf(c)
	var rows []Row
	for i := range c.Chances {
		if chances[c.Chances[i].ID] {
			rows = append(rows, rowOf(g, c, i, films, func(a *replay.Action) bool { return asked[a.ID] }))
		}
	}
	return rows
}

func rowOf(g *replay.Game, c *replay.Chart, i int, films []film.Film, asked func(*replay.Action) bool) Row {
	ch := &c.Chances[i]
	r := Row{
		Game: g.ID, Date: c.Info.Date, Level: c.Info.Level, Home: c.Info.Home, Away: c.Info.Away, Invented: g.Info.Invented || c.Info.Invented, Chart: c.Name,
		Chance: ch.ID, Period: ch.When.Period, Clock: ch.When.Clock, Finish: ch.Finish.Clock, Offence: ch.Offence, Defence: ch.Defence,
		Margin: ch.Margin, Origin: string(ch.Origin), Tempo: string(ch.Tempo), Scheme: schemeOf(ch),
		End: ch.End, Turn: ch.Turnover, Points: ch.Points, Ball: ch.Ball, Rebound: ch.Rebound, Acts: []Act{},
	}
	last := ch.Finish
	for j := ch.First; j < ch.First+ch.Actions; j++ {
		a := &c.Actions[j]
		r.Acts = append(r.Acts, Act{
			ID: a.ID, Kind: a.Kind, Outcome: a.Outcome, Reading: a.Reading, Defender: a.Defender, Opponent: a.Opponent,
			Details: a.Details, Spot: a.Spot, Effort: a.Effort, Asked: asked(a),
		})
		if !ch.Ended {
			last = a.When
		}
	}
	r.from = momentOf(ch.When)
	r.to = momentOf(last)
	if r.to == (film.Moment{}) {
		r.to = r.from
	}
	r.place(films)
	return r
}

func schemeOf(ch *replay.Chance) string {
	base, principle := string(ch.Base), string(ch.Principle)
	if principle == "" || principle == "unknown" {
		return base
	}
	return base + " " + principle
}

// Sort puts rows into the order of dates, games and play.
func Sort(rows []Row) {
	slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.Game, b.Game)) })
}
