package definition

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// One chance of two actions, worked out by hand: the drive was beaten and the
// wing's contest came late; two points.
func TestCompareNamesTheRuleThatFlipped(t *testing.T) {
	const with = `
examples:
  - chance: {end: made-2}
    actions:
      - {kind: drive, outcome: beaten, defender: ball}
      - {kind: contest, outcome: late-hand, defender: wing}
    expect: {team: 0}
`
	cases := []struct {
		before, after string
		want          []string
	}{
		{"stop: 'chance.points == 0'", "stop: 'chance.points <= 2'", []string{
			"0: yes/no/2 to yes/yes/2, stop.default from false to true",
			"1: yes/no/0 to yes/yes/0, stop.default from false to true",
		}},
		{"stop: 'chance.points == 0'", "stop: {default: 'chance.points == 0', contest: 'action.reading != \"broken\"'}", []string{
			"1: yes/no/0 to yes/yes/0, stop.contest from false to true",
		}},
		{"stop: 'true'", "stop: 'true'\ncount: 'action.kind != \"contest\"'", []string{
			"1: yes/yes/0 to no/no/0, count from true to false",
		}},
		{"stop: 'true'", "stop: 'true'\nblame: everyone", []string{
			"0: yes/yes/2 to yes/yes/1, blame of others from 2 to 1",
			"1: yes/yes/0 to yes/yes/1, blame from 0 to 1",
		}},
		{"stop: 'true'\nkeep: '!chance.decided'", "stop: 'true'\nkeep: '!chance.decided'\ndecided: 'chance.margin == 0'", []string{
			"0: yes/yes/2 to no/no/0, decided from false to true, keep from true to false",
			"1: yes/yes/0 to no/no/0, decided from false to true, keep from true to false",
		}},
		{"stop: 'true'", "stop: 'action.x > 1'", []string{
			"0: yes/yes/2 to yes/undecided/2, stop.default from true to undecided: action.x unknown",
			"1: yes/yes/0 to yes/undecided/0, stop.default from true to undecided: action.x unknown",
		}},
	}
	for _, c := range cases {
		head := "name: mine\nabout: mine\n"
		before, err := Parse("before.yaml", []byte(head+c.before+with))
		if err != nil {
			t.Fatal(err)
		}
		after, err := Parse("after.yaml", []byte(head+c.after+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		cols, _ := before.Examples[0].columns()
		var got []string
		for _, f := range Compare(before, after, cols, 10).Flips {
			text := fmt.Sprintf("%d: %v/%v/%v to %v/%v/%v", f.Action, f.Before.In, f.Before.Stop, f.Before.Points, f.After.In, f.After.Stop, f.After.Points)
			for _, b := range f.Because {
				text += fmt.Sprintf(", %s from %s to %s", b.Rule, b.Before, b.After)
			}
			got = append(got, text)
		}
		if strings.Join(got, "\n") != strings.Join(c.want, "\n") {
			t.Errorf("%s\nto %s: got\n%s\nwant\n%s", c.before, c.after, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}

// Comparing a definition with itself finds nothing; every flip has a reason.
func TestCompareFindsWhatDiffers(t *testing.T) {
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
		if c := Compare(a, a, cols, 5); c.Actions != 0 {
			t.Fatalf("%d flips against itself", c.Actions)
		}
		c := Compare(a, b, cols, cols.Actions.Rows)
		if len(c.Flips) != c.Actions {
			t.Fatalf("%d flips listed of %d", len(c.Flips), c.Actions)
		}
		for _, f := range c.Flips {
			if len(f.Because) == 0 {
				t.Fatalf("no reason for %+v", f)
			}
		}
	})
}
