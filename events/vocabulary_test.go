package events_test

import (
	"testing"

	"stopledger/events"
)

// At most three outcomes a reading, the held ones first, so that place means
// reading wherever they are shown; no word twice in a kind.
func TestTableShape(t *testing.T) {
	if len(events.Kinds) != 12 {
		t.Errorf("%d kinds, want twelve", len(events.Kinds))
	}
	rank := map[events.Reading]int{events.Held: 0, events.Even: 1, events.Broken: 2}
	for _, k := range events.Kinds {
		count := map[events.Reading]int{}
		seen := map[events.Outcome]bool{}
		last := 0
		for _, o := range k.Outcomes {
			count[o.Reading]++
			if r, ok := rank[o.Reading]; !ok || r < last {
				t.Errorf("%s %s: reading %q out of place", k.Kind, o.Outcome, o.Reading)
			} else {
				last = r
			}
			if o.Gloss == "" {
				t.Errorf("%s %s has no gloss", k.Kind, o.Outcome)
			}
		}
		for reading, n := range count {
			if n > 3 {
				t.Errorf("%s has %d %s outcomes; at most three fit", k.Kind, n, reading)
			}
		}
		for _, o := range events.OutcomesOf(k.Kind) {
			if seen[o.Outcome] {
				t.Errorf("%s takes %s twice", k.Kind, o.Outcome)
			}
			seen[o.Outcome] = true
		}
	}
}

func TestReadings(t *testing.T) {
	for _, tc := range []struct {
		kind    events.Kind
		outcome events.Outcome
		foul    string
		want    events.Reading
	}{
		{events.Drive, "beaten", "", events.Broken},
		{events.Drive, "needed-help", "", events.Even},
		{events.Closeout, "contained", "", events.Held},
		{events.Coverage, "contained", "", events.Held},
		{events.Closeout, "bit", "", events.Broken},
		{events.BoxOut, events.ChargeDrawn, "", events.Held},
		{events.Post, events.NotClear, "", events.Unclear},
		{events.Post, events.BareEven, "", events.Even},
		{events.Drive, events.Fouled, "reach", events.Broken},
		{events.Drive, events.Fouled, "to-give", events.NoReading},
		{events.Transition, events.Fouled, "stop-break", events.NoReading},
	} {
		a := &events.Action{Kind: tc.kind, Outcome: tc.outcome}
		if tc.foul != "" {
			a.Details = events.Details{"foul": {tc.foul}}
		}
		if got := a.Reading(); got != tc.want {
			t.Errorf("%s %s %s reads %q, want %q", tc.kind, tc.outcome, tc.foul, got, tc.want)
		}
	}
}

// Period lengths by rule set: FIBA 2024 4 x 10, NBA 4 x 12, NCAA men 2 x 20,
// NCAA women 4 x 10, overtimes of 5; NFHS 4 x 8, overtime 4. Sources stand
// beside the table in rules.go.
func TestPeriods(t *testing.T) {
	for name, want := range map[events.RuleName][3]float64{
		"fiba": {4, 600, 300}, "nba": {4, 720, 300}, "ncaa-men": {2, 1200, 300}, "ncaa-women": {4, 600, 300}, "nfhs": {4, 480, 240},
	} {
		r, _ := events.RuleSet(name)
		last := int(want[0])
		if r.Periods != last || r.Length(last) != want[1] || r.Length(last+1) != want[2] {
			t.Errorf("%s: %d periods of %g s, overtime %g s; want %v", name, r.Periods, r.Length(last), r.Length(last+1), want)
		}
		if r.Last(last-1) || !r.Last(last) || !r.Last(last+2) || r.Left(last-1, 10) != 10+want[1] {
			t.Errorf("%s: last period or time left is wrong", name)
		}
	}
}
