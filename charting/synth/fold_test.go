package synth

import (
	"math"
	"sync"
	"testing"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// shared is one season that several tests look at from different sides.
var shared = sync.OnceValues(func() (*Season, *replay.Season) {
	s, err := New(Options{Seed: 21, Games: 48, DoubleCharted: 0.4})
	if err != nil {
		panic(err)
	}
	folded, err := replay.Fold(s.Events())
	if err != nil {
		panic(err)
	}
	return s, folded
})

func fold(t testing.TB, s *Season) *replay.Season {
	t.Helper()
	folded, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	return folded
}

// ballByPenalty are the chances that a side has because penalty shots gave it
// the ball, out of its turn.
func ballByPenalty(t testing.TB, s *Season) map[events.ID]bool {
	t.Helper()
	given := make(map[events.ID]bool)
	pending := make(map[events.Token]bool) // by chart; charts of a game follow one another
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		switch e.Body.(type) {
		case *events.PenaltyShots:
			pending[e.Chart] = true
		case *events.ChanceBegan:
			given[e.ID] = pending[e.Chart]
			pending[e.Chart] = false
		}
	}
	return given
}

// The fold finds what was planted, and nothing else: every correction settles,
// every line-up and possession adds up, official totals equal the chart's.
func TestFoldFindsWhatWasPlantedAndNothingElse(t *testing.T) {
	s, folded := shared()
	onlyPlanted(t, s, folded)
	for seed := range uint64(4) {
		s := season(t, Options{Seed: seed, Games: 4, DoubleCharted: 0.5})
		onlyPlanted(t, s, fold(t, s))
	}
}

type where struct{ game, chart events.Token }

func onlyPlanted(t *testing.T, s *Season, folded *replay.Season) {
	t.Helper()
	planted := make(map[where]int)
	for _, p := range s.planted() {
		planted[where{p.Game, p.Chart}]++
	}
	penalty := ballByPenalty(t, s)
	found := make(map[where]int)
	explain := func(at where, f replay.Finding) {
		switch {
		case f.What == replay.TotalsDiffer && at.chart == "main" && planted[at] > 0:
			found[at]++
		case f.What == replay.OffenceTwice && at.chart == "second" && planted[at] > 0:
		case f.What == replay.OffenceTwice && penalty[f.Event]:
		default:
			t.Errorf("seed %d: %s, chart %s: %s: %s (%s)", s.options.Seed, at.game, at.chart, f.What, f.Text, f.Event)
		}
	}
	for _, g := range folded.Games {
		for _, f := range g.Findings {
			explain(where{g.ID, f.Chart}, f)
		}
		for _, c := range g.Charts {
			for _, f := range c.Findings {
				explain(where{g.ID, c.Name}, f)
			}
		}
	}
	for at, n := range planted {
		if at.chart == "main" && found[at] != n {
			t.Errorf("seed %d: %s: planted %d, found %d", s.options.Seed, at.game, n, found[at])
		}
	}
}

// A season holds every kind of slip and of correction, and every planted one.
func TestSeasonHoldsEverySlip(t *testing.T) {
	s, _ := shared()
	count := make(map[string]int)
	targets := make(map[events.ID]events.Type)
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		targets[e.ID] = e.Type
		count[string(e.Type)]++
		if e.After != "" {
			count["late"]++
		}
		if a, ok := e.Body.(*events.Amended); ok {
			count["amended "+string(targets[a.Target])]++
			switch {
			case a.When != nil:
				count["clock amended"]++
			case targets[a.Base] == "voided":
				count["amended over a void"]++
			case targets[a.Base] == "amended":
				count["amended twice"]++
			}
		}
		if a, ok := e.Body.(*events.Action); ok {
			countAction(count, e.Chart, a)
		}
		if c, ok := e.Body.(*events.ChanceEnded); ok {
			count["focus "+string(c.Focus)]++
			count["end "+string(c.End)]++
			count["heave"] += one(c.Heave)
		}
	}
	for _, p := range s.planted() {
		count[p.What]++
	}
	want := []string{"late", "amended action", "amended chance-ended", "clock amended", "amended over a void", "amended twice",
		"nobody's", "no opponent", "by a switch", "blind", "tactical foul", "second effort", "heave", "no spot",
		"focus acted", "focus not-tested", "focus not-seen", string(threeAsTwo), string(lostShot), string(wrongRebound), "chance-not-charted"}
	for _, row := range events.Types {
		want = append(want, string(row.Type))
	}
	for _, end := range events.End("").Words() {
		want = append(want, "end "+end)
	}
	for _, row := range events.Kinds {
		for _, o := range events.OutcomesOf(row.Kind) {
			if o.Outcome != events.ChargeDrawn && o.Outcome != events.Fouled {
				want = append(want, string(row.Kind)+" "+string(o.Outcome))
			}
		}
	}
	for _, what := range want {
		if count[what] == 0 {
			t.Errorf("no %s in 48 games", what)
		}
	}
}

