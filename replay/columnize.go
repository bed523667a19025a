package replay

import (
	"math"

	"stopledger/events"
)

// Builder lays charts of record out in columns, one game after the other.
type Builder struct {
	cols    *Columns
	people  map[events.Token]events.Person
	rosters map[roster]uint32
	keepIDs bool
}

// roster is what makes one row of the players' table.
type roster struct {
	id, team events.Token
	number   string
	role     events.Role
}

// NewBuilder starts an empty set of columns. What is known of people beyond
// the log joins the players' table. Ids of chances and actions cost 32 bytes a
// row; only who opens the chances behind a number needs them.
func NewBuilder(people []events.Person, keepIDs bool) *Builder {
	b := &Builder{
		cols: &Columns{
			Games: newTable(OfGame), Chances: newTable(OfChance), Actions: newTable(OfAction), Players: newTable(OfPlayer),
		},
		people:  make(map[events.Token]events.Person, len(people)),
		rosters: make(map[roster]uint32),
		keepIDs: keepIDs,
	}
	for _, p := range people {
		b.people[p.ID] = p
	}
	b.player(roster{}) // row 0 is nobody
	return b
}

// Columns returns what was laid out so far. The builder must not be used again.
func (b *Builder) Columns() *Columns {
	for _, t := range []*Table{&b.cols.Games, &b.cols.Chances, &b.cols.Actions, &b.cols.Players} {
		for _, c := range t.Columns {
			c.finish(t.Rows)
		}
	}
	return b.cols
}

// Add lays a game's chart of record out. Chances without an end, and period
// ends without a try, are no opportunity and stay out together with their
// actions.
func (b *Builder) Add(g *Game) {
	c := g.OfRecord()
	if c == nil {
		return
	}
	players := make(map[events.Token]events.Player, len(g.Info.Players))
	for _, p := range g.Info.Players {
		players[p.ID] = p
	}
	row := uint32(b.cols.Games.Rows)
	b.game(g, c)
	for i := range c.Chances {
		ch := &c.Chances[i]
		if !ch.Opportunity() {
			continue
		}
		chance := uint32(b.cols.Chances.Rows)
		b.chance(c, ch, row)
		for j := ch.First; j < ch.First+ch.Actions; j++ {
			b.action(&c.Actions[j], chance, players)
		}
	}
	for i := range g.Info.Players { // whoever was never charted is on the roster all the same
		b.playerOf(g.Info.Players[i].ID, players)
	}
}

func (b *Builder) game(g *Game, c *Chart) {
	t := &b.cols.Games
	t.word("game.id", string(g.ID))
	t.word("game.competition", string(c.Info.Competition))
	t.word("game.level", string(c.Info.Level))
	t.word("game.rules", string(c.Info.Rules.Name))
	t.word("game.date", c.Info.Date)
	t.word("game.chart", string(c.Name))
	t.truth("game.invented", true, g.Info.Invented)
	t.Rows++
	b.cols.GameIDs = append(b.cols.GameIDs, g.ID)
	b.cols.Digests = append(b.cols.Digests, g.Digest)
}

func (b *Builder) chance(c *Chart, ch *Chance, game uint32) {
	t := &b.cols.Chances
	rules, period := c.Info.Rules, ch.When.Period
	t.word("chance.end", string(ch.End))
	t.word("chance.turnover", string(ch.Turnover))
	t.word("chance.origin", string(ch.Origin))
	t.word("chance.tempo", string(ch.Tempo))
	t.number("chance.points", float64(ch.Points))
	t.word("chance.rebound", string(ch.Rebound))
	t.word("chance.ball", string(ch.Ball))
	t.maybe("chance.period", period > 0, float64(period))
	t.truth("chance.last_period", period > 0, rules.Last(period))
	t.truth("chance.overtime", period > 0, rules.Overtime(period))
	clock, left := math.NaN(), math.NaN()
	if ch.When.Clock != nil {
		clock, left = *ch.When.Clock, rules.Left(period, *ch.When.Clock)
	}
	t.real("chance.clock", clock)
	t.real("chance.seconds_left", left)
	margin := 0
	if ch.Margin != nil {
		margin = *ch.Margin
	}
	t.maybe("chance.margin", ch.Margin != nil, float64(margin))
	t.truth("chance.heave", true, ch.Heave)
	t.word("chance.base", string(ch.Base))
	t.word("chance.principle", string(ch.Principle))
	t.word("chance.pressure", string(ch.Pressure))
	t.word("chance.offence", string(ch.Offence))
	t.word("chance.defence", string(ch.Defence))
	t.number("chance.breaks", float64(ch.Breaks))
	t.number("chance.actions", float64(ch.Actions))
	t.spot("chance.shot_x", "chance.shot_y", "chance.shot_distance", ch.Spot)
	p := c.Possessions[ch.Possession]
	t.number("possession.points", float64(p.Points))
	t.number("possession.points_after", float64(ch.PointsAfter))
	t.number("possession.chances", float64(p.Chances))
	t.number("possession.rebounds_given", float64(reboundsGiven(c, p)))
	t.Rows++
	b.cols.ChanceGame = append(b.cols.ChanceGame, game)
	if b.keepIDs {
		b.cols.ChanceIDs = append(b.cols.ChanceIDs, ch.ID)
	}
}

