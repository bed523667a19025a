package audit

import (
	"fmt"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/replay"
)

// Limits are the judgements a review rests on, in seconds of the game clock.
// Zero values mean the defaults; the ones used stand in the report.
type Limits struct {
	Gap       float64 `json:"gap"`         // longest stretch between two chances of a chart of both ends; default 15
	GapOneEnd float64 `json:"gap_one_end"` // and of a chart of one end, where the other end's chances lie between; default 75
	Overlap   float64 `json:"overlap"`     // how far two chances may overlap; default 3
	Outside   float64 `json:"outside"`     // how far an action may lie outside its chance; default 6
	Long      float64 `json:"long"`        // longest chance; default 60
	Run       int     `json:"run"`         // chances in a row without the defence that are serious; default 8
}

func (l Limits) orDefault() Limits {
	for _, d := range []struct {
		value *float64
		usual float64
	}{{&l.Gap, 15}, {&l.GapOneEnd, 75}, {&l.Overlap, 3}, {&l.Outside, 6}, {&l.Long, 60}} {
		if *d.value <= 0 {
			*d.value = d.usual
		}
	}
	if l.Run <= 0 {
		l.Run = 8
	}
	return l
}

// Report is what a review says about one chart.
type Report struct {
	Game     events.Token            `json:"game"`
	Chart    events.Token            `json:"chart"`
	Digest   string                  `json:"digest"` // of the game's events
	Holds    string                  `json:"holds"`  // what the chart set out to hold, in words
	Closed   bool                    `json:"closed"` // the chart says it is finished
	Limits   Limits                  `json:"limits"`
	Findings []Finding               `json:"findings"` // the gravest first, then in the order of play
	Counts   map[replay.Severity]int `json:"counts"`
	Coverage Coverage                `json:"coverage"`
	Defences []Defence               `json:"defences"`           // by team; empty for a one-player chart
	Prospect *Prospect               `json:"prospect,omitempty"` // of a one-player chart
	Totals   *Comparison             `json:"totals,omitempty"`   // nil where no official totals were entered
	// NoTotals says why the totals were not compared.
	NoTotals string `json:"no_totals,omitempty"`
}

// AtLeast counts the findings of a severity or graver.
func (r *Report) AtLeast(s replay.Severity) int {
	n := 0
	for severity, count := range r.Counts {
		if gravity[severity] >= gravity[s] {
			n += count
		}
	}
	return n
}

// Review audits one chart of a game.
func Review(g *replay.Game, c *replay.Chart, limits Limits) *Report {
	r := newReview(g, c, limits.orDefault())
	r.takeFold()
	r.checkPeriods()
	r.checkClock()
	r.checkDefence()
	r.checkFloor()
	r.checkFouls()
	r.checkSequence()
	r.checkActions()
	r.checkSpots()
	sortFindings(r.found)
	report := &Report{
		Game: g.ID, Chart: c.Name, Digest: g.Digest, Holds: r.scope.String(), Closed: c.Closed, Limits: r.limits,
		Findings: r.found, Counts: map[replay.Severity]int{}, Coverage: r.coverage(),
	}
	if report.Findings == nil {
		report.Findings = []Finding{}
	}
	for _, f := range r.found {
		report.Counts[f.Severity]++
	}
	report.Defences, report.Prospect = r.defences()
	report.Totals, report.NoTotals = r.compareTotals()
	return report
}

// review is a report while it is being made.
type review struct {
	game   *replay.Game
	chart  *replay.Chart
	scope  scope
	limits Limits
	court  *court.Court // nil where the rules name none
	found  []Finding
	gaps   []gap
}

func newReview(g *replay.Game, c *replay.Chart, limits Limits) *review {
	r := &review{game: g, chart: c, scope: scopeOf(c), limits: limits}
	if floor, err := court.For(string(c.Info.Rules.Name)); err == nil {
		r.court = &floor
	}
	return r
}

func (r *review) find(code string, p Place, format string, args ...any) {
	r.grave(ours[code].severity, code, p, format, args...)
}

func (r *review) grave(s replay.Severity, code string, p Place, format string, args ...any) {
	r.found = append(r.found, Finding{code, s, p, fmt.Sprintf(format, args...), ours[code].cause})
}

// actions are those of a chance, in order.
func actionsOf(c *replay.Chart, ch *replay.Chance) []replay.Action {
	return c.Actions[ch.First : ch.First+ch.Actions]
}

// takeFold takes over what the fold found, with its place. A chart of part of a
// game is not asked to add up.
func (r *review) takeFold() {
	places := r.placesOfEvents()
	take := func(f replay.Finding) {
		if r.scope.windowed && (f.What == replay.TotalsDiffer || f.What == replay.ScoreDiffers) {
			return
		}
		p, known := places[f.Event]
		if !known {
			p = Place{Event: f.Event}
		}
		r.found = append(r.found, Finding{f.What, f.Severity, p, f.Text, foldCauses[f.What]})
	}
	for _, f := range r.chart.Findings {
		take(f)
	}
	for _, f := range r.game.Findings {
		if f.Chart == "" || f.Chart == r.chart.Name {
			take(f)
		}
	}
}

// placesOfEvents says where the events lie that the folded chart still knows,
// under their own ids and under those of the corrections that stand.
func (r *review) placesOfEvents() map[events.ID]Place {
	c := r.chart
	places := make(map[events.ID]Place, 2*(len(c.Chances)+len(c.Actions)))
	for i := range c.Chances {
		ch := &c.Chances[i]
		places[ch.ID] = placeAt(ch.When, ch.ID, ch.ID)
		places[ch.Began.Revision] = places[ch.ID]
		if ch.Ended {
			places[ch.Finished.Revision] = placeAt(ch.Finish, ch.ID, ch.Finished.Revision)
		}
	}
	for _, list := range [][]replay.Action{c.Actions, c.Strays} {
		for i := range list {
			a := &list[i]
			places[a.ID] = placeAt(a.When, a.ChanceID, a.ID)
			places[a.Mark.Revision] = places[a.ID]
		}
	}
	for _, p := range c.Penalties {
		places[p.ID] = placeAt(p.When, "", p.ID)
	}
	for _, n := range c.Notes {
		places[n.ID] = placeAt(n.When, "", n.ID)
	}
	delete(places, "")
	return places
}
