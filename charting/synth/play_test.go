package synth

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stopledger/events"
)

// Possession runs as the rules say, whatever the seed: who has the ball next
// follows from how the chance before ended, and the score from the ends.
func TestPossessionAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := New(Options{Seed: rapid.Uint64().Draw(t, "seed"), Games: 56})
		if err != nil {
			t.Fatal(err)
		}
		p := s.plan(rapid.IntRange(0, 55).Draw(t, "game"))
		g := s.playGame(p)
		followBall(t, g)
		score := tallyScore(g)
		totals := g.totals()
		for i, sd := range g.sides {
			if sd.score != score[i] || totals.Teams[sd.team.id].Points != score[i] {
				t.Errorf("%s scored %d, the board says %d, the totals %d", sd.team.id, score[i], sd.score, totals.Teams[sd.team.id].Points)
			}
		}
		if score[0] == score[1] {
			t.Errorf("ended tied at %d", score[0])
		}
	})
}

func (p played) indexOf(id events.Token) int {
	return slices.IndexFunc(p.sides[:], func(s *side) bool { return s.team.id == id })
}

// followBall fails where a chance belongs to the wrong side or time runs back.
func followBall(t *rapid.T, g played) {
	next, period, clock := -1, 0, 0.0
	for _, m := range g.moments {
		if p, ok := m.fact.(*events.PenaltyShots); ok {
			next = g.indexOf(p.BallAfter)
		}
		c := m.chance
		if c == nil {
			continue
		}
		if m.period != period {
			next, period, clock = c.offence, m.period, g.rules.Length(m.period)
		}
		if c.offence != next {
			t.Fatalf("period %d, %g: side %d has the ball, want %d", m.period, c.began, c.offence, next)
		}
		if c.began > clock || c.ended > c.began || c.ended < 0 {
			t.Fatalf("period %d: a chance from %g to %g, after %g", m.period, c.began, c.ended, clock)
		}
		clock = c.ended
		if side, _, _ := after(c); side == events.Defence {
			next = 1 - c.offence
		}
	}
}

func tallyScore(g played) (score [2]int) {
	for _, m := range g.moments {
		if p, ok := m.fact.(*events.PenaltyShots); ok {
			score[g.indexOf(p.Team)] += p.Made
		}
		if m.chance != nil {
			score[m.chance.offence] += m.chance.points(g.rules)
		}
	}
	return score
}

func TestTiesGoToOvertime(t *testing.T) {
	s := season(t, Options{Seed: 11, Games: 1})
	overtimes := 0
	for i := range 120 {
		if g := s.playGame(s.plan(i)); g.periods > g.rules.Periods {
			overtimes++
		}
	}
	if overtimes == 0 {
		t.Error("no overtime in 120 games")
	}
}

// Five men a side, nobody after his fifth foul; line-ups follow from the facts.
func TestLineupsFollowFromSubstitutions(t *testing.T) {
	s := season(t, Options{Seed: 5, Games: 30})
	for i := range 30 {
		g := s.playGame(s.plan(i))
		floor := make(map[events.Token][]events.Token)
		for _, m := range g.moments {
			switch f := m.fact.(type) {
			case *events.LineupSet:
				floor[f.Team] = slices.Clone(f.Players)
			case *events.Substituted:
				at := slices.Index(floor[f.Team], f.Out)
				if at < 0 || slices.Contains(floor[f.Team], f.In) {
					t.Fatalf("game %d: %s in for %s, with %v on the floor", i, f.In, f.Out, floor[f.Team])
				}
				floor[f.Team][at] = f.In
			}
			if m.chance == nil {
				continue
			}
			defence := floor[g.sides[1-m.chance.offence].team.id]
			for _, p := range m.chance.five {
				if !slices.Contains(defence, p.id) {
					t.Fatalf("game %d: %s defends, the line-up says %v", i, p.id, defence)
				}
			}
			for _, a := range m.chance.asks {
				if a.defender != nil && !slices.Contains(defence, a.defender.id) {
					t.Fatalf("game %d: %s acts from the bench", i, a.defender.id)
				}
			}
		}
	}
}

// Box scores look like basketball. The bounds are wide and common practice, no
// source; points per chance are those asked of the season.
func TestBoxScoresArePlausible(t *testing.T) {
	for _, seed := range []uint64{1, 2, 3} {
		s := season(t, Options{Seed: seed, Games: 100})
		var sum events.Totals
		var chances, asks, longest int
		for i := range 100 {
			g := s.playGame(s.plan(i))
			for _, line := range g.totals().Teams {
				sum = plus(sum, line)
			}
			for _, m := range g.moments {
				if m.chance != nil {
					chances++
					asks += len(m.chance.asks)
					longest = max(longest, len(m.chance.asks))
				}
			}
		}
		within := func(what string, got, lo, hi float64) {
			if got < lo || got > hi {
				t.Errorf("seed %d: %s is %.3f, want %g to %g", seed, what, got, lo, hi)
			}
		}
		n := float64(chances)
		within("points a chance", float64(sum.Points)/n, 0.93, 1.10)
		within("chances a game", n/100, 165, 195)
		within("actions a chance", float64(asks)/n, 1.8, 2.5)
		within("longest chance", float64(longest), 3, maxAsks)
		within("turnovers a chance", float64(sum.Tov)/n, 0.09, 0.17)
		within("threes of shots", float64(sum.ThreeA)/float64(sum.FGA), 0.28, 0.45)
		within("three-point share", float64(sum.ThreeM)/float64(sum.ThreeA), 0.30, 0.40)
		within("two-point share", float64(sum.FGM-sum.ThreeM)/float64(sum.FGA-sum.ThreeA), 0.46, 0.58)
		within("free throws a team", float64(sum.FTA)/200, 10, 24)
		within("offensive rebound share", float64(sum.OReb)/float64(sum.OReb+sum.DReb), 0.2, 0.32)
	}
}

// A three is taken from behind FIBA's line, a two from inside it.
func TestShotsStandOnTheRightSideOfTheLine(t *testing.T) {
	s := season(t, Options{Seed: 2, Games: 20})
	shots := 0
	for i := range 20 {
		for _, m := range s.playGame(s.plan(i)).moments {
			if m.chance == nil || !m.chance.end.End.Shot() {
				continue
			}
			e := m.chance.end
			shots++
			behind := math.Hypot(e.Spot.X, e.Spot.Y) > arc || math.Abs(e.Spot.X) > corner
			if behind != e.End.Three() {
				t.Errorf("%s from %+v", e.End, *e.Spot)
			}
		}
	}
	if shots < 1000 {
		t.Errorf("only %d shots", shots)
	}
}
