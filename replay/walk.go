package replay

import (
	"maps"
	"slices"

	"stopledger/events"
)

// walk goes through the game in the order of play and gives every chance what
// was in force when it began: score, schemes, line-ups.
func (d *draft) walk() {
	c := d.chart
	now := Situation{
		Score:   map[events.Token]int{},
		LineUps: map[events.Token][]events.Token{},
		Schemes: map[events.Token]events.SchemeSet{},
	}
	if c.Info.Home.ID != "" {
		now.Score[c.Info.Home.ID], now.Score[c.Info.Away.ID] = 0, 0
	}
	// A chart of both ends knows the score from the start, or from the first time
	// it was noted; a chart of one end only for the chance after each note, since
	// it does not see what its own team scores in between.
	known, fresh := c.knowsScore(), false
	for _, p := range d.order {
		if p.period > 0 {
			now.When = p.moment()
		}
		switch b := p.body.(type) {
		case *events.LineupSet:
			now.LineUps[b.Team] = slices.Clone(b.Players)
		case *events.Substituted:
			substitute(now.LineUps, b)
		case *events.SchemeSet:
			now.Schemes[b.Team] = *b
		case *events.PenaltyShots:
			now.Score[b.Team] += b.Made
		case *events.ScoreNoted:
			d.noteScore(&now, p, b)
			known, fresh = c.BothEnds(), true
		case *events.ChanceBegan:
			i, ok := d.index[p.event.ID]
			if !ok || c.Chances[i].ID != p.event.ID {
				continue
			}
			ch := &c.Chances[i]
			ch.meet(&now, known || fresh)
			fresh = false
			now.Score[ch.Offence] += ch.Points
			now.Open = ""
			if !ch.Ended {
				now.Open = ch.ID
			}
		}
	}
	c.Now = now
}

// meet takes down what is in force as the chance begins.
func (ch *Chance) meet(now *Situation, scoreKnown bool) {
	if s, ok := now.Schemes[ch.Defence]; ok {
		ch.Base, ch.Principle, ch.Pressure = orUnknown(s.Base), orUnknown(s.Principle), s.Pressure
	}
	ch.OnFloor = onFloor(now.LineUps, ch.Defence)
	ch.OffenceFloor = onFloor(now.LineUps, ch.Offence)
	if scoreKnown && ch.Defence != "" {
		margin := now.Score[ch.Defence] - now.Score[ch.Offence]
		ch.Margin = &margin
	}
}

func orUnknown[W ~string](w W) W {
	if w == "" {
		return events.Unknown
	}
	return w
}

// noteScore compares the scoreboard with the chart, or takes it over where the
// chart does not hold both ends.
func (d *draft) noteScore(now *Situation, p *placed, b *events.ScoreNoted) {
	c := d.chart
	if !c.knowsScore() {
		now.Score[c.Info.Home.ID], now.Score[c.Info.Away.ID] = b.Home, b.Away
		return
	}
	score := maps.Clone(now.Score)
	for i := range c.Chances { // points of chances that had begun and not ended
		ch := &c.Chances[i]
		if d.start[ch.ID].before(p.place) && p.place.before(d.finish[ch.ID]) {
			score[ch.Offence] -= ch.Points
		}
	}
	if score[c.Info.Home.ID] != b.Home || score[c.Info.Away.ID] != b.Away {
		d.find(ScoreDiffers, p.event.ID, "the scoreboard says %d-%d in period %d, the chart adds up to %d-%d",
			b.Home, b.Away, p.period, score[c.Info.Home.ID], score[c.Info.Away.ID])
	}
}

// substitute swaps one man; with nobody named to go out the floor only fills.
func substitute(lineUps map[events.Token][]events.Token, b *events.Substituted) {
	five := slices.DeleteFunc(slices.Clone(lineUps[b.Team]), func(p events.Token) bool { return p == b.Out || p == b.In })
	if b.In != "" && len(five) < 5 {
		five = append(five, b.In)
	}
	lineUps[b.Team] = five
}
