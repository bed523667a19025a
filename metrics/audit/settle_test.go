package audit_test

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// plainOf is what a chart says of play, without ids and bookkeeping.
func plainOf(c *replay.Chart, clocks bool) []string {
	var out []string
	for i := range c.Chances {
		ch := &c.Chances[i]
		line := fmt.Sprint(ch.When.Period, ch.Offence, ch.Origin, ch.Tempo, ch.End, ch.Turnover, ch.Shooter, ch.Rebound, ch.ReboundBy, ch.TeamBoard,
			ch.Made, ch.Attempted, ch.Points, ch.Heave, ch.StealBy, ch.BlockedBy, ch.LostBy)
		if clocks {
			line += fmt.Sprint(clockOf(ch.When), clockOf(ch.Finish), ch.Base, ch.Principle, ch.Ball, ch.Number, ch.OnFloor, ch.OffenceFloor)
			if ch.Margin != nil {
				line += fmt.Sprint(" ", *ch.Margin)
			}
		}
		out = append(out, line)
		for _, a := range c.Actions[ch.First : ch.First+ch.Actions] {
			out = append(out, fmt.Sprint("  ", a.Kind, a.Defender, a.Opponent, a.Outcome, a.Reading, a.Order, a.Effort, a.FirstBreak, a.LastOnBall))
		}
	}
	return out
}

func clockOf(w events.When) float64 {
	if w.Clock == nil {
		return math.NaN()
	}
	return *w.Clock
}

// With no choice made the settled chart is the base, fact by fact.
func TestNothingChosenLeavesTheBase(t *testing.T) {
	for _, g := range doubleCharted(t, 3).Games {
		s := settling(t, g)
		folded := settle(t, s, audit.Choices{})
		base := g.Chart("main")
		compareLines(t, plainOf(folded, true), plainOf(base, true))
		if !reflect.DeepEqual(folded.Totals, base.Totals) || !reflect.DeepEqual(folded.Exposure, base.Exposure) {
			t.Error("totals or exposure differ from the base's")
		}
		if folded.Closed != base.Closed || len(folded.Penalties) != len(base.Penalties) {
			t.Error("the close or the penalty shots are lost")
		}
	}
}

// With every choice for the other chart the settled chart says what that one
// says, on the base's clock.
func TestEverythingChosenGivesTheOther(t *testing.T) {
	for _, g := range doubleCharted(t, 3).Games {
		s := settling(t, g)
		choices := audit.Choices{}
		for _, d := range s.Disagreements {
			choices[d.ID] = "second"
		}
		folded := settle(t, s, choices)
		again := audit.Agree([]*replay.Chart{folded, g.Chart("second")}, audit.Options{Resamples: -1})
		for _, d := range again.Disagreed {
			t.Errorf("%s: still different on %v: %s against %s", d.Place, d.Fields, d.Versions[0].Text, d.Versions[1].Text)
		}
		if p := again.Pairs[0]; p.Actions.InA != p.Actions.InB || p.Actions.Both != p.Actions.InA {
			t.Errorf("actions %+v", p.Actions)
		}
		if len(folded.Notes) < len(s.Disagreements) {
			t.Errorf("%d notes for %d choices", len(folded.Notes), len(s.Disagreements))
		}
	}
}

