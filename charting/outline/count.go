package outline

import (
	"fmt"

	"stopledger/events"
)

// countRows counts what the rows give to each team. Which individual rebounds
// were offensive the rows do not say; they are counted together, as defensive.
func (rd *reading) countRows() map[events.Token]events.Totals {
	totals := make(map[events.Token]events.Totals)
	for i := range rd.rows {
		r := &rd.rows[i]
		t := totals[r.team]
		switch {
		case r.shot():
			value := 2
			t.FGA++
			if r.play == shot3 {
				value = 3
				t.ThreeA++
			}
			if r.made {
				t.FGM++
				t.Points += value
				t.ThreeM += value - 2
			}
		case r.play == freeThrow:
			t.FTA++
			if r.made {
				t.FTM++
				t.Points++
			}
		case r.play == turnover:
			t.Tov++
		case r.play == rebound && !r.teamRebound():
			t.DReb++
		}
		totals[r.team] = t
	}
	delete(totals, "")
	return totals
}

// countEvents counts what the events give to each team. It is written apart
// from the fold on purpose: it checks this package's own work.
func countEvents(list []events.Event, teams [2]events.Token) map[events.Token]events.Totals {
	totals := make(map[events.Token]events.Totals)
	offence := make(map[events.ID]events.Token)
	other := map[events.Token]events.Token{teams[0]: teams[1], teams[1]: teams[0]}
	for i := range list {
		switch b := list[i].Body.(type) {
		case *events.ChanceBegan:
			offence[list[i].ID] = b.Offence
		case *events.ChanceEnded:
			us := offence[b.Chance]
			totals[us] = plusEnd(totals[us], b)
			countRebound(totals, us, other[us], b.Rebound, b.TeamRebound)
		case *events.ShotsTaken:
			us := offence[b.Chance]
			totals[us] = plusThrows(totals[us], b.Made, b.Attempted)
			countRebound(totals, us, other[us], events.Side(b.Last), b.TeamRebound)
		case *events.PenaltyShots:
			totals[b.Team] = plusThrows(totals[b.Team], b.Made, b.Attempted)
		}
	}
	return totals
}

func plusEnd(t events.Totals, b *events.ChanceEnded) events.Totals {
	switch b.End {
	case events.Made3:
		t.ThreeM++
		t.Points++
		fallthrough
	case events.Made2:
		t.FGM++
		t.Points += 2
	case events.TurnoverEnd:
		t.Tov++
	}
	if b.End.Shot() {
		t.FGA++
	}
	if b.End.Three() {
		t.ThreeA++
	}
	return plusThrows(t, b.Made, b.Attempted)
}

func plusThrows(t events.Totals, made, attempted int) events.Totals {
	t.FTA += attempted
	t.FTM += made
	t.Points += made
	return t
}

func countRebound(totals map[events.Token]events.Totals, us, them events.Token, side events.Side, team bool) {
	if team {
		return
	}
	switch side {
	case events.Offence:
		t := totals[us]
		t.OReb++
		totals[us] = t
	case events.Defence:
		t := totals[them]
		t.DReb++
		totals[them] = t
	}
}

// compare says where the events differ from the rows or from the official
// totals.
func (rd *reading) compare(list []events.Event, official map[events.Token]events.Totals) {
	rows, ours := rd.countRows(), countEvents(list, rd.feed.Teams)
	for _, team := range rd.feed.Teams {
		inRows, here := rows[team], ours[team]
		together := here
		together.OReb, together.DReb = 0, here.OReb+here.DReb
		rd.tell(team, together, inRows, "the rows")
		if t, ok := official[team]; ok {
			rd.tell(team, here, t, "the official totals")
		}
	}
}

func (rd *reading) tell(team events.Token, here, there events.Totals, where string) {
	for _, c := range []struct {
		name        string
		here, there int
	}{
		{"points", here.Points, there.Points}, {"field goal attempts", here.FGA, there.FGA}, {"field goals", here.FGM, there.FGM},
		{"three-point attempts", here.ThreeA, there.ThreeA}, {"three-pointers", here.ThreeM, there.ThreeM},
		{"free throw attempts", here.FTA, there.FTA}, {"free throws", here.FTM, there.FTM},
		{"offensive rebounds", here.OReb, there.OReb}, {"defensive rebounds", here.DReb, there.DReb}, {"turnovers", here.Tov, there.Tov},
	} {
		if c.here != c.there {
			rd.remark(0, fmt.Sprintf("%s: %d %s in the events, %d in %s", team, c.here, c.name, c.there, where))
		}
	}
}
