package replay

import "stopledger/events"

// placeActions puts every standing action into its chance, in the order of
// play, and works out what needs the sequence: order, effort, first break, last
// on the ball.
func (d *draft) placeActions() {
	c := d.chart
	var list []*placed
	for _, p := range d.order {
		b, ok := p.body.(*events.Action)
		if !ok {
			continue
		}
		if i, ok := d.index[b.Chance]; ok {
			c.Chances[i].Actions++
			list = append(list, p)
			continue
		}
		d.stray(p, b)
	}
	next := make([]int, len(c.Chances))
	at := 0
	for i := range c.Chances {
		next[i], c.Chances[i].First = at, at
		at += c.Chances[i].Actions
	}
	c.Actions = make([]Action, len(list))
	for _, p := range list {
		i := d.index[p.body.(*events.Action).Chance]
		c.Actions[next[i]] = p.action(i, c.Chances[i].ID)
		next[i]++
	}
	for i := range c.Chances {
		ch := &c.Chances[i]
		ch.Breaks = sequence(c.Actions[ch.First : ch.First+ch.Actions])
	}
}

// action is the fact as a row of the chart.
func (p *placed) action(chance int, id events.ID) Action {
	b := p.body.(*events.Action)
	return Action{
		ID: p.event.ID, ChanceID: id, Chance: chance, Kind: b.Kind, Defender: b.Defender, Opponent: b.Opponent,
		Outcome: b.Outcome, Reading: b.Reading(), Details: b.Details, Spot: b.Spot, When: p.moment(), Mark: p.mark(),
	}
}

// stray lists an action whose chance is not there to count it.
func (d *draft) stray(p *placed, b *events.Action) {
	why := "is not here"
	if d.voided[b.Chance] {
		why = "was voided"
	}
	d.find(StrayAction, p.event.ID, "the %s's chance %s %s; the action is not counted", b.Kind, b.Chance, why)
	d.chart.Strays = append(d.chart.Strays, p.action(-1, b.Chance))
}

// sequence numbers the actions of one chance and returns how many read broken.
func sequence(actions []Action) (breaks int) {
	last := -1
	for i := range actions {
		a := &actions[i]
		a.Order, a.Effort = i+1, effort(actions[:i+1])
		if a.Reading == events.Broken {
			breaks++
			a.FirstBreak = breaks == 1
		}
		if a.Kind.OnBall() {
			last = i
		}
	}
	if last >= 0 {
		actions[last].LastOnBall = true
	}
	return breaks
}

// effort is how many things the last action's defender has done so far. Nobody
// has no second effort.
func effort(actions []Action) int {
	last := actions[len(actions)-1].Defender
	n := 1
	for i := range actions[:len(actions)-1] {
		if last != "" && actions[i].Defender == last {
			n++
		}
	}
	return n
}

// tellBall says for every chance who has the ball next. Where the end does not
// tell, the next chance does.
func (d *draft) tellBall() {
	c := d.chart
	for i := range c.Chances {
		ch := &c.Chances[i]
		if !ch.Ended {
			continue
		}
		if told := ch.ballByEnd(); told != "" {
			ch.Ball = told
		}
		if ch.Ball != "" || ch.End == events.PeriodEnd {
			continue
		}
		switch next := d.nextInPeriod(i); {
		case next == nil:
			over := i+1 < len(c.Chances) || c.Closed
			if over && (ch.End.Missed() || ch.End == events.FreeThrowEnd) {
				ch.Ball = events.Defence
			}
		case next.Offence == ch.Offence && (c.BothEnds() || next.Origin == events.OffensiveRebound):
			ch.Ball = events.Offence
		case next.Offence != ch.Offence:
			ch.Ball = events.Defence
		}
	}
}

func (d *draft) nextInPeriod(i int) *Chance {
	c := d.chart
	if i+1 < len(c.Chances) && c.Chances[i+1].When.Period == c.Chances[i].When.Period {
		return &c.Chances[i+1]
	}
	return nil
}

// ballByEnd is what the end alone says about who has the ball next.
func (ch *Chance) ballByEnd() events.Side {
	missedLast := ch.Rebound == events.Offence || ch.Rebound == events.Defence
	switch ch.End {
	case events.TurnoverEnd:
		return events.Defence
	case events.JumpBallEnd:
		return ch.Next
	case events.Made2, events.Made3, events.FreeThrowEnd:
		switch {
		case missedLast:
			return ch.Rebound
		case ch.Made == ch.Attempted && (ch.End != events.FreeThrowEnd || ch.Attempted > 0):
			return events.Defence
		}
	case events.Missed2, events.Missed3:
		if missedLast {
			return ch.Rebound
		}
	}
	return ""
}

// joinPossessions groups chances: a chance goes on with the possession before
// it when the same offence kept the ball within the period.
func (d *draft) joinPossessions() {
	c := d.chart
	for i := range c.Chances {
		ch := &c.Chances[i]
		if i == 0 || !continues(&c.Chances[i-1], ch) {
			c.Possessions = append(c.Possessions, Possession{Offence: ch.Offence, First: i})
		}
		p := &c.Possessions[len(c.Possessions)-1]
		p.Chances++
		p.Points += ch.Points
		ch.Possession, ch.Number = len(c.Possessions)-1, p.Chances
	}
	for i := range c.Possessions {
		p := &c.Possessions[i]
		left := p.Points
		for j := p.First; j < p.First+p.Chances; j++ {
			left -= c.Chances[j].Points
			c.Chances[j].PointsAfter = left
		}
	}
}

func continues(before, ch *Chance) bool {
	if before.Offence != ch.Offence || before.When.Period != ch.When.Period {
		return false
	}
	return before.Ball == events.Offence || before.Ball == "" && ch.Origin == events.OffensiveRebound
}
