package replay_test

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// print is a game as a coach could read it, one line a fact.
func print(g *replay.Game) string {
	var b strings.Builder
	for _, f := range g.Findings {
		fmt.Fprintf(&b, "game finding: %s: %s\n", f.What, f.Text)
	}
	for _, c := range g.Charts {
		record := ""
		if c.Name == g.Record {
			record = " (of record)"
		}
		fmt.Fprintf(&b, "chart %s%s\n", c.Name, record)
		for _, p := range c.Possessions {
			fmt.Fprintf(&b, "  possession of %s: %d points\n", p.Offence, p.Points)
			for i := p.First; i < p.First+p.Chances; i++ {
				printChance(&b, c, &c.Chances[i])
			}
		}
		for _, a := range c.Strays {
			fmt.Fprintf(&b, "  stray: %s\n", actionLine(&a))
		}
		printTotals(&b, c)
		for _, e := range c.Exposure {
			fmt.Fprintf(&b, "  on the floor: %s %d chances, %d misses, acted in %d\n", e.Player, e.Chances, e.Misses, e.Acted)
		}
		for _, f := range c.Findings {
			fmt.Fprintf(&b, "  finding: %s: %s\n", f.What, f.Text)
		}
	}
	return b.String()
}

func printChance(b *strings.Builder, c *replay.Chart, ch *replay.Chance) {
	margin := ""
	if ch.Margin != nil {
		margin = fmt.Sprintf(" %+d", *ch.Margin)
	}
	scheme := ""
	if ch.Base != events.Unknown {
		scheme = " against " + string(ch.Base)
	}
	fmt.Fprintf(b, "    %s%s %s%s%s: ", clock(ch.When), margin, ch.Offence, dash(string(ch.Origin)), scheme)
	switch {
	case !ch.Ended:
		fmt.Fprintf(b, "open")
	default:
		fmt.Fprintf(b, "%s, %d points, ball %s", ch.End, ch.Points, orNone(string(ch.Ball)))
	}
	if ch.Attempted > 0 {
		fmt.Fprintf(b, ", %d of %d at the line", ch.Made, ch.Attempted)
	}
	if ch.PointsAfter > 0 {
		fmt.Fprintf(b, ", %d after", ch.PointsAfter)
	}
	b.WriteString("\n")
	for i := ch.First; i < ch.First+ch.Actions; i++ {
		fmt.Fprintf(b, "      %s\n", actionLine(&c.Actions[i]))
	}
}

func actionLine(a *replay.Action) string {
	var marks []string
	if a.Effort > 1 {
		marks = append(marks, fmt.Sprintf("effort %d", a.Effort))
	}
	if a.FirstBreak {
		marks = append(marks, "first break")
	}
	if a.LastOnBall {
		marks = append(marks, "last on ball")
	}
	reading := string(a.Reading)
	if reading == "" {
		reading = "no reading"
	}
	line := fmt.Sprintf("%s %s on %s: %s (%s)", a.Kind, orNone(string(a.Defender)), orNone(string(a.Opponent)), a.Outcome, reading)
	if len(marks) > 0 {
		line += " " + strings.Join(marks, ", ")
	}
	return line
}

func printTotals(b *strings.Builder, c *replay.Chart) {
	var teams []string
	for t := range c.Totals {
		teams = append(teams, string(t))
	}
	sort.Strings(teams)
	for _, team := range teams {
		fmt.Fprintf(b, "  totals %s:", team)
		for _, l := range replay.Lines(c.Totals[events.Token(team)]) {
			if l.Value != 0 {
				fmt.Fprintf(b, " %s %d", l.Name, l.Value)
			}
		}
		b.WriteString("\n")
	}
}

func clock(w events.When) string {
	c := math.NaN()
	if w.Clock != nil {
		c = *w.Clock
	}
	return fmt.Sprintf("%d/%g", w.Period, c)
}

func dash(s string) string {
	if s == "" {
		return ""
	}
	return " " + s
}

func orNone(s string) string {
	if s == "" {
		return "nobody"
	}
	return s
}
