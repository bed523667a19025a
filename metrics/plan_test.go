package metrics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// A plan asks for what the assignment asks, says how likely it settles, and finds
// the game on the ledger that nobody has charted.
func TestFilmPlan(t *testing.T) {
	held := map[string]int{"mil-1": 3, "mil-2": 10, "mil-3": 6, "mil-4": 6, "mil-5": 6, "mil-6": 6, "mil-7": 6}
	beaten := map[string]int{"mil-1": 2, "mil-2": 1, "mil-3": 5, "mil-4": 5, "mil-5": 5, "mil-6": 5, "mil-7": 5}
	season := guards(4, held, beaten) + "game g5 hbr-3:guard mil-1:guard\n40x missed-2 offence=hbr:\n40x made-2 offence=mil:\n"
	_, cols := seasonOf(t, season)
	s := NewStudy(define(t, one), cols, StudyOptions{})
	plan, err := s.FilmPlan("mil-1")
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Assignments) != 1 {
		t.Fatalf("%d plans: %s", len(plan.Assignments), plan.Text)
	}
	a := plan.Assignments[0]
	if len(a.Steps) != 1 || a.Steps[0].Kind != "drive" || a.Steps[0].Role != "guard" || a.Chances < 1 || a.Chances > MaxPlan {
		t.Fatalf("%+v", a)
	}
	if a.Settles != (a.Decided >= Sure) || !a.Settles && a.Chances != MaxPlan {
		t.Errorf("%d chances settle it: %v, decided with %.2f", a.Chances, a.Settles, a.Decided)
	}
	if a.Games == nil || *a.Games != (a.Chances+4)/5 {
		t.Errorf("%d chances in %v games; five a game so far", a.Chances, a.Games)
	}
	if len(plan.Uncharted) != 1 || plan.Uncharted[0].Game != "g5" || plan.Uncharted[0].Chances != 40 {
		t.Fatalf("uncharted %+v, want game g5 with 40 chances against his team", plan.Uncharted)
	}
	// 20 drives of his in the 4 charted games' 73 chances each, so 20/292 a chance
	if e := plan.Uncharted[0].Expected; len(e) != 1 || e[0].Chances < 2.6 || e[0].Chances > 2.8 {
		t.Errorf("expected %+v, want about 2.7 drives by guards", e)
	}
	decided, err := s.FilmPlan("mil-2")
	if err != nil {
		t.Fatal(err)
	}
	if len(decided.Assignments) != 0 || !strings.Contains(decided.Text, "decided") {
		t.Errorf("a plan for what is decided: %+v", decided)
	}
}

// What the plan promises is kept: charting the planned film decides the
// assignment about as often as it says. The promise is the model's own, so what he
// truly does is drawn from what is believed of him now, many times, and the film
// is spread over games as his film so far was.
func TestPlannedFilmDecides(t *testing.T) {
	base := guards(3, map[string]int{"mil-1": 4, "mil-2": 9, "mil-3": 8, "mil-4": 2, "mil-5": 6, "mil-6": 9, "mil-7": 2},
		map[string]int{"mil-1": 4, "mil-2": 2, "mil-3": 3, "mil-4": 9, "mil-5": 5, "mil-6": 1, "mil-7": 8})
	_, cols := seasonOf(t, base)
	s := NewStudy(define(t, one), cols, StudyOptions{})
	list, err := s.project("mil-1")
	if err != nil {
		t.Fatal(err)
	}
	plan, err := s.FilmPlan("mil-1")
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Assignments) != 1 {
		t.Fatalf("nothing to plan: %s %s", list[0].Word, list[0].Why)
	}
	a := plan.Assignments[0]
	rng := rand.New(rand.NewPCG(5, 5))
	decided := 0
	const times = 20
	for i := range times {
		rate := list[0].own[i*draws/times] // one draw of what he truly does
		var more strings.Builder
		for left, g := a.Chances, 0; left > 0; g++ {
			stops, n := 0, min(left, 8)
			for range n {
				if rng.Float64() < rate {
					stops++
				}
			}
			left -= n
			game := guards(1, map[string]int{"mil-1": stops}, map[string]int{"mil-1": n - stops})
			more.WriteString(strings.Replace(game, "game g1 ", fmt.Sprintf("game h%d ", g), 1))
		}
		_, cols := seasonOf(t, base+more.String())
		after, err := NewStudy(define(t, one), cols, StudyOptions{}).Project("mil-1")
		if err != nil {
			t.Fatal(err)
		}
		if w := after[0].Word; w == HoldsUp || w == Exposed {
			decided++
		}
	}
	t.Logf("%d chances: said %.2f, decided in %d of %d", a.Chances, a.Decided, decided, times)
	if got := float64(decided) / times; math.Abs(got-a.Decided) > 0.25 {
		t.Errorf("%d more chances decided it in %d of %d seasons, the plan said %.2f", a.Chances, decided, times, a.Decided)
	}
}
