package audit

import (
	"cmp"
	"slices"
	"time"

	"stopledger/events"
	"stopledger/replay"
)

// CharterReport is one person's charting over many games.
type CharterReport struct {
	Charter events.Token `json:"charter"`
	Work
	// Against everybody else who charted the same games; Self against his own
	// second charts.
	Against Against       `json:"against"`
	Self    Against       `json:"self"`
	With    []With        `json:"with"`  // by the other charter
	Games   []CharterGame `json:"games"` // in the order of their dates
}

// Work counts what somebody charted, and how fast.
type Work struct {
	Charts      int `json:"charts"`
	Events      int `json:"events"`
	Chances     int `json:"chances"`
	Actions     int `json:"actions"`
	Corrections int `json:"corrections"`
	// PlayMinutes is the game clock of the chances he began; absent clocks count
	// nothing. RecordedMinutes is his own time between the chances and actions he
	// recorded, pauses of more than two minutes left out.
	PlayMinutes     float64  `json:"play_minutes"`
	RecordedMinutes float64  `json:"recorded_minutes"`
	PerPlayMinute   *float64 `json:"per_play_minute"`     // actions
	PerMinute       *float64 `json:"per_recorded_minute"` // actions
	CorrectedShare  *float64 `json:"corrected_share"`     // corrections for each action
}

// Against is agreement with other charts.
type Against struct {
	Games     int      `json:"games"`
	Precision *float64 `json:"precision"` // share of his actions that the others have too
	Recall    *float64 `json:"recall"`    // share of the others' that he has
	Kind      Field    `json:"kind"`
	Outcome   Field    `json:"outcome"`
	Order     Field    `json:"order"`    // held, even, broken, linear weights
	Resample  string   `json:"resample"` // what the intervals resample: chance, or game from eight games on
}

// With is agreement with one other charter.
type With struct {
	Charter events.Token `json:"charter"`
	Against
}

// CharterGame is one of his charts.
type CharterGame struct {
	Game  events.Token `json:"game"`
	Date  string       `json:"date,omitempty"`
	Chart events.Token `json:"chart"`
	Work
	Agreement *float64 `json:"agreement"` // weighted kappa of his readings with the others'; absent if charted once
	Pairs     int      `json:"pairs"`     // readings it rests on
}

// Charters follows everybody who charted over many games.
func Charters(games []*replay.Game, o Options) []CharterReport {
	o = o.orDefault()
	people := map[events.Token]*person{}
	get := func(who events.Token) *person {
		p := people[who]
		if p == nil {
			p = &person{against: newTally(), self: newTally(), with: map[events.Token]*tallied{}}
			p.report.Charter = who
			people[who] = p
		}
		return p
	}
	for _, g := range games {
		byPerson := map[events.Token]*tallied{}
		for i, a := range g.Charts {
			for _, b := range g.Charts[i+1:] {
				if p := pair(a, b, o); p.why == "" {
					p.tell(g.ID, get, byPerson)
				}
			}
		}
		for _, c := range g.Charts {
			for who, w := range workOn(c) {
				p := get(who)
				p.report.Work = p.report.plus(w)
				line := CharterGame{Game: g.ID, Date: c.Info.Date, Chart: c.Name, Work: w.rated()}
				if t := byPerson[who]; t != nil {
					line.Pairs = len(t.order.cells)
					if kappa, ok := t.order.kappa(t.order.table(nil)); ok {
						line.Agreement = &kappa
					}
				}
				p.report.Games = append(p.report.Games, line)
			}
		}
	}
	out := make([]CharterReport, 0, len(people))
	for _, p := range people {
		out = append(out, p.finish(o))
	}
	slices.SortFunc(out, func(a, b CharterReport) int { return cmp.Compare(a.Charter, b.Charter) })
	return out
}

type person struct {
	report        CharterReport
	against, self *tallied
	with          map[events.Token]*tallied
}

func (p *person) finish(o Options) CharterReport {
	r := &p.report
	r.Work = r.Work.rated()
	r.Against, r.Self = p.against.sum(o), p.self.sum(o)
	r.With = []With{}
	for who, t := range p.with {
		r.With = append(r.With, With{who, t.sum(o)})
	}
	slices.SortFunc(r.With, func(a, b With) int { return cmp.Compare(a.Charter, b.Charter) })
	slices.SortStableFunc(r.Games, func(a, b CharterGame) int {
		return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.Game, b.Game), cmp.Compare(a.Chart, b.Chart))
	})
	return *r
}

// tallied collects one person's labels beside others'.
type tallied struct {
	kind, outcome, order *judging
	mine, both, theirs   int
	games                []events.Token
	gameOf               []int // by chance
}

func newTally() *tallied {
	f := newJudged()
	return &tallied{kind: f.kind, outcome: f.outcome, order: f.order}
}

// enter opens a game and a first chance in it.
func (t *tallied) enter(game events.Token) {
	if n := len(t.games); n == 0 || t.games[n-1] != game {
		t.games = append(t.games, game)
	}
	t.gameOf = append(t.gameOf, len(t.games)-1)
}

func (t *tallied) add(mine, theirs *replay.Action) {
	chance := len(t.gameOf) - 1
	t.both, t.mine, t.theirs = t.both+1, t.mine+1, t.theirs+1
	t.kind.add(chance, 0, string(mine.Kind), string(theirs.Kind))
	if mine.Kind == theirs.Kind && !bare(mine.Outcome) && !bare(theirs.Outcome) {
		t.outcome.add(chance, kindIndex[mine.Kind], string(mine.Outcome), string(theirs.Outcome))
	}
	if onScale(mine.Reading) && onScale(theirs.Reading) {
		t.order.add(chance, 0, string(mine.Reading), string(theirs.Reading))
	}
}

