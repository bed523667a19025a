package definition

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"stopledger/replay"
)

// One chance of two actions, worked out by hand: the drive was beaten and the
// wing's contest came late; two points.
func TestChangesNameTheRule(t *testing.T) {
	const with = `
examples:
  - chance: {end: made-2}
    actions:
      - {kind: drive, outcome: beaten, defender: ball}
      - {kind: contest, outcome: late-hand, defender: wing}
    expect: {team: 0}
`
	type list = []Change
	cases := []struct {
		before, after  string
		drive, contest list
	}{
		{"stop: 'chance.points == 0'", "stop: 'chance.points <= 2'",
			list{{"stop.default", "false", "true"}}, list{{"stop.default", "false", "true"}}},
		{"stop: 'chance.points == 0'", "stop: {default: 'chance.points == 0', contest: 'action.reading != \"broken\"'}",
			nil, list{{"stop.contest", "false", "true"}}},
		{"stop: 'true'", "stop: 'true'\ncount: 'action.kind != \"contest\"'",
			nil, list{{"count", "true", "false"}}},
		{"stop: 'true'", "stop: 'true'\nblame: everyone", // the drive shares now, by the other's weight
			nil, list{{"blame", "0", "1"}}},
		{"stop: 'true'\nkeep: '!chance.decided'", "stop: 'true'\nkeep: '!chance.decided'\ndecided: 'chance.margin == 0'",
			list{{"decided", "false", "true"}, {"keep", "true", "false"}}, list{{"decided", "false", "true"}, {"keep", "true", "false"}}},
		{"stop: 'true'", "stop: 'action.x > 1'",
			list{{"stop.default", "true", "undecided: action.x unknown"}}, list{{"stop.default", "true", "undecided: action.x unknown"}}},
		{"stop: 'true'", "stop: 'true'\ncost: 'chance.points + 1'",
			list{{"cost.default", "2", "3"}}, list{{"cost.default", "2", "3"}}},
	}
	for _, c := range cases {
		before, after := read(t, c.before+with), read(t, c.after+"\n")
		cols, _ := before.Examples[0].columns()
		x := NewExplainer(before, after, cols)
		for i, want := range []list{c.drive, c.contest} {
			got := x.Changes(i)
			if len(got) != len(want) {
				t.Errorf("%s to %s: action %d: got %v, want %v", c.before, c.after, i, got, want)
				continue
			}
			for k := range want {
				if got[k] != want[k] {
					t.Errorf("%s to %s: action %d: got %v, want %v", c.before, c.after, i, got[k], want[k])
				}
			}
		}
	}
}

// A definition does not differ from itself, and an action that one counts or
// takes for a stop and the other does not has a rule to name.
func TestEveryFlipHasARule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cols := drawColumns(t)
		parse := func() *Definition {
			d, err := Parse("drawn.yaml", []byte(drawDefinition(t)))
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		a, b := parse(), parse()
		same, differ := NewExplainer(a, a, cols), NewExplainer(a, b, cols)
		was, is := Apply(a, cols), Apply(b, cols)
		for row := range cols.Actions.Rows {
			if got := same.Changes(row); got != nil {
				t.Fatalf("action %d: %v against itself", row, got)
			}
			if (was.In[row] != is.In[row] || was.Stop[row] != is.Stop[row]) && differ.Changes(row) == nil {
				t.Fatalf("action %d: no rule for %v %v and %v %v", row, was.In[row], was.Stop[row], is.In[row], is.Stop[row])
			}
			if math.Abs(was.Points[row]-is.Points[row]) > 1e-9 && !anyChange(differ, cols, row) {
				t.Fatalf("action %d: no rule of its chance for %v and %v points", row, was.Points[row], is.Points[row])
			}
		}
	})
}

func anyChange(x *Explainer, cols *replay.Columns, row int) bool {
	for other, chance := range cols.ActionChance {
		if chance == cols.ActionChance[row] && x.Changes(other) != nil {
			return true
		}
	}
	return false
}
