package replay

import (
	"sort"

	"stopledger/events"
)

// placeActions puts every standing action into its chance and works out what
// needs the sequence: order, effort, first break, last on the ball.
func (d *draft) placeActions() {
	c := d.chart
	type located struct {
		Action
		rank int // in the order of play
	}
	var list []located
	for rank, p := range d.order {
		b, ok := p.body.(*events.Action)
		if !ok {
			continue
		}
		a := Action{
			ID: p.event.ID, ChanceID: b.Chance, Chance: -1, Kind: b.Kind, Defender: b.Defender, Opponent: b.Opponent,
			Outcome: b.Outcome, Reading: b.Reading(), Details: b.Details, Spot: b.Spot, When: p.moment(), Mark: p.mark(),
		}
		i, ok := d.index[b.Chance]
		if !ok {
			why := "is not here"
			if d.voided[b.Chance] {
				why = "was voided"
			}
			d.find(StrayAction, a.ID, "the %s's chance %s %s; the action is not counted", b.Kind, b.Chance, why)
			c.Strays = append(c.Strays, a)
			continue
		}
		a.Chance, a.ChanceID = i, c.Chances[i].ID
		list = append(list, located{a, rank})
	}
	sort.SliceStable(list, func(i, j int) bool {
		if list[i].Chance != list[j].Chance {
			return list[i].Chance < list[j].Chance
		}
		return list[i].rank < list[j].rank
	})
	c.Actions = make([]Action, len(list))
	for i := range list {
		c.Actions[i] = list[i].Action
	}
	next := 0
	for i := range c.Chances {
		ch := &c.Chances[i]
		ch.First = next
		for next < len(c.Actions) && c.Actions[next].Chance == i {
			next++
		}
		ch.Actions = next - ch.First
		ch.Breaks = sequence(c.Actions[ch.First:next])
	}
}

// sequence numbers the actions of one chance and returns how many read broken.
func sequence(actions []Action) (breaks int) {
	efforts := make(map[events.Token]int, len(actions))
	last := -1
	for i := range actions {
		a := &actions[i]
		a.Order = i + 1
		efforts[a.Defender]++
		a.Effort = efforts[a.Defender]
		if a.Defender == "" {
			a.Effort = 1 // nobody has no second effort
		}
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