// gamesToResample is from how many games on the game is what is resampled:
// judgements of one game share its film and its evening.
const gamesToResample = 8

func (t *tallied) sum(o Options) Against {
	out := Against{Games: len(t.games), Resample: "chance"}
	units := len(t.gameOf)
	if len(t.games) >= gamesToResample {
		out.Resample, units = "game", len(t.games)
		for _, j := range []*judging{t.kind, t.outcome, t.order} {
			for i := range j.cells {
				j.cells[i].chance = t.gameOf[j.cells[i].chance]
			}
		}
	}
	r := newResampler(units, o)
	out.Kind, out.Outcome, out.Order = t.kind.field(r), t.outcome.field(r), t.order.field(r)
	if t.mine > 0 {
		share := float64(t.both) / float64(t.mine)
		out.Precision = &share
	}
	if t.theirs > 0 {
		share := float64(t.both) / float64(t.theirs)
		out.Recall = &share
	}
	return out
}

// tell gives each charter of a pairing his labels beside the other's.
func (p *pairing) tell(game events.Token, get func(events.Token) *person, here map[events.Token]*tallied) {
	lists := func(who, other events.Token) []*tallied {
		if who == other {
			return []*tallied{get(who).self}
		}
		one := get(who)
		if one.with[other] == nil {
			one.with[other] = newTally()
		}
		if here[who] == nil {
			here[who] = newTally()
		}
		return []*tallied{one.against, one.with[other], here[who]}
	}
	entered := map[*tallied]int{}
	enter := func(t *tallied, chance int) {
		if at, done := entered[t]; !done || at != chance {
			t.enter(game)
			entered[t] = chance
		}
	}
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		for _, t := range lists(a.Mark.Charter, b.Mark.Charter) {
			enter(t, a.Chance)
			t.add(a, b)
		}
		if a.Mark.Charter == b.Mark.Charter {
			continue
		}
		for _, t := range lists(b.Mark.Charter, a.Mark.Charter) {
			enter(t, a.Chance)
			t.add(b, a)
		}
	}
	p.tellAlone(p.a, p.actOnlyA, p.b, p.chanceOfA, func(l link) int { return l.b }, lists)
	p.tellAlone(p.b, p.actOnlyB, p.a, p.chanceOfB, func(l link) int { return l.a }, lists)
}

// tellAlone counts what one chart alone has: it is his who charted it, and
// missed by whoever began the chance in the other chart, or, where that lacks the
// whole chance, by its only charter.
func (p *pairing) tellAlone(in *replay.Chart, list []int, from *replay.Chart, matched map[int]int, theirs func(link) int, lists func(who, other events.Token) []*tallied) {
	for _, i := range list {
		a := &in.Actions[i]
		var missedBy events.Token
		if k, ok := matched[a.Chance]; ok {
			missedBy = from.Chances[theirs(p.chances[k])].Began.Charter
		} else if len(from.Charters) == 1 {
			missedBy = from.Charters[0].Charter
		}
		if missedBy == "" {
			continue
		}
		for _, t := range lists(a.Mark.Charter, missedBy) {
			t.mine++
		}
		if missedBy != a.Mark.Charter {
			for _, t := range lists(missedBy, a.Mark.Charter) {
				t.theirs++
			}
		}
	}
}

// pause is the longest time between two entries that counts as charting.
const pause = 2 * time.Minute

// workOn counts each charter's work on a chart.
func workOn(c *replay.Chart) map[events.Token]Work {
	out := map[events.Token]Work{}
	for _, who := range c.Charters {
		out[who.Charter] = Work{Charts: 1, Events: who.Events, Corrections: who.Corrections}
	}
	minted := map[events.Token][]time.Time{}
	note := func(who events.Token, id events.ID) {
		if at, ok := id.Minted(); ok {
			minted[who] = append(minted[who], at)
		}
	}
	for i := range c.Chances {
		ch := &c.Chances[i]
		w := out[ch.Began.Charter]
		w.Chances++
		if end := ended(ch); end != nil && ch.When.Clock != nil {
			w.PlayMinutes += max(0, *ch.When.Clock-*end) / 60
		}
		out[ch.Began.Charter] = w
		note(ch.Began.Charter, ch.ID)
	}
	for i := range c.Actions {
		a := &c.Actions[i]
		w := out[a.Mark.Charter]
		w.Actions++
		out[a.Mark.Charter] = w
		note(a.Mark.Charter, a.ID)
	}
	for who, list := range minted {
		slices.SortFunc(list, time.Time.Compare)
		w := out[who]
		for i := 1; i < len(list); i++ {
			if d := list[i].Sub(list[i-1]); d <= pause {
				w.RecordedMinutes += d.Minutes()
			}
		}
		out[who] = w
	}
	return out
}

func (w Work) plus(v Work) Work {
	return Work{
		Charts: w.Charts + v.Charts, Events: w.Events + v.Events, Chances: w.Chances + v.Chances, Actions: w.Actions + v.Actions,
		Corrections: w.Corrections + v.Corrections, PlayMinutes: w.PlayMinutes + v.PlayMinutes, RecordedMinutes: w.RecordedMinutes + v.RecordedMinutes,
	}
}

// rated fills in the rates.
func (w Work) rated() Work {
	rate := func(n, of float64) *float64 {
		if of <= 0 {
			return nil
		}
		r := n / of
		return &r
	}
	w.PerPlayMinute = rate(float64(w.Actions), w.PlayMinutes)
	w.PerMinute = rate(float64(w.Actions), w.RecordedMinutes)
	w.CorrectedShare = rate(float64(w.Corrections), float64(w.Actions))
	return w
}
