package replay

import (
	"fmt"
	"sort"
	"strings"

	"stopledger/events"
)

// count adds up the chart as an official scorer would.
func (d *draft) count() {
	c := d.chart
	box := box{teams: map[events.Token]events.Totals{}, players: map[events.Token]events.Totals{}}
	for i := range c.Chances {
		box.chance(&c.Chances[i])
	}
	for _, p := range c.Penalties {
		shots := events.Totals{Points: p.Made, FTM: p.Made, FTA: p.Attempted}
		box.add(p.Team, p.Shooter, shots)
	}
	if c.Info.Home.ID != "" {
		box.add(c.Info.Home.ID, "", events.Totals{})
		box.add(c.Info.Away.ID, "", events.Totals{})
	}
	c.Totals, c.Players = box.teams, box.players
	d.compareTotals()
	d.countCharters()
}

type box struct {
	teams, players map[events.Token]events.Totals
}

func (b box) add(team, player events.Token, t events.Totals) {
	b.teams[team] = plus(b.teams[team], t)
	if player != "" {
		b.players[player] = plus(b.players[player], t)
	}
}

func (b box) chance(ch *Chance) {
	if !ch.Ended {
		return
	}
	shot := events.Totals{Points: ch.Points, FTM: ch.Made, FTA: ch.Attempted}
	if ch.End.Shot() {
		shot.FGA = 1
		if ch.End.Three() {
			shot.ThreeA = 1
		}
		if !ch.End.Missed() {
			shot.FGM, shot.ThreeM = 1, shot.ThreeA
		}
	}
	b.add(ch.Offence, ch.Shooter, shot)
	if ch.End == events.TurnoverEnd {
		b.add(ch.Offence, ch.LostBy, events.Totals{Tov: 1})
	}
	switch {
	case ch.TeamBoard:
	case ch.Rebound == events.Offence:
		b.add(ch.Offence, ch.ReboundBy, events.Totals{OReb: 1})
	case ch.Rebound == events.Defence:
		b.add(ch.Defence, ch.ReboundBy, events.Totals{DReb: 1})
	}
}

func plus(a, b events.Totals) events.Totals {
	return events.Totals{
		Points: a.Points + b.Points, FGA: a.FGA + b.FGA, FGM: a.FGM + b.FGM, ThreeA: a.ThreeA + b.ThreeA, ThreeM: a.ThreeM + b.ThreeM,
		FTA: a.FTA + b.FTA, FTM: a.FTM + b.FTM, OReb: a.OReb + b.OReb, DReb: a.DReb + b.DReb, Tov: a.Tov + b.Tov,
	}
}

// TotalsLine is one line of a box score by its name in JSON.
type TotalsLine struct {
	Name  string
	Value int
}

// Lines lists a box score line by line, in the order it is printed.
func Lines(t events.Totals) []TotalsLine {
	return []TotalsLine{
		{"points", t.Points}, {"fga", t.FGA}, {"fgm", t.FGM}, {"three_a", t.ThreeA}, {"three_m", t.ThreeM},
		{"fta", t.FTA}, {"ftm", t.FTM}, {"oreb", t.OReb}, {"dreb", t.DReb}, {"tov", t.Tov},
	}
}

// compareTotals sets the chart beside the official totals, where it set out to
// hold the whole game.
func (d *draft) compareTotals() {
	c := d.chart
	if c.Official == nil || !c.wholeGame() {
		return
	}
	teams := make([]string, 0, 2)
	for team := range c.Official.Teams {
		teams = append(teams, string(team))
	}
	sort.Strings(teams)
	for _, team := range teams {
		if other(c.Info, events.Token(team)) == "" {
			d.find(WrongTeam, "", "official totals name %s, who do not play in this game", team)
			continue
		}
		ours, theirs := Lines(c.Totals[events.Token(team)]), Lines(c.Official.Teams[events.Token(team)])
		var apart []string
		for i := range ours {
			if ours[i].Value != theirs[i].Value {
				apart = append(apart, fmt.Sprintf("%s %d, official %d", ours[i].Name, ours[i].Value, theirs[i].Value))
			}
		}
		if len(apart) > 0 {
			d.find(TotalsDiffer, "", "%s: charted %s", team, strings.Join(apart, "; "))
		}
	}
}

func (d *draft) countCharters() {
	counts := make(map[events.Token]*Charter)
	for _, e := range d.all {
		n := counts[e.Charter]
		if n == nil {
			n = &Charter{Charter: e.Charter}
			counts[e.Charter] = n
		}
		n.Events++
		if !e.Newer() && isCorrection(e.Body) {
			n.Corrections++
		}
	}
	for _, n := range counts {
		d.chart.Charters = append(d.chart.Charters, *n)
	}
	sort.Slice(d.chart.Charters, func(i, j int) bool { return d.chart.Charters[i].Charter < d.chart.Charters[j].Charter })
}
