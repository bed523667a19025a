package contrast_test

import (
	"math"
	"slices"
	"testing"

	"stopledger/charting/synth"
	"stopledger/metrics"
	"stopledger/metrics/contrast"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

func season(t *testing.T) *replay.Columns {
	t.Helper()
	o := synth.Defaults()
	o.Games = 4
	s, err := synth.New(o)
	if err != nil {
		t.Fatal(err)
	}
	folded, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	return replay.ColumnsOf(folded, s.People())
}

func named(t *testing.T, name string) *definition.Definition {
	t.Helper()
	d, err := definition.ByName(name)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Each side's numbers are those that its definition gives alone.
func TestBothSidesAreTheirOwnNumbers(t *testing.T) {
	cols := season(t)
	from, to := named(t, "ball-won"), named(t, "no-points")
	r, err := contrast.Of(from, to, cols, []string{"kind"})
	if err != nil {
		t.Fatal(err)
	}
	for side, d := range map[string]*definition.Definition{"old": from, "new": to} {
		alone, err := metrics.Rates(d, cols, []string{"kind"})
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range alone.Groups {
			i := slices.IndexFunc(r.Groups, func(g contrast.Group) bool { return g.Key[0] == want.Key[0] })
			if i < 0 {
				t.Fatalf("%s: kind %s is missing", side, want.Key[0])
			}
			got := r.Groups[i].Old
			if side == "new" {
				got = r.Groups[i].New
			}
			if got == nil || got.Stops != want.Stops || got.StopRate != want.StopRate || got.Points != want.Points {
				t.Errorf("%s %s: %+v; want %+v", side, want.Key[0], got, want)
			}
		}
	}
	for i := 1; i < len(r.Groups); i++ {
		if r.Groups[i].Moved > r.Groups[i-1].Moved {
			t.Errorf("%v moved more than %v and stands behind it", r.Groups[i].Key, r.Groups[i-1].Key)
		}
	}
}

// The flips explain the difference: stops gained and lost, by weight, are the
// difference of the totals.
func TestFlipsAddUpToTheDifference(t *testing.T) {
	cols := season(t)
	from, to := named(t, "ball-won"), named(t, "no-points")
	r, err := contrast.Of(from, to, cols, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Flips) == 0 {
		t.Fatal("nothing flipped between a stop that wants the ball and one that does not")
	}
	v := definition.Apply(to, cols)
	sum := 0.0
	for _, f := range r.Flips {
		if f.Old == f.New {
			t.Errorf("%s decided %+v with the same text on both sides", f.Rule, f)
		}
		switch {
		case f.From == contrast.NoStop && f.To == contrast.Stop:
			sum += v.Trial[f.Action]
		case f.From == contrast.Stop && f.To == contrast.NoStop:
			sum -= v.Trial[f.Action]
		default:
			t.Errorf("%s to %s: these two definitions count the same trials", f.From, f.To)
		}
	}
	if want := r.Total.New.Stops - r.Total.Old.Stops; math.Abs(sum-want) > 1e-9 {
		t.Errorf("the flips are worth %v stops; the totals differ by %v", sum, want)
	}
	rows := 0
	for _, rule := range r.Rules {
		rows += rule.Rows
	}
	if rows != len(r.Flips) {
		t.Errorf("rules turned %d verdicts of %d", rows, len(r.Flips))
	}
}

func TestTheRuleThatDecided(t *testing.T) {
	cols := season(t)
	base := "name: a\nabout: x\nstop:\n  default: 'chance.points == 0'\n"
	parse := func(text string) *definition.Definition {
		d, err := definition.Parse("", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for rule, text := range map[string]string{
		"keep":          base + "keep: 'chance.period == 1'\n",
		"count":         base + "count: 'action.effort == 1'\n",
		"stop.closeout": base + "  closeout: 'action.reading == \"held\"'\n",
		"stop.default":  "name: a\nabout: x\nstop:\n  default: 'chance.points < 2'\n",
	} {
		r, err := contrast.Of(parse(base), parse(text), cols, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Rules) != 1 || r.Rules[0].Rule != rule {
			t.Errorf("%s: decided by %+v", rule, r.Rules)
		}
	}
	keep := base + "keep: '!chance.decided'\n"
	r, err := contrast.Of(parse(keep), parse(keep+"decided: 'chance.period == 2'\n"), cols, nil)
	if err != nil || len(r.Rules) != 1 || r.Rules[0].Rule != "decided" {
		t.Errorf("decided: %+v, %v", r.Rules, err)
	}
	same, err := contrast.Of(parse(base), parse(base), cols, []string{"kind"})
	if err != nil || len(same.Flips) != 0 || same.Groups[0].Moved != 0 {
		t.Errorf("a definition against itself: %d flips, %v", len(same.Flips), err)
	}
}
