package replay

import (
	"fmt"
	"math"
	"slices"

	"stopledger/events"
)

// draft is a chart while it is being folded.
type draft struct {
	name  events.Token
	all   []*events.Event // sorted by id
	facts []standing      // originals with what stands of them
	order []*placed       // the standing facts in the order of play

	chart  *Chart
	index  map[events.ID]int // of chances by id, merged ones under both ids
	start  map[events.ID]place
	finish map[events.ID]place // of chances' ends
	ends   map[events.ID]*placed
	shots  map[events.ID][]*placed
	merged map[events.ID]events.ID
	teamOf map[events.Token]events.Token // by player, from the roster
	voided map[events.ID]bool            // chances taken out on purpose
}

func newDraft(name events.Token, all []*events.Event) *draft {
	d := &draft{name: name, all: all, chart: &Chart{Name: name}}
	facts, findings := settle(all)
	d.facts = facts
	d.chart.Findings = findings
	return d
}

func (d *draft) find(what string, about events.ID, format string, args ...any) {
	d.chart.Findings = append(d.chart.Findings, found(what, about, fmt.Sprintf(format, args...)))
}

func (d *draft) adopted() []standing {
	var out []standing
	for _, s := range d.facts {
		if _, ok := s.body.(*events.ChartAdopted); ok && !s.voided {
			out = append(out, s)
		}
	}
	return out
}

// fold walks through the standing facts in the order of play.
func (d *draft) fold(game events.GameOpened) *Chart {
	c := d.chart
	info, ok := openingOf(d.facts)
	if !ok {
		info = game
	}
	info.Players = unite(info.Players, game.Players)
	c.Info = info
	if info.Home.ID == "" {
		d.find(NoGame, "", "chart %s has no opening, so its teams and rules are unknown", d.name)
	}
	d.teamOf = make(map[events.Token]events.Token, len(info.Players))
	for _, p := range info.Players {
		d.teamOf[p.ID] = p.Team
	}
	order, findings := inOrder(d.facts, d.all, info.Rules)
	d.order = order
	c.Findings = append(c.Findings, findings...)

	d.checkPads()
	d.collect()
	d.beginChances()
	d.endChances()
	d.placeActions()
	d.tellBall()
	d.joinPossessions()
	d.walk()
	d.count()
	d.expose()
	d.checkChances()
	for i := range c.Findings {
		c.Findings[i].Chart = d.name
	}
	sortFindings(c.Findings)
	return c
}

// bothEnds reports whether the chart set out to hold every chance of the game.
func (c *Chart) BothEnds() bool { return c.Scope.Ends != events.OneEnd && c.Scope.Focus == "" }

// knowsScore reports whether the chart set out to hold every point from the
// start; wholeGame, every point to the end.
func (c *Chart) knowsScore() bool { return c.BothEnds() && c.Scope.From.Period == 0 }
func (c *Chart) wholeGame() bool  { return c.knowsScore() && c.Scope.To.Period == 0 }

// collect sorts the facts that are not tied to the sequence into their places.
func (d *draft) collect() {
	c := d.chart
	d.ends = make(map[events.ID]*placed)
	d.shots = make(map[events.ID][]*placed)
	d.merged = make(map[events.ID]events.ID)
	d.finish = make(map[events.ID]place)
	d.voided = make(map[events.ID]bool)
	for _, s := range d.facts {
		if _, ok := s.body.(*events.ChanceBegan); ok && s.voided {
			d.voided[s.event.ID] = true
		}
	}
	for _, p := range d.order {
		switch b := p.body.(type) {
		case *events.ChartScoped:
			c.Scope = *b
		case *events.FilmLinked:
			c.Films = append(c.Films, *b)
		case *events.FilmAnchored:
			c.Anchors = append(c.Anchors, *b)
		case *events.PenaltyShots:
			c.Penalties = append(c.Penalties, Penalty{p.event.ID, p.moment(), *b})
		case *events.Noted:
			c.Notes = append(c.Notes, Note{p.event.ID, p.moment(), p.mark(), *b})
		case *events.TotalsEntered:
			c.Official = b
		case *events.GameClosed:
			c.Closed = true
		case *events.ChanceMerged:
			d.merged[b.Drop] = b.Keep
		}
	}
}

// kept follows merges from a dropped chance to the one that was kept.
func (d *draft) kept(id events.ID) events.ID {
	for range len(d.merged) {
		to, ok := d.merged[id]
		if !ok {
			return id
		}
		id = to
	}
	return id
}

// beginChances makes a chance of every standing beginning that was not merged
// away.
func (d *draft) beginChances() {
	c := d.chart
	begun := 0
	for _, p := range d.order {
		if _, ok := p.body.(*events.ChanceBegan); ok {
			begun++
		}
	}
	c.Chances = make([]Chance, 0, begun)
	d.index = make(map[events.ID]int, begun)
	d.start = make(map[events.ID]place, begun)
	for _, p := range d.order {
		b, ok := p.body.(*events.ChanceBegan)
		if !ok {
			continue
		}
		d.start[p.event.ID] = p.place
		if d.kept(p.event.ID) != p.event.ID {
			continue
		}
		defence := other(c.Info, b.Offence)
		if defence == "" && c.Info.Home.ID != "" {
			d.find(WrongTeam, p.event.ID, "the chance is %s's, who do not play in this game", b.Offence)
		}
		d.index[p.event.ID] = len(c.Chances)
		c.Chances = append(c.Chances, Chance{
			ID: p.event.ID, Offence: b.Offence, Defence: defence, Origin: b.Origin, Tempo: b.Tempo,
			When: p.moment(), Began: p.mark(), Possession: -1,
			Base: events.Unknown, Principle: events.Unknown, Pressure: "",
		})
	}
	for drop, keep := range d.merged {
		if _, ok := d.index[d.kept(drop)]; !ok {
			d.find(MergeUnknown, drop, "chance %s was joined to %s, which is not here", drop, keep)
			continue
		}
		d.index[drop] = d.index[d.kept(drop)]
	}
}

