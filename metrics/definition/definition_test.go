package definition

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stopledger/events"
	"stopledger/replay"
)

func read(t *testing.T, text string) *Definition {
	t.Helper()
	d, err := Parse("test.yaml", []byte("name: mine\nabout: mine\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Layout, comments, quotes, the order of keys and what may be left unsaid do
// not change a definition; anything else does.
func TestHashFollowsMeaning(t *testing.T) {
	base := read(t, "stop: 'chance.points == 0'\nblame: first-break\n").Hash()
	same := []string{
		"# a comment\nblame: first-break\nstop: \"chance.points==0\"\n",
		"stop: {default: 'chance.points   ==  0'}\n",
		"stop:\n  default: >-\n    chance.points\n    == 0\ncount: true\neven: 0.50\n",
		"stop: 'chance.points == 0'\nblame: 'action.first_break ? 1 : 0'\n",
	}
	for _, text := range same {
		if got := read(t, text).Hash(); got != base {
			t.Errorf("another hash for\n%s", text)
		}
	}
	other := []string{
		"stop: 'chance.points == 1'\n",
		"stop: {default: 'chance.points == 0', contest: 'true'}\n",
		"stop: 'chance.points == 0'\nblame: split\n",
		"stop: 'chance.points == 0'\neven: 0.4\n",
		"stop: 'chance.points == 0'\nkeep: '!chance.heave'\n",
		"stop: 'chance.points == 0'\ndecided: 'chance.overtime'\n",
		"stop: 'chance.points == 0'\nassignments: [{name: a, asks: [{kind: drive, share: 1}]}]\n",
		"stop: 'chance.points == 0'\nlevel: {from: college, to: professional}\n",
		"stop: 'chance.points == 0'\nreference: 0.6\n",
		"stop: 'chance.points == 0'\nscheme: {base: man}\n",
		"stop: 'chance.points == 0'\nexamples: [{chance: {end: made-2}, expect: {stop: false}}]\n",
	}
	seen := map[string]string{base: "base"}
	for _, text := range other {
		h := read(t, text).Hash()
		if before, twice := seen[h]; twice {
			t.Errorf("one hash for\n%s\nand\n%s", before, text)
		}
		seen[h] = text
	}
}

// What an expression says of one example, in the words of an example.
func TestExpressions(t *testing.T) {
	cases := []struct{ rule, chance, action, want string }{
		{`1 / 2 == 0.5`, "", "", "true"},
		{`chance.breaks / 2 == 0.5`, "", "outcome: beaten", "true"},
		{`chance.period % 2 == 1`, "", "", "true"},
		{`int(7 / 2) == 3 && double(1) == 1.0`, "", "", "true"},
		{`min(chance.points, 1) + max(2, 3) == 4`, "end: made-2", "", "true"},
		{`1 / chance.points > 0`, "", "", "error"},
		{`chance.points == 0 || 1 / chance.points > 0`, "", "", "true"},
		{`chance.margin > 0`, "margin: null", "", "undecided"},
		{`chance.margin > 0 && chance.points > 0`, "margin: null", "", "false"},
		{`chance.margin > 0 || chance.points == 0`, "margin: null", "", "true"},
		{`has(chance.margin) && chance.margin > 0`, "margin: null", "", "false"},
		{`has(chance.margin)`, "", "", "true"},
		{`!(chance.margin > 0)`, "margin: null", "", "undecided"},
		{`chance.margin > 0 ? true : false`, "margin: null", "", "undecided"},
		{`"saw-late" in action.why`, "", "kind: chase, outcome: hit, why: [feet, saw-late]", "true"},
		{`"saw-late" in action.why`, "", "kind: chase, outcome: hit", "undecided"},
		{`action.why.exists(w, w == "size")`, "", "kind: chase, outcome: hit, why: feet", "false"},
		{`action.why.all(w, w in ["feet", "size"])`, "", "kind: chase, outcome: hit, why: feet", "true"},
		{`size(action.why) == 2 && action.why[1] == "size"`, "", "kind: chase, outcome: hit, why: [feet, size]", "true"},
		{`action.why[2] == "size"`, "", "kind: chase, outcome: hit, why: [feet, size]", "error"},
		{`{"drive": 1, "post": 2}[action.kind] == 2`, "", "kind: post, outcome: pinned", "true"},
		{`{"drive": 1, "post": 2}[action.kind] == 2`, "", "kind: chase, outcome: hit", "error"},
		{`action.kind.startsWith("ball")`, "", "kind: ball-screen, outcome: hit", "true"},
		{`action.reading == "broken"`, "", "kind: drive, outcome: fouled", "true"},
		{`has(action.reading)`, "", "kind: drive, outcome: fouled, foul: to-give", "false"},
		{`chance.ball == "offence"`, "end: missed-3, rebound: offence", "", "true"},
		{`chance.ball == "defence"`, "end: turnover", "", "true"},
		{`has(chance.ball)`, "end: missed-2, rebound: dead", "", "false"},
		{`chance.seconds_left == 720`, "period: 3, clock: 120", "", "true"},
		{`chance.last_period && chance.overtime`, "period: 5, clock: 10", "", "true"},
		{`chance.shot_distance == 5`, "shot_x: 3, shot_y: 4", "", "true"},
		{`chance.decided`, "decided: true", "", "true"},
		{`possession.points == 5`, "end: made-2", "", "false"},
	}
	for _, c := range cases {
		var text strings.Builder
		text.WriteString("stop: >-\n  " + c.rule + "\nexamples:\n  - chance: {" + c.chance + "}\n")
		if c.action != "" {
			text.WriteString("    action: {" + c.action + "}\n")
		}
		text.WriteString("    expect: {stop: " + c.want + "}\n")
		for _, r := range Check(read(t, text.String())) {
			if !r.OK {
				t.Errorf("%s: %s", c.rule, r)
			}
		}
	}
}

// Efforts, order, first break and last on ball of an example follow from its
// actions as the fold makes them follow.
func TestExampleSequence(t *testing.T) {
	d := read(t, `
stop: 'true'
blame: 'action.effort * 10 + action.order + (action.first_break ? 100 : 0) + (action.last_on_ball ? 1000 : 0)'
cost: '11111'
examples:
  - actions:
      - {kind: drive, outcome: stopped, defender: a}
      - {kind: closeout, outcome: late, defender: a}
      - {kind: rotation, outcome: never-came, defender: b}
    expect: {team: 0}
`)
	cols, _ := d.Examples[0].columns()
	v := Apply(d, cols)
	// Weights 11, 1122 and 13, worked out by hand; shares of 11111.
	for i, weight := range []float64{11, 1122, 13} {
		if want := 11111 * weight / (11 + 1122 + 13); !near(v.Points[i], want) {
			t.Errorf("action %d answers for %v, want %v", i+1, v.Points[i], want)
		}
	}
	if got := cols.Chances.Column("chance.breaks"); got.Numbers[got.Code(0)] != 2 {
		t.Errorf("breaks %v, want 2", got.Numbers[got.Code(0)])
	}
}

// Trials by hand: two drives and a contest of one man in a chance are two
// trials of half a weight; the drive reads broken because one of them does.
func TestTrials(t *testing.T) {
	d := read(t, `
stop: 'action.reading == "held"'
examples:
  - actions:
      - {kind: drive, outcome: stopped, defender: a}
      - {kind: drive, outcome: beaten, defender: a}
      - {kind: contest, outcome: hand-up, defender: a}
      - {kind: drive, outcome: stopped, defender: b}
    expect: {team: 0}
`)
	cols, _ := d.Examples[0].columns()
	v := Apply(d, cols)
	for i, want := range []float64{0, 0.5, 0.5, 1} {
		if v.Trial[i] != want {
			t.Errorf("action %d has trial weight %v, want %v", i+1, v.Trial[i], want)
		}
	}
	table, err := Tally(d, cols, []string{"defender", "kind"})
	if err != nil {
		t.Fatal(err)
	}
	if len(table.Groups) != 3 {
		t.Fatalf("%d groups, want 3", len(table.Groups))
	}
	if g := table.Groups[1]; g.Key[1] != "drive" || g.Actions != 2 || g.Trials != 1 || g.Stops != 0 || g.Weight != 0.5 || g.BrokenWeight != 0.5 {
		t.Errorf("his drives: %+v", g)
	}
	if g := table.Total; g.Actions != 4 || g.Trials != 3 || g.Weight != 2 || g.Stops != 1.5 || g.Chances != 1 || g.Games != 1 {
		t.Errorf("all: %+v", g)
	}
}

func TestFieldDocsCoverReplayFields(t *testing.T) {
	docs := map[string]FieldDoc{}
	for _, d := range FieldDocs() {
		docs[d.Name] = d
		if d.Gloss == "" {
			t.Errorf("%s has no gloss", d.Name)
		}
	}
	for _, f := range replay.Fields {
		names := []string{f.Name}
		if f.Of == replay.OfPlayer {
			short := strings.TrimPrefix(f.Name, "player.")
			names = []string{"defender." + short, "opponent." + short}
		}
		for _, name := range names {
			if _, ok := docs[name]; !ok {
				t.Errorf("%s is not documented", name)
			}
		}
	}
	if _, ok := docs[decidedField]; !ok {
		t.Error("chance.decided is not documented")
	}
}

func TestCatalogueRefusesASecondOfOneName(t *testing.T) {
	c, err := NewCatalogue(Shipped()...)
	if err != nil {
		t.Fatal(err)
	}
	mine, err := Parse("mine.yaml", []byte("name: ball-won\nabout: mine\nstop: 'true'\n"))
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Add(mine); err == nil || err.Error() != `ball-won.yaml and mine.yaml both define "ball-won"; rename one of them` {
		t.Errorf("got %v", err)
	}
	if d, err := c.ByName("ball-won"); err != nil || d.File != "ball-won.yaml" {
		t.Errorf("the first is gone: %v %v", d, err)
	}
	if _, err := c.ByName("ballwon"); err == nil || err.Error() != `no definition is called "ballwon"; did you mean "ball-won"?` {
		t.Errorf("got %v", err)
	}
}

// The seven jobs that a defender could be given, wherever a definition brings
// none of its own.
func TestShippedAssignments(t *testing.T) {
	want := []string{"switch-onto-guards", "stay-with-wings", "chase-shooters-off-screens", "low-man-help", "close-out-and-contain", "hold-post-mismatches", "finish-on-the-glass"}
	for i, a := range Default().Assignments {
		if i >= len(want) || a.Name != want[i] {
			t.Errorf("assignment %d is %s", i, a.Name)
		}
		if a.About == "" {
			t.Errorf("%s does not say what it is", a.Name)
		}
	}
	first := Default().Assignments[0].Asks[0]
	if first != (Ask{Kind: events.Drive, Role: events.Guard, CameBy: "switch", Share: 0.45}) {
		t.Errorf("a switch onto a guard is one he was switched onto; got %+v", first)
	}
	if n := len(Default().Assignments); n != len(want) {
		t.Errorf("%d assignments", n)
	}
}

func TestDimensionsAreRefusedByName(t *testing.T) {
	cols := replay.NewColumns()
	for name, want := range map[string]string{
		"defendr":        `cannot group by "defendr"; did you mean "defender"?`,
		"chance.clock":   `cannot group by chance.clock: it is a measured number`,
		"chance.decided": `cannot group by chance.decided: it is the definition's own`,
	} {
		if _, err := Tally(Default(), cols, []string{name}); err == nil || err.Error() != want {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := Tally(Default(), cols, []string{"kind", "kind"}); err == nil {
		t.Error("kind twice accepted")
	}
	if table, err := Tally(Default(), cols, []string{"kind"}); err != nil || len(table.Groups) != 0 || table.Total.Actions != 0 {
		t.Errorf("nothing charted: %+v, %v", table, err)
	}
}

// The index of cells against a map, with keys that collide.
func TestCellIndex(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, want := newCellIndex(), map[uint64]uint32{}
		step := rapid.SampledFrom([]uint64{1, 1 << 20, 1 << 44, 0x10001}).Draw(t, "step")
		for i := range rapid.IntRange(0, 3000).Draw(t, "keys") {
			key := uint64(i%2500) * step
			if _, ok := want[key]; !ok {
				want[key] = uint32(i)
				x.put(key, uint32(i))
			}
		}
		for key, cell := range want {
			if got, ok := x.find(key); !ok || got != cell {
				t.Fatalf("key %d: cell %d, %v; want %d", key, got, ok, cell)
			}
		}
		if _, ok := x.find(uint64(5000) * step); ok {
			t.Fatalf("found a key that was never put in")
		}
	})
}
