package audit_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stopledger/charting/synth"
	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// oneGame is the events of one invented game charted twice.
func oneGame(t *testing.T) []events.Event {
	t.Helper()
	s, err := synth.New(synth.Options{Seed: 9, Games: 1, DoubleCharted: 1})
	if err != nil {
		t.Fatal(err)
	}
	var list []events.Event
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, e)
	}
	return list
}

// Whatever of two charts arrives, and in whatever scope they say they were made,
// every result is there, encodes as JSON (which refuses NaN), and settles.
func TestAnyDamageGivesAnAnswer(t *testing.T) {
	// Half a game is as good for this, and quicker.
	all := slices.DeleteFunc(oneGame(t), func(e events.Event) bool { return e.When.Period > 2 })
	rapid.Check(t, func(t *rapid.T) {
		keep := rapid.IntRange(0, 100).Draw(t, "percent kept")
		step := rapid.IntRange(1, 97).Draw(t, "step")
		noClocks := rapid.Bool().Draw(t, "no clocks")
		opened := rapid.IntRange(0, 3).Draw(t, "opened") > 0
		var list []events.Event
		for i, e := range all {
			if (e.Type != "game-opened" || !opened) && i*step%100 >= keep {
				continue
			}
			if s, ok := e.Body.(*events.ChartScoped); ok && rapid.Bool().Draw(t, "other scope") {
				scope := *s
				scope.Focus = events.Token(rapid.SampledFrom([]string{"", "bdw-36", "bdw-12", "nobody"}).Draw(t, "focus"))
				scope.From = events.When{Period: rapid.IntRange(0, 5).Draw(t, "from")}
				scope.To = events.When{Period: rapid.IntRange(0, 5).Draw(t, "to")}
				e.Body = &scope
			}
			if noClocks {
				e.When.Clock = nil
			}
			list = append(list, e)
		}
		g := replay.FoldGame("g1", list)
		for _, c := range g.Charts {
			encode(t, audit.Review(g, c, audit.Limits{}))
		}
		a := audit.Agree(g.Charts, audit.Options{Resamples: 40})
		encode(t, a)
		if !a.Comparable && a.Why == "" {
			t.Error("not comparable, and nothing says why")
		}
		encode(t, audit.Charters([]*replay.Game{g}, audit.Options{Resamples: -1}))
		if !a.Comparable {
			return
		}
		encode(t, audit.Train(g.Charts[0], g.Charts[1], audit.Options{Resamples: -1}))
		s, err := a.Settle(g.Charts[0].Name)
		if err != nil {
			t.Fatal(err)
		}
		choices := audit.Choices{}
		for i, d := range s.Disagreements {
			choices[d.ID] = d.Versions[i%len(d.Versions)].Chart
		}
		if _, err := s.Events(choices, &stamp{}, audit.Writing{}); err != nil {
			t.Error(err)
		}
	})
}

func encode(t *rapid.T, v any) {
	if _, err := json.Marshal(v); err != nil {
		t.Errorf("%T: %v", v, err)
	}
}

// Ids play no part: a chart under new ids agrees as the old one did.
func TestIdsPlayNoPart(t *testing.T) {
	g := replay.FoldGame("g1", oneGame(t))
	first := twoCharts(g)
	renamed := *first[1]
	renamed.Chances, renamed.Actions = slices.Clone(renamed.Chances), slices.Clone(renamed.Actions)
	for i := range renamed.Chances {
		renamed.Chances[i].ID = events.ID(fmt.Sprintf("%08x-0000-7000-8000-000000000000", len(renamed.Chances)-i))
	}
	for i := range renamed.Actions {
		renamed.Actions[i].ID = events.ID(fmt.Sprintf("%08x-0000-7000-8000-000000000001", len(renamed.Actions)-i))
	}
	a := audit.Agree(first, audit.Options{})
	b := audit.Agree([]*replay.Chart{first[0], &renamed}, audit.Options{})
	a.Pairs[0].Missing, b.Pairs[0].Missing = nil, nil // these name ids
	x, _ := json.Marshal(a.Pairs)
	y, _ := json.Marshal(b.Pairs)
	if string(x) != string(y) {
		t.Errorf("ids change the agreement:\n%s\n%s", x, y)
	}
}

// Exchanging the charts exchanges precision and recall and leaves every kappa.
func TestExchangingTheCharts(t *testing.T) {
	two := twoCharts(replay.FoldGame("g1", oneGame(t)))
	p := audit.Agree(two, audit.Options{Resamples: -1}).Pairs[0]
	q := audit.Agree([]*replay.Chart{two[1], two[0]}, audit.Options{Resamples: -1}).Pairs[0]
	if p.Actions.Precision.Value != q.Actions.Recall.Value || p.Actions.Recall.Value != q.Actions.Precision.Value || p.Offset.Seconds != -q.Offset.Seconds {
		t.Errorf("%+v and %+v", p.Actions, q.Actions)
	}
	for i, f := range p.Fields {
		other := q.Fields[i]
		if (f.Kappa == nil) != (other.Kappa == nil) || f.N != other.N || f.Kappa != nil && abs(f.Kappa.Value-other.Kappa.Value) > 1e-9 {
			t.Errorf("%s: %+v and %+v", f.Name, f, other)
		}
	}
}

func abs(x float64) float64 { return max(x, -x) }
