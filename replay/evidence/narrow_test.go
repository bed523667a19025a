package evidence_test

import (
	"strings"
	"testing"

	"stopledger/replay"
	"stopledger/replay/evidence"
)

// The chances behind a filter are those that the plain search finds.
func TestNarrowKeepsWhatIsAsked(t *testing.T) {
	g := game(t, story...)
	cols := replay.GameColumns(g)
	count := func(filters ...evidence.Filter) (chances, actions int) {
		t.Helper()
		n, err := evidence.Narrow(cols, filters)
		if err != nil {
			t.Fatal(err)
		}
		return n.Chances.Rows, n.Actions.Rows
	}
	is := func(field string, values ...string) evidence.Filter {
		return evidence.Filter{Field: field, Values: values}
	}
	for _, c := range []struct {
		name             string
		filters          []evidence.Filter
		chances, actions int
	}{
		{"nothing asked", nil, 3, 4},
		{"a period leaves chances out", []evidence.Filter{is("chance.period", "1")}, 2, 3},
		{"an opponent's role leaves actions out", []evidence.Filter{is("opponent.role", "guard")}, 3, 2},
		{"any of two kinds", []evidence.Filter{is("action.kind", "drive", "closeout")}, 3, 3},
		{"two filters", []evidence.Filter{is("chance.period", "1"), is("action.kind", "drive")}, 2, 1},
		{"since the day", []evidence.Filter{{Field: "game.date", From: "2031-01-14"}}, 3, 4},
		{"since the day after", []evidence.Filter{{Field: "game.date", From: "2031-01-15"}}, 0, 0},
		{"a value nobody has", []evidence.Filter{is("game.competition", "cup")}, 0, 0},
		{"truths and details", []evidence.Filter{is("action.first_break", "true")}, 3, 2},
	} {
		if chances, actions := count(c.filters...); chances != c.chances || actions != c.actions {
			t.Errorf("%s: %d chances, %d actions; want %d, %d", c.name, chances, actions, c.chances, c.actions)
		}
	}
	n, err := evidence.Narrow(cols, []evidence.Filter{is("chance.period", "2")})
	if err != nil || n.ChanceIDs[0] != cols.ChanceIDs[2] || n.Actions.Column("action.kind").Words[n.Actions.Column("action.kind").Code(0)] != "drive" {
		t.Errorf("the second period's chance did not keep its id and action: %v", err)
	}
	if _, err := evidence.Narrow(cols, []evidence.Filter{is("chance.ploints", "1")}); err == nil || !strings.Contains(err.Error(), "chance.ploints") {
		t.Errorf("a field that is none: %v", err)
	}
}
