package metrics

import (
	"fmt"
	"strings"
	"testing"
)

// one is an assignment of drives by guards alone, without a step in level.
const one = `assignments:
  - name: on-the-ball
    asks:
      - {kind: drive, role: guard, share: 1.0}
`

// guards writes games of drives by guards: for each defender how many he held,
// and how many beat him, a game.
func guards(games int, held, beaten map[string]int) string {
	var b strings.Builder
	for g := range games {
		fmt.Fprintf(&b, "game g%d hbr-3:guard hbr-4:guard", g+1)
		for n := 1; n <= 9; n++ {
			fmt.Fprintf(&b, " mil-%d:guard", n)
		}
		b.WriteString("\n")
		for n := 1; n <= 9; n++ {
			id := fmt.Sprintf("mil-%d", n)
			if held[id] > 0 {
				fmt.Fprintf(&b, "%dx missed-2: drive %s hbr-3 stopped\n", held[id], id)
			}
			if beaten[id] > 0 {
				fmt.Fprintf(&b, "%dx made-2: drive %s hbr-3 beaten\n", beaten[id], id)
			}
		}
	}
	return b.String()
}

// A word is said when film of his own says so, and not before.
func TestWords(t *testing.T) {
	held := map[string]int{"mil-1": 2, "mil-2": 10, "mil-3": 6, "mil-4": 6, "mil-5": 6, "mil-6": 6, "mil-7": 6}
	beaten := map[string]int{"mil-1": 10, "mil-2": 1, "mil-3": 5, "mil-4": 5, "mil-5": 5, "mil-6": 5, "mil-7": 5}
	alone := map[string]int{"mil-1": 2}
	for _, c := range []struct {
		name, season, definition, player string
		want                             Word
		why                              string
	}{
		{"beaten ten times in twelve, four games", guards(4, held, beaten), one, "mil-1", Exposed, "below the field"},
		{"beaten once in eleven", guards(4, held, beaten), one, "mil-2", HoldsUp, "at least as good"},
		{"like everybody", guards(4, held, beaten), one, "mil-3", Unsettled, "a word takes 80 % either way"},
		{"on the roster, never charted", guards(4, held, beaten), one, "mil-9", NotEnoughFilm, "no film of him doing any of this"},
		{"one game, however long", guards(1, held, beaten), one, "mil-1", NotEnoughFilm, "film of 1 game only"},
		{"two chances a game", guards(3, map[string]int{"mil-1": 1, "mil-3": 6, "mil-4": 6, "mil-5": 6, "mil-6": 6, "mil-7": 6}, map[string]int{"mil-1": 1}), one, "mil-1", NotEnoughFilm, "worth 5.9 effective; it takes 8"},
		{"one player's film has no field", guards(4, alone, map[string]int{"mil-1": 10}), one, "mil-1", NoVerdict, "the definition states no reference"},
		{"unless the analyst states one", guards(4, alone, map[string]int{"mil-1": 10}), "reference: {default: 0.6}\n" + one, "mil-1", Exposed, "below the field"},
		{"asked for after a switch, seen as his own man", guards(4, held, beaten), strings.ReplaceAll(one, "role: guard", "role: guard, came_by: switch"), "mil-1", NotEnoughFilm, "no film of him doing any of this"},
		{"asked for against bigs, seen against guards", guards(4, held, beaten), strings.ReplaceAll(one, "role: guard", "role: big"), "mil-1", NotEnoughFilm, "no film of him doing any of this"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, cols := seasonOf(t, c.season)
			list, err := NewStudy(define(t, c.definition), cols, StudyOptions{}).Project(tok(c.player))
			if err != nil {
				t.Fatal(err)
			}
			p := list[0]
			if p.Word != c.want || !strings.Contains(p.Why, c.why) {
				t.Errorf("%s: %s (own share %.2f, better %v)", p.Word, p.Why, p.OwnShare, deref(p.Better))
			}
			if (p.Better == nil) != (p.Against == nil) {
				t.Error("a probability without anything to compare with")
			}
		})
	}
}

