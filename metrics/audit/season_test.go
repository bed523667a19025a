package audit_test

import (
	"math"
	"testing"

	"stopledger/charting/synth"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// The invented season knows how far its second charters depart from the truth
// (synth.Truth). Pooled over games, the estimates must find it.
func TestInventedChartersAreRecovered(t *testing.T) {
	s, err := synth.New(synth.Options{Seed: 5, Games: 10, DoubleCharted: 1})
	if err != nil {
		t.Fatal(err)
	}
	season, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range season.Games {
		g.Charts = twoCharts(g) // the focus charts have truths of their own
	}
	found := map[string]audit.CharterReport{}
	for _, c := range audit.Charters(season.Games, audit.Options{}) {
		found[string(c.Charter)] = c
	}
	for _, truth := range s.Truth().Charters {
		c, ok := found[string(truth.Charter)]
		if truth.Chart != "second" {
			continue
		}
		if !ok {
			t.Fatalf("%s charted nothing", truth.Charter)
		}
		a := c.Against
		t.Logf("%s: kind %.3f for %.3f, readings %.3f for %.3f, saw %.3f for %.3f", truth.Charter,
			a.Kind.Kappa.Value, truth.KindKappa, a.Order.Kappa.Value, truth.Linear, *a.Recall, (1-truth.Missed)*(1-truth.Skipped))
		if math.Abs(a.Kind.Kappa.Value-truth.KindKappa) > 0.02 {
			t.Errorf("%s: kappa of kinds %.3f, truth %.3f", truth.Charter, a.Kind.Kappa.Value, truth.KindKappa)
		}
		if math.Abs(a.Order.Kappa.Value-truth.Linear) > 4**a.Order.Kappa.SE {
			t.Errorf("%s: kappa of readings %.3f ± %.3f, truth %.3f", truth.Charter, a.Order.Kappa.Value, *a.Order.Kappa.SE, truth.Linear)
		}
		if math.Abs(*a.Recall-(1-truth.Missed)*(1-truth.Skipped)) > 0.02 {
			t.Errorf("%s: saw %.3f of the actions, truth %.3f", truth.Charter, *a.Recall, (1-truth.Missed)*(1-truth.Skipped))
		}
		if c.PerPlayMinute == nil || *c.PerPlayMinute < 5 || *c.PerPlayMinute > 15 || len(c.Games) != a.Games {
			t.Errorf("%s: %v actions a minute of play, %d games", truth.Charter, c.PerPlayMinute, len(c.Games))
		}
	}
	// One led by the scoreboard leans, where he saw the ball go in, toward broken.
	lean, pairs := 0, 0
	for _, g := range season.Games {
		p := audit.Agree(g.Charts, audit.Options{Resamples: -1}).Pairs[0]
		if c := g.Chart("second").Charters; c[0].Charter == "finn" {
			lean += p.Hindsight.Scored.Harsher - p.Hindsight.Scored.Milder
			pairs += p.Hindsight.Scored.Pairs
		}
	}
	if pairs == 0 || lean <= 0 {
		t.Errorf("hindsight: %d harsher than milder in %d pairs, and finn has it", lean, pairs)
	}
}

// What the invented main charter left wrong is found, and is explained first by
// the slip that was planted.
func TestPlantedSlipsAreExplained(t *testing.T) {
	s, err := synth.New(synth.Options{Seed: 3, Games: 30})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{
		"three-charted-as-two":                      "made three charted as two",
		"free-throw-not-charted":                    "made free throw not charted",
		"defensive-rebound-charted-as-team-rebound": "defensive rebound charted as the team's",
	}
	planted := map[string]synth.Planted{}
	for _, p := range s.Truth().Planted {
		if p.Chart == "main" {
			planted[string(p.Game)] = p
		}
	}
	season, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	met := 0
	for _, g := range season.Games {
		r := audit.Review(g, g.Chart("main"), audit.Limits{})
		p, wrong := planted[string(g.ID)]
		if r.Totals == nil {
			continue // this game's totals were never entered
		}
		if r.Totals.Agrees == wrong {
			t.Errorf("%s: totals agree is %v, planted %q", g.ID, r.Totals.Agrees, p.What)
			continue
		}
		if !wrong {
			continue
		}
		met++
		said := false
		for _, e := range r.Totals.Explanations {
			said = said || len(e.Corrections) == 1 && e.Corrections[0].Text == want[p.What]
		}
		if !said {
			t.Errorf("%s: %s is explained as %+v", g.ID, p.Text, r.Totals.Explanations)
		}
	}
	if met == 0 {
		t.Fatal("no slip was planted in these games")
	}
	t.Logf("%d slips planted and explained", met)
}