func settling(t *testing.T, g *replay.Game) *audit.Settling {
	t.Helper()
	s, err := audit.Agree(twoCharts(g), audit.Options{Resamples: -1}).Settle("main")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func settle(t *testing.T, s *audit.Settling, choices audit.Choices) *replay.Chart {
	t.Helper()
	list, err := s.Events(choices, &stamp{}, audit.Writing{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range list {
		if err := events.Check(&list[i]); err != nil {
			t.Fatalf("event %d: %v", i, err)
		}
	}
	return replay.FoldGame("g1", list).Chart("settled")
}

func compareLines(t *testing.T, got, want []string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%d lines, want %d", len(got), len(want))
	}
	for i := range min(len(got), len(want)) {
		if got[i] != want[i] {
			t.Errorf("line %d\n got %s\nwant %s", i, got[i], want[i])
			return
		}
	}
}

// heldAtScreens is a measure as a caller may plug one in.
var heldAtScreens = audit.Measure{Name: "screens held", Of: func(g *replay.Game) (float64, bool) {
	n, held := 0.0, 0.0
	for _, a := range g.OfRecord().Actions {
		if a.Kind == events.BallScreen {
			n++
			if a.Reading == events.Held {
				held++
			}
		}
	}
	return held / max(n, 1), n > 0
}}

// Each move must be what settling that one disagreement does, and the furthest
// come first.
func TestWeighing(t *testing.T) {
	s := settling(t, doubleCharted(t, 1).Games[0])
	moves, err := s.Weigh([]audit.Measure{heldAtScreens})
	if err != nil {
		t.Fatal(err)
	}
	if len(moves) != len(s.Disagreements) {
		t.Fatalf("%d moves for %d disagreements", len(moves), len(s.Disagreements))
	}
	last := math.Inf(1)
	for i, m := range moves {
		size := math.Abs(*m.Changes[0].To - *m.Changes[0].From)
		if size > last+1e-12 {
			t.Fatalf("move %d goes farther than the one before it", i)
		}
		last = size
	}
	top := audit.Choices{}
	for _, m := range moves[:7] {
		top[m.ID] = m.Chart
	}
	effect, err := s.Effect(top, []audit.Measure{heldAtScreens})
	if err != nil {
		t.Fatal(err)
	}
	want, _ := heldAtScreens.Of(&replay.Game{Record: "settled", Charts: []*replay.Chart{settle(t, s, top)}})
	if *effect[0].To != want || *effect[0].From == want {
		t.Errorf("seven together: from %g to %g, the settled chart says %g", *effect[0].From, *effect[0].To, want)
	}
}

func TestSettlingRefuses(t *testing.T) {
	g := doubleCharted(t, 1).Games[0]
	a := audit.Agree(twoCharts(g), audit.Options{Resamples: -1})
	if _, err := a.Settle("third"); err == nil {
		t.Error("a base that is none of the charts passes")
	}
	s, err := a.Settle("second")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Events(audit.Choices{"nonsense": "main"}, &stamp{}, audit.Writing{}); err == nil {
		t.Error("a choice about nothing passes")
	}
	if _, err := s.Events(audit.Choices{s.Disagreements[0].ID: "third"}, &stamp{}, audit.Writing{}); err == nil {
		t.Error("a choice for a chart that has no say passes")
	}
	if _, err := audit.Agree([]*replay.Chart{g.Charts[0]}, audit.Options{}).Settle("main"); err == nil {
		t.Error("one chart can be settled")
	}
}

// A learner beside the settled chart of the same game.
func TestTraining(t *testing.T) {
	g := doubleCharted(t, 1).Games[0]
	tr := audit.Train(g.Chart("second"), g.Chart("main"), audit.Options{Resamples: -1})
	if tr.Why != "" || len(tr.Differs) == 0 || len(tr.Confusions) == 0 {
		t.Fatalf("%s; %d differences, %d confusions", tr.Why, len(tr.Differs), len(tr.Confusions))
	}
	missed, extra := 0, 0
	for _, row := range tr.Missed {
		missed += row.Missed
		extra += row.Extra
	}
	if s := tr.Pair.Actions; missed != s.InB-s.Both || extra != s.InA-s.Both {
		t.Errorf("missed %d and extra %d of %+v", missed, extra, s)
	}
	times := 0
	for _, c := range tr.Confusions {
		if c.Times > c.Of || c.Settled == c.Learner {
			t.Errorf("%+v", c)
		}
		if c.Field == "reading" {
			times += c.Times
		}
	}
	reading := tr.Pair.Fields[slices.IndexFunc(tr.Pair.Fields, func(f audit.Field) bool { return f.Name == "reading" })]
	if want := int(math.Round(float64(reading.N) * (1 - *reading.Raw))); times != want {
		t.Errorf("%d readings confused, %d differ", times, want)
	}
	if tr := audit.Train(g.Chart("second"), &replay.Chart{Name: "none"}, audit.Options{}); tr.Why == "" {
		t.Error("an empty chart can be compared")
	}
	if _, err := json.Marshal(tr); err != nil {
		t.Error(err)
	}
}