func reboundsGiven(c *Chart, p Possession) int {
	n := 0
	for i := p.First; i < p.First+p.Chances; i++ {
		if c.Chances[i].Rebound == events.Offence {
			n++
		}
	}
	return n
}

func (b *Builder) action(a *Action, chance uint32, players map[events.Token]events.Player) {
	t := &b.cols.Actions
	t.word("action.kind", string(a.Kind))
	t.word("action.outcome", string(a.Outcome))
	t.word("action.reading", string(a.Reading))
	t.number("action.effort", float64(a.Effort))
	t.number("action.order", float64(a.Order))
	t.truth("action.first_break", true, a.FirstBreak)
	t.truth("action.last_on_ball", true, a.LastOnBall)
	t.spot("action.x", "action.y", "action.distance", a.Spot)
	for name, values := range a.Details {
		t.words("action."+name, values)
	}
	t.Rows++
	c := b.cols
	c.ActionChance = append(c.ActionChance, chance)
	c.ActionDefender = append(c.ActionDefender, b.playerOf(a.Defender, players))
	c.ActionOpponent = append(c.ActionOpponent, b.playerOf(a.Opponent, players))
	if b.keepIDs {
		c.ActionIDs = append(c.ActionIDs, a.ID)
	}
}

func (b *Builder) playerOf(id events.Token, players map[events.Token]events.Player) uint32 {
	if id == "" {
		return 0
	}
	p := players[id]
	return b.player(roster{id, p.Team, p.Number, p.Role})
}

func (b *Builder) player(r roster) uint32 {
	if row, ok := b.rosters[r]; ok {
		return row
	}
	t := &b.cols.Players
	row := uint32(t.Rows)
	b.rosters[r] = row
	t.word("player.id", string(r.id))
	t.word("player.team", string(r.team))
	t.word("player.number", r.number)
	t.word("player.role", string(r.role))
	p := b.people[r.id]
	t.maybe("player.height_cm", p.HeightCM.How != "", p.HeightCM.Value)
	t.maybe("player.wingspan_cm", p.Wingspan.How != "", p.Wingspan.Value)
	t.maybe("player.weight_kg", p.WeightKG.How != "", p.WeightKG.Value)
	t.word("player.hand", string(p.Hand))
	t.truth("player.shooter", p.Shooter != nil, p.Shooter != nil && *p.Shooter)
	t.Rows++
	return row
}

// word, number and the rest write a field of the row being made. A field that
// is not written stays absent; the gap is filled when a later row writes it.

func (t *Table) word(name, word string) {
	if word == "" {
		return
	}
	c := t.byName[name]
	c.put(t.Rows, c.wordCode(word))
}

func (t *Table) words(name string, values []string) {
	c := t.byName[name]
	if c.Field.Shape == Word {
		t.word(name, values[0])
		return
	}
	c.put(t.Rows, c.listCode(values))
}

func (t *Table) number(name string, v float64) {
	c := t.byName[name]
	c.put(t.Rows, c.numberCode(v))
}

func (t *Table) maybe(name string, known bool, v float64) {
	if known {
		t.number(name, v)
	}
}

func (t *Table) truth(name string, known, v bool) {
	switch {
	case !known:
	case v:
		t.number(name, 1)
	default:
		t.number(name, 0)
	}
}

func (t *Table) real(name string, v float64) {
	c := t.byName[name]
	if math.IsNaN(v) {
		return
	}
	c.fillReals(t.Rows)
	c.Reals = append(c.Reals, float32(v))
}

func (t *Table) spot(x, y, distance string, s *events.Spot) {
	if s != nil {
		t.real(x, s.X)
		t.real(y, s.Y)
		t.real(distance, math.Hypot(s.X, s.Y))
	}
}

func (c *Column) put(row, code int) {
	c.Codes.fill(row - c.Codes.Len())
	c.Codes.append(code)
}

// finish fills a column that was ever written to the table's length.
func (c *Column) finish(rows int) {
	c.built()
	if c.Codes.Len() > 0 {
		c.Codes.fill(rows - c.Codes.Len())
	}
	if len(c.Reals) > 0 {
		c.fillReals(rows)
	}
}

// built lets go of what only building needs.
func (c *Column) built() { c.ofWord, c.ofNumber = nil, nil }

func (c *Column) fillReals(rows int) {
	for len(c.Reals) < rows {
		c.Reals = append(c.Reals, float32(math.NaN()))
	}
}