// endChances gives every chance its end and the free throws that came later.
// Of several ends the kept chance's own stands before a merged one's, then the
// one charted first.
func (d *draft) endChances() {
	c := d.chart
	for _, p := range d.order {
		switch b := p.body.(type) {
		case *events.ChanceEnded:
			d.takeEnd(p, b)
		case *events.ShotsTaken:
			if _, ok := d.index[b.Chance]; !ok {
				d.endOfNothing(p.event.ID, b.Chance, "free throws")
				continue
			}
			id := c.Chances[d.index[b.Chance]].ID
			d.shots[id] = append(d.shots[id], p)
		}
	}
	for i := range c.Chances {
		ch := &c.Chances[i]
		if end, ok := d.ends[ch.ID]; ok {
			ch.takeEnd(end)
		}
		d.takeShots(ch)
		ch.Points = c.Info.Rules.Points(ch.End, ch.Made)
	}
}

func (d *draft) takeEnd(p *placed, b *events.ChanceEnded) {
	i, ok := d.index[b.Chance]
	if !ok {
		d.endOfNothing(p.event.ID, b.Chance, "the end")
		return
	}
	id := d.chart.Chances[i].ID
	old, twice := d.ends[id]
	if twice {
		oldBody := old.body.(*events.ChanceEnded)
		ours, theirs := b.Chance == id, oldBody.Chance == id
		if ours == theirs {
			d.find(TwoEnds, id, "the chance has two ends, %s and %s; the one charted first stands", oldBody.End, b.End)
		}
		if theirs && !ours || theirs == ours && old.event.ID < p.event.ID {
			return
		}
	}
	d.ends[id], d.finish[id] = p, p.place
}

// endOfNothing reports what belongs to a chance that is not here, unless the
// chance was taken out on purpose.
func (d *draft) endOfNothing(id, chance events.ID, what string) {
	if !d.voided[chance] {
		d.find(EndWithoutChance, id, "%s of chance %s, which is not here", what, chance)
	}
}

func (ch *Chance) takeEnd(p *placed) {
	b := p.body.(*events.ChanceEnded)
	ch.Ended, ch.End, ch.Turnover, ch.Next = true, b.End, b.Turnover, b.Next
	ch.Shooter, ch.LostBy, ch.Spot = b.Shooter, b.LostBy, b.Spot
	ch.BlockedBy, ch.StealBy, ch.Heave = b.BlockedBy, b.StealBy, b.Heave
	ch.Rebound, ch.ReboundBy, ch.TeamBoard = b.Rebound, b.ReboundBy, b.TeamRebound
	ch.Made, ch.Attempted, ch.Focus = b.Made, b.Attempted, b.Focus
	ch.Finish, ch.Finished = p.moment(), p.mark()
}

// takeShots adds free throws that came after the end was charted.
func (d *draft) takeShots(ch *Chance) {
	for _, s := range d.shots[ch.ID] {
		b := s.body.(*events.ShotsTaken)
		ch.Made += b.Made
		ch.Attempted += b.Attempted
		switch b.Last {
		case events.LastMade:
			ch.Rebound, ch.ReboundBy, ch.TeamBoard = "", "", false
			if ch.Ball == "" {
				ch.Ball = events.Defence
			}
		case events.LastOffence, events.LastDefence:
			ch.Rebound, ch.ReboundBy, ch.TeamBoard = events.Side(b.Last), b.ReboundBy, b.TeamRebound
			ch.Ball = ""
		}
	}
	if len(d.shots[ch.ID]) > 0 && !ch.Ended {
		ch.Ended, ch.End = true, events.FreeThrowEnd
	}
	switch {
	case ch.Ended && ch.End == events.FreeThrowEnd && ch.Attempted == 0:
		d.find(MissingShots, ch.ID, "the chance ended with free throws, and none are charted")
	case ch.Attempted > 3:
		d.find(TooManyShots, ch.ID, "%d free throws for one chance; a trip has at most 3", ch.Attempted)
	}
}

// moment is the fact's moment with the clock that places it.
func (p *placed) moment() events.When { return p.place.moment(p.when) }

func (p *placed) mark() Mark {
	return Mark{p.event.Charter, p.event.Pad, p.event.N, p.revision}
}

func (p *place) moment(w events.When) events.When {
	w.Period = p.period
	if !math.IsInf(p.clock, 0) {
		clock := p.clock
		w.Clock = &clock
	}
	return w
}

// onFloor is a copy of a line-up, so that later substitutions leave it alone.
func onFloor(lineUps map[events.Token][]events.Token, team events.Token) []events.Token {
	return slices.Clone(lineUps[team])
}