func countAction(count map[string]int, chart events.Token, a *events.Action) {
	count[string(a.Kind)+" "+string(a.Outcome)]++
	if chart != "main" {
		return
	}
	count["nobody's"] += one(a.Defender == "")
	count["no opponent"] += one(a.Opponent == "")
	count["no spot"] += one(a.Spot == nil)
	count["by a switch"] += one(a.Details.First("came_by") == "switch")
	count["blind"] += one(a.Details.First("saw_end") == "no")
	count["second effort"] += one(a.Details.First("follows") != "")
	count["tactical foul"] += one(a.Outcome == events.Fouled && a.Reading() == events.NoReading)
}

// The careful second charter makes no corrections, so his chart can be counted
// line by line: its points are the official ones.
func TestPointsCountFromEventsAlone(t *testing.T) {
	s := season(t, Options{Seed: 4, Games: 12, DoubleCharted: 1})
	official := make(map[events.Token]map[events.Token]events.Totals)
	points := make(map[events.Token]map[events.Token]int)
	offence := make(map[events.ID]events.Token)
	careful := 0
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		if totals, ok := e.Body.(*events.TotalsEntered); ok {
			official[e.Game] = totals.Teams
		}
		if e.Charter != "edda" {
			continue
		}
		switch b := e.Body.(type) {
		case *events.GameOpened:
			points[e.Game] = make(map[events.Token]int)
		case *events.ChanceBegan:
			offence[e.ID] = b.Offence
		case *events.ChanceEnded:
			points[e.Game][offence[b.Chance]] += map[events.End]int{events.Made2: 2, events.Made3: 3}[b.End] + b.Made
		case *events.PenaltyShots:
			points[e.Game][b.Team] += b.Made
		}
	}
	for game, teams := range points {
		for team, totals := range official[game] {
			careful++
			if teams[team] != totals.Points {
				t.Errorf("%s: %s has %d points charted, %d officially", game, team, teams[team], totals.Points)
			}
		}
	}
	if careful < 4 {
		t.Fatalf("only %d teams' points could be compared", careful)
	}
}

// Where the chart was made from film, the anchors put a moment where the
// charter marked it. A broadcast runs on through short stops without an anchor.
func TestAnchorsAgreeWithMarksOnFilm(t *testing.T) {
	_, folded := shared()
	placed, far := 0, 0
	for _, g := range folded.Games {
		for _, c := range g.Charts {
			if len(c.Films) == 0 || c.Name == "second" || c.Name == "focus" {
				continue // their clocks are off by habit
			}
			f := film.Film{ID: string(c.Films[0].ID), Name: c.Films[0].Name}
			for _, a := range c.Anchors {
				f.Anchors = append(f.Anchors, film.Anchor{At: a.At, Period: a.Period, Clock: a.Clock})
			}
			for _, ch := range c.Chances {
				if ch.When.Film == nil {
					continue
				}
				at, err := f.Place(film.Moment{Period: ch.When.Period, Clock: *ch.When.Clock})
				if err != nil {
					t.Fatalf("%s: %v", g.ID, err)
				}
				placed++
				far += one(math.Abs(at.At-ch.When.Film.At) > at.Doubt+1)
			}
		}
	}
	if placed < 500 || float64(far) > 0.02*float64(placed) {
		t.Errorf("%d of %d chances lie outside the doubt of their anchors", far, placed)
	}
}
