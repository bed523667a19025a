package audit_test

import (
	"fmt"
	"strings"
	"testing"

	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// tellReview prints the review of every chart as a coach would read it.
func tellReview(_ *testing.T, g *replay.Game) string {
	var b strings.Builder
	for _, c := range g.Charts {
		r := audit.Review(g, c, audit.Limits{})
		fmt.Fprintf(&b, "chart %s holds %s\n", c.Name, r.Holds)
		v := r.Coverage
		switch v.Basis {
		case audit.BasisUnknown:
			fmt.Fprintf(&b, "  %d chances held, %d with the defence; played: not known (%s)\n", v.Held, v.Defended, v.Note)
		default:
			fmt.Fprintf(&b, "  %d chances held, %d with the defence, of %.1f played by %s: %.0f %%\n", v.Held, v.Defended, v.Played, v.Basis, 100**v.Share)
		}
		for _, d := range r.Defences {
			fmt.Fprintf(&b, "  defence of %s: charted in %d of %d chances\n", d.Team, d.Charted, d.Chances)
		}
		if p := r.Prospect; p != nil {
			fmt.Fprintf(&b, "  %s: acted %d, not tested %d, not seen %d, unsaid %d\n", p.Player, p.Acted, p.NotTested, p.NotSeen, p.Unsaid)
		}
		for _, f := range r.Findings {
			fmt.Fprintf(&b, "  %s, %s, %s: %s\n", f.Severity, f.Code, f.Place, f.Text)
		}
		tellTotals(&b, r)
	}
	return b.String()
}

// tellOfficial prints how every chart compares with the official totals.
func tellOfficial(_ *testing.T, g *replay.Game) string {
	var b strings.Builder
	for _, c := range g.Charts {
		r := audit.Review(g, c, audit.Limits{})
		fmt.Fprintf(&b, "chart %s holds %s\n", c.Name, r.Holds)
		tellTotals(&b, r)
	}
	return b.String()
}

func tellTotals(b *strings.Builder, r *audit.Report) {
	t := r.Totals
	if t == nil {
		fmt.Fprintf(b, "  totals: %s\n", r.NoTotals)
		return
	}
	if t.Agrees {
		b.WriteString("  totals: agree\n")
	} else {
		fmt.Fprintf(b, "  totals: %s\n", strings.Join(t.Differing(), ", "))
	}
	for i, e := range t.Explanations {
		fmt.Fprintf(b, "    %d. %s\n", i+1, e.Text)
		for _, c := range e.Corrections {
			if len(c.Suspects) > 0 && c.Suspects[0].Evidence != "" {
				fmt.Fprintf(b, "       %s: %s; %s\n", c.Suspects[0].Place, c.Suspects[0].Text, c.Suspects[0].Evidence)
			}
		}
	}
	if t.Note != "" {
		fmt.Fprintf(b, "    %s\n", t.Note)
	}
}

// tellAgreement prints what every two charts of the game agree on.
func tellAgreement(_ *testing.T, g *replay.Game) string {
	var b strings.Builder
	a := audit.Agree(g.Charts, audit.Options{Resamples: -1})
	if !a.Comparable {
		fmt.Fprintf(&b, "not comparable: %s\n", a.Why)
		return b.String()
	}
	for _, p := range a.Pairs {
		if !p.Comparable {
			fmt.Fprintf(&b, "%s and %s: not comparable: %s\n", p.A, p.B, p.Why)
			continue
		}
		fmt.Fprintf(&b, "%s and %s, %s; %s\n", p.A, p.B, p.Common, p.Offset.Text)
		tellSeen(&b, "chances", p.Chances)
		tellSeen(&b, "actions", p.Actions)
		for _, f := range append(append([]audit.Field{}, p.Fields...), p.Order) {
			if f.N > 0 {
				fmt.Fprintf(&b, "  %s: %s\n", f.Name, tellField(f))
			}
		}
		for _, m := range p.Missing {
			fmt.Fprintf(&b, "  missing from %s, %s: %s %s\n", m.From, m.Place, m.What, m.Text)
		}
	}
	for _, f := range a.Alpha {
		switch {
		case f.Units == 0:
		case f.Alpha == nil:
			fmt.Fprintf(&b, "alpha of %s: %s\n", f.Name, f.Note)
		default:
			fmt.Fprintf(&b, "alpha of %s: %.3f over %d things, %d labels\n", f.Name, f.Alpha.Value, f.Units, f.Labels)
		}
	}
	for _, d := range a.Disagreed {
		fmt.Fprintf(&b, "they differ, %s, on %s:\n", d.Place, strings.Join(d.Fields, ", "))
		for _, v := range d.Versions {
			fmt.Fprintf(&b, "  %s: %s\n", v.Chart, v.Text)
		}
	}
	return b.String()
}

func tellSeen(b *strings.Builder, what string, s audit.Seen) {
	fmt.Fprintf(b, "  %s: %d and %d, %d in both", what, s.InA, s.InB, s.Both)
	if s.Note != "" {
		fmt.Fprintf(b, " (%s)", s.Note)
	}
	b.WriteString("\n")
}

func tellField(f audit.Field) string {
	text := fmt.Sprintf("%d pairs, %.0f %% alike", f.N, 100**f.Raw)
	if f.Kappa == nil {
		return text + ", " + f.Note
	}
	return text + fmt.Sprintf(", kappa %.2f", f.Kappa.Value)
}

// tellSettled settles everything in favour of the second chart and prints the
// settled chart.
func tellSettled(t *testing.T, g *replay.Game) string {
	a := audit.Agree(g.Charts, audit.Options{Resamples: -1})
	s, err := a.Settle(g.Charts[0].Name)
	if err != nil {
		t.Fatal(err)
	}
	choices := audit.Choices{}
	for _, d := range s.Disagreements {
		choices[d.ID] = g.Charts[1].Name
	}
	list, err := s.Events(choices, &stamp{}, audit.Writing{By: "ana", Adopt: "settled"})
	if err != nil {
		t.Fatal(err)
	}
	folded := replay.FoldGame("g1", list)
	return tellChart(folded, folded.Chart("settled"))
}

func tellChart(g *replay.Game, c *replay.Chart) string {
	var b strings.Builder
	fmt.Fprintf(&b, "chart %s, of record: %s\n", c.Name, g.Record)
	for i := range c.Chances {
		ch := &c.Chances[i]
		fmt.Fprintf(&b, "  period %d at %g: %s, %s, %d points, %s defence\n", ch.When.Period, *ch.When.Clock, ch.Offence, ch.End, ch.Points, ch.Base)
		for _, a := range c.Actions[ch.First : ch.First+ch.Actions] {
			fmt.Fprintf(&b, "    %g %s %s %s %s", *a.When.Clock, a.Kind, a.Defender, a.Opponent, a.Outcome)
			if a.Details.First("follows") != "" {
				b.WriteString(" (follows one of this chart)")
			}
			b.WriteString("\n")
		}
	}
	for _, n := range c.Notes {
		fmt.Fprintf(&b, "  note: %s\n", n.Text)
	}
	for _, f := range c.Findings {
		fmt.Fprintf(&b, "  finding: %s: %s\n", f.What, f.Text)
	}
	return b.String()
}

// stamp numbers the events of a new chart.
type stamp struct{ n int64 }

func (s *stamp) Stamp(e *events.Event) {
	s.n++
	e.ID = events.ID(fmt.Sprintf("01a00000-0000-7000-8000-%012x", s.n))
	e.Game, e.Chart, e.Charter, e.Pad, e.N = "g1", "settled", "ana", "settling", s.n
}

func TestReviewStories(t *testing.T)    { stories(t, "review.txt", tellReview) }
func TestTotalsStories(t *testing.T)    { stories(t, "totals.txt", tellOfficial) }
func TestAgreementStories(t *testing.T) { stories(t, "agreement.txt", tellAgreement) }
func TestSettlingStories(t *testing.T)  { stories(t, "settling.txt", tellSettled) }
