package audit

import (
	"fmt"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// freeThrowFactor is the share of free throws that end a possession.
const freeThrowFactor = 0.44

// Possessions estimates a team's possessions from its totals:
// FGA + 0.44 FTA − OREB + TOV.
//
// Source: Kubatko J, Oliver D, Pelton K, Rosenbaum DT (2007) A Starting Point
// for Analyzing Basketball Statistics, Journal of Quantitative Analysis in
// Sports 3(3), article 1.
func Possessions(t events.Totals) float64 { return Plays(t) - float64(t.OReb) }

// Plays estimates a team's chances from its totals: its possessions and one
// more for each offensive rebound, FGA + 0.44 FTA + TOV.
func Plays(t events.Totals) float64 {
	return float64(t.FGA) + freeThrowFactor*float64(t.FTA) + float64(t.Tov)
}

// Comparison is a chart beside the official totals.
type Comparison struct {
	Teams        []TeamTotals  `json:"teams"` // home first
	Agrees       bool          `json:"agrees"`
	Explanations []Explanation `json:"explanations"` // of every difference at once, the likeliest first
	// The two teams take turns, so the mean of both is the better estimate of
	// either's possessions.
	MeanCharted  float64 `json:"mean_charted"`
	MeanOfficial float64 `json:"mean_official"`
	Note         string  `json:"note,omitempty"`
}

// TeamTotals is one team's lines.
type TeamTotals struct {
	Team        events.Token    `json:"team"`
	Lines       []Line          `json:"lines"`
	Possessions PossessionCheck `json:"possessions"`
}

// Line is one line of the box score.
type Line struct {
	Name       string `json:"name"` // as in totals-entered
	Charted    int    `json:"charted"`
	Official   int    `json:"official"`
	Difference int    `json:"difference"` // Charted − Official
	// Asked is false for a line the chart did not set out to hold.
	Asked bool `json:"asked"`
}

// PossessionCheck sets possessions charted beside the estimate from totals.
type PossessionCheck struct {
	Charted  int     `json:"charted"`  // possessions of the chart with at least one try
	Chances  int     `json:"chances"`  // chances of the chart
	Official float64 `json:"official"` // estimated from the official totals
	Chart    float64 `json:"chart"`    // estimated from the chart's own totals
	Plays    float64 `json:"plays"`    // chances estimated from the official totals
}

// compareTotals sets the chart beside the official totals, as far as it set out
// to hold them: of a chart of one end that is the opponents' attack and the
// team's own defensive rebounds. Why there is nothing is the second value.
func (r *review) compareTotals() (*Comparison, string) {
	official := r.official()
	switch {
	case official == nil:
		return nil, "no official totals were entered"
	case r.scope.focus != "":
		return nil, "a one-player chart does not add up to a game"
	case r.scope.windowed:
		return nil, "the chart holds part of a game, and official totals are of the whole"
	}
	info := r.chart.Info
	out := &Comparison{Agrees: true, Explanations: []Explanation{}}
	for _, team := range []events.Token{info.Home.ID, info.Away.ID} {
		theirs, known := official.Teams[team]
		if !known {
			out.Note = fmt.Sprintf("the official totals lack %s", team)
			continue
		}
		t := TeamTotals{Team: team, Possessions: r.possessions(team, theirs)}
		ours := replay.Lines(r.chart.Totals[team])
		for i, line := range replay.Lines(theirs) {
			l := Line{line.Name, ours[i].Value, line.Value, ours[i].Value - line.Value, r.asksLine(team, line.Name)}
			out.Agrees = out.Agrees && (!l.Asked || l.Difference == 0)
			t.Lines = append(t.Lines, l)
		}
		out.Teams = append(out.Teams, t)
	}
	for _, t := range out.Teams {
		out.MeanCharted += float64(t.Possessions.Charted) / float64(len(out.Teams))
		out.MeanOfficial += t.Possessions.Official / float64(len(out.Teams))
	}
	if len(out.Teams) == 0 {
		return nil, "the official totals name neither team"
	}
	if !out.Agrees {
		r.explain(out, official)
	}
	return out, ""
}

// asksLine reports whether a team's line is one that the chart set out to hold.
func (r *review) asksLine(team events.Token, name string) bool {
	if name == "dreb" {
		return r.scope.defends(team)
	}
	return r.scope.defends(opponentOf(r.chart.Info, team))
}

func (r *review) possessions(team events.Token, official events.Totals) PossessionCheck {
	c := r.chart
	p := PossessionCheck{Official: Possessions(official), Plays: Plays(official), Chart: Possessions(c.Totals[team])}
	for i := range c.Possessions {
		tries := 0
		for j := c.Possessions[i].First; j < c.Possessions[i].First+c.Possessions[i].Chances; j++ {
			if ch := &c.Chances[j]; ch.Offence == team && ch.Opportunity() {
				tries++
			}
		}
		p.Chances += tries
		if tries > 0 {
			p.Charted++
		}
	}
	return p
}

// Differing lists the lines that differ, as "hbr points 1 under".
func (c *Comparison) Differing() []string {
	var out []string
	for _, t := range c.Teams {
		for _, l := range t.Lines {
			switch {
			case !l.Asked || l.Difference == 0:
			case l.Difference < 0:
				out = append(out, fmt.Sprintf("%s %s %d under", t.Team, plain(l.Name), -l.Difference))
			default:
				out = append(out, fmt.Sprintf("%s %s %d over", t.Team, plain(l.Name), l.Difference))
			}
		}
	}
	return out
}

var lineWords = strings.NewReplacer("three_a", "three-point attempts", "three_m", "three-pointers", "fga", "shots", "fgm", "made shots",
	"fta", "free throws", "ftm", "made free throws", "oreb", "offensive rebounds", "dreb", "defensive rebounds", "tov", "turnovers")

func plain(line string) string { return lineWords.Replace(line) }