// A defender of whom there is no film is "not enough film" in every job, in any
// season, and is projected like a newcomer of his role.
func TestNoFilmAtAll(t *testing.T) {
	season := studyOf(t, guards(2, map[string]int{"mil-2": 4, "mil-3": 4, "mil-4": 4, "mil-5": 4, "mil-6": 4, "mil-7": 4}, nil))
	full := sharedStudy()
	found := 0
	for _, s := range []*Study{season, full} {
		for p, who := range s.film.players {
			if len(s.film.of[p]) > 0 {
				continue
			}
			found++
			list, err := s.Project(who.id)
			if err != nil {
				t.Fatal(err)
			}
			for _, pr := range list {
				if pr.Word != NotEnoughFilm || pr.OwnShare > 0.1 || pr.Raw.Rate != nil {
					t.Errorf("%s, %s: %s, own share %.2f, raw %v", who.id, pr.Assignment, pr.Word, pr.OwnShare, pr.Raw.Rate)
				}
			}
		}
	}
	if found < 3 {
		t.Errorf("only %d players without film to ask about", found)
	}
}

// The step in level moves the projection by its log-odds, is as doubtful as it
// says, and is the same for him and his peers: who is better does not change
// much.
func TestLevelMovesEverybody(t *testing.T) {
	held := map[string]int{"mil-1": 4, "mil-2": 8, "mil-3": 6, "mil-4": 6, "mil-5": 6, "mil-6": 6, "mil-7": 6}
	beaten := map[string]int{"mil-1": 6, "mil-2": 3, "mil-3": 5, "mil-4": 5, "mil-5": 5, "mil-6": 5, "mil-7": 5}
	_, cols := seasonOf(t, guards(4, held, beaten))
	step := "level: {from: college, to: professional, shift: {default: -0.5}, sd: 0.4}\n"
	project := func(more string) Projection {
		list, err := NewStudy(define(t, more+one), cols, StudyOptions{}).Project("mil-1")
		if err != nil {
			t.Fatal(err)
		}
		return list[0]
	}
	here, there := project(""), project(step)
	if d := logOdds(there.Process.Mean) - logOdds(here.Process.Mean); d < -0.6 || d > -0.4 {
		t.Errorf("the step moved the projection by %.2f in log-odds, want about -0.5", d)
	}
	if there.Process.SD <= here.Process.SD {
		t.Errorf("a doubtful step left the projection as sure as before: %.3f, %.3f", there.Process.SD, here.Process.SD)
	}
	if d := *there.Better - *here.Better; d < -0.1 || d > 0.1 {
		t.Errorf("the same step for everybody moved the comparison by %.2f", d)
	}
	if there.Level == nil || there.Level.Shift["drive"] != -0.5 || here.Level != nil {
		t.Errorf("the step is not told: %+v", there.Level)
	}
	pros := strings.ReplaceAll(guards(4, held, beaten), " hbr-3:guard", " level=professional hbr-3:guard")
	_, cols = seasonOf(t, pros)
	if p := project(step); p.Level != nil || !strings.Contains(strings.Join(p.Notes, ";"), "already professional") {
		t.Errorf("a step was taken from film of the level itself: %+v %v", p.Level, p.Notes)
	}
}

// The numbers count what was seen against the roles and schemes it was seen in:
// a man who is only asked the hard thing is compared with others at the hard
// thing.
func TestPeersAreAskedTheSame(t *testing.T) {
	var b strings.Builder
	for g := range 4 {
		fmt.Fprintf(&b, "game g%d hbr-3:guard hbr-9:big", g+1)
		for n := 1; n <= 7; n++ {
			fmt.Fprintf(&b, " mil-%d:guard", n)
		}
		b.WriteString("\n6x made-2: drive mil-1 hbr-3 beaten\n6x missed-2: drive mil-1 hbr-3 stopped\n")
		for n := 2; n <= 7; n++ { // half against guards, where one in three is held; the rest against bigs, where all are
			fmt.Fprintf(&b, "4x made-2: drive mil-%d hbr-3 beaten\n2x missed-2: drive mil-%d hbr-3 stopped\n6x missed-2: drive mil-%d hbr-9 stopped\n", n, n, n)
		}
	}
	_, cols := seasonOf(t, b.String())
	kinds, err := NewStudy(define(t, ""), cols, StudyOptions{}).Kinds("mil-1")
	if err != nil {
		t.Fatal(err)
	}
	k := kinds[0]
	if *k.Raw != 0.5 || k.Peers.Mean > 0.48 || *k.Better < 0.8 {
		t.Errorf("counted %.2f; peers at the same %.2f; better %.2f: want him above the others at guards, who counted %.2f over all", *k.Raw, k.Peers.Mean, *k.Better, 2./3)
	}
}
