package synth

import "stopledger/events"

// totals counts the official totals from what truly happened, never from a
// chart. As in the fold, a held ball lost by the arrow is no turnover.
func (p played) totals() events.TotalsEntered {
	t := events.TotalsEntered{Teams: make(map[events.Token]events.Totals), Players: make(map[events.Token]events.Totals)}
	for _, m := range p.moments {
		if m.chance != nil {
			p.count(m.chance, &t)
		}
		if shots, ok := m.fact.(*events.PenaltyShots); ok {
			add(&t, shots.Team, shots.Shooter, events.Totals{Points: shots.Made, FTM: shots.Made, FTA: shots.Attempted})
		}
	}
	return t
}

func (p played) count(c *chance, t *events.TotalsEntered) {
	off, def := p.sides[c.offence].team.id, p.sides[1-c.offence].team.id
	e, trip := c.end, c.trip
	line := events.Totals{Points: c.points(p.rules), FTM: trip.Made, FTA: trip.Attempted}
	if e.End.Shot() {
		line.FGA = 1
		line.FGM = one(!e.End.Missed())
		line.ThreeA = one(e.End.Three())
		line.ThreeM = one(e.End == events.Made3)
	}
	who := e.Shooter
	if e.End == events.TurnoverEnd {
		line.Tov, who = 1, e.LostBy
	}
	add(t, off, who, line)
	rebound, by := e.Rebound, e.ReboundBy
	if trip.Attempted > 0 {
		rebound, by = events.Side(trip.Last), trip.ReboundBy
	}
	switch {
	case by == "":
	case rebound == events.Offence:
		add(t, off, by, events.Totals{OReb: 1})
	case rebound == events.Defence:
		add(t, def, by, events.Totals{DReb: 1})
	}
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func add(t *events.TotalsEntered, team, player events.Token, line events.Totals) {
	t.Teams[team] = plus(t.Teams[team], line)
	if player != "" {
		t.Players[player] = plus(t.Players[player], line)
	}
}

func plus(a, b events.Totals) events.Totals {
	return events.Totals{
		Points: a.Points + b.Points, FGA: a.FGA + b.FGA, FGM: a.FGM + b.FGM, ThreeA: a.ThreeA + b.ThreeA, ThreeM: a.ThreeM + b.ThreeM,
		FTA: a.FTA + b.FTA, FTM: a.FTM + b.FTM, OReb: a.OReb + b.OReb, DReb: a.DReb + b.DReb, Tov: a.Tov + b.Tov,
	}
}
