package metrics

import (
	"flag"
	"math"
	"testing"

	"stopledger/charting/synth"
	"stopledger/events"
)

var calibrationSeasons = flag.Int("calibration.seasons", 1, "how many invented seasons to hold against their truth")

// oracle knows what an invented season was drawn from: see synth.ModelTruth for
// the formula.
type oracle struct {
	synth.Truth
	players map[events.Token]synth.PlayerTruth
	schemes map[string]map[events.Kind]float64
}

func newOracle(t synth.Truth) oracle {
	o := oracle{t, make(map[events.Token]synth.PlayerTruth), make(map[string]map[events.Kind]float64)}
	for _, p := range t.Players {
		o.players[p.ID] = p
	}
	for _, s := range t.Model.Schemes {
		o.schemes[schemeName(string(s.Base), string(s.Principle))] = s.Effect
	}
	return o
}

// process is the true process of a cell, an even reading counting half. The empty
// scheme changes nothing.
func (o oracle) process(id events.Token, k events.Kind, facing events.Role, scheme string) float64 {
	p, m := o.players[id], o.Model
	eta := m.Mu[k] + m.Own[p.Role][k] + p.Skill[k] + m.Facing[facing][k] + o.schemes[scheme][k]
	return m.Even[k]/2 + (1-m.Even[k])/(1+math.Exp(-eta))
}

// coverage counts how often an interval held the truth.
type coverage struct{ in, of int }

func (c *coverage) add(p Pooled, truth float64) {
	c.of++
	if p.Q10 <= truth && truth <= p.Q90 {
		c.in++
	}
}

func (c *coverage) share() float64 { return float64(c.in) / float64(max(c.of, 1)) }

// calibration is what a season says of its own intervals.
type calibration struct {
	seen     coverage // fitted process for the film seen, by defender, kind and role
	projects coverage // projections, all
	enough   coverage // projections with film enough for a word
	up, down coverage // words against truth: "holds up" and truly at least the peers, "exposed" and truly below
	words    map[Word]int
	better   [10]coverage // by tenth of the probability: truly at least the peers
}

// season takes a study without a step in level: the truth is of the level on film.
// every is how many players there are for each that is asked about.
func (c *calibration) season(t testing.TB, truth synth.Truth, s *Study, every int) {
	o := newOracle(truth)
	table, err := s.Rates([]string{"defender", "kind", "role", "scheme"}, Process)
	if err != nil {
		t.Fatal(err)
	}
	for i := range table.Groups {
		g := &table.Groups[i]
		if g.Pooled != nil {
			c.seen.add(*g.Pooled, o.process(events.Token(g.Key[0]), events.Kind(g.Key[1]), events.Role(g.Key[2]), g.Key[3]))
		}
	}
	m, _ := s.model(Process)
	jobs, err := s.jobs(m)
	if err != nil {
		t.Fatal(err)
	}
	for p := 0; p < len(s.film.players); p += every {
		who := s.film.players[p]
		list, err := s.project(who.id)
		if err != nil {
			t.Fatal(err)
		}
		for i := range list {
			c.projection(s, m, o, p, &jobs[i], &list[i])
		}
	}
}

func (c *calibration) projection(s *Study, m *model, o oracle, p int, j *job, pr *projected) {
	truth := o.job(s.film.players[p].id, j)
	field, n := 0.0, 0
	for _, q := range s.peersIn(m, p, j.kinds) {
		field += o.job(s.film.players[q].id, j)
		n++
	}
	c.projects.add(pr.Process, truth)
	c.words[pr.Word]++
	if pr.Word != NotEnoughFilm {
		c.enough.add(pr.Process, truth)
	}
	if pr.Better == nil || n == 0 {
		return
	}
	good := truth >= field/float64(n)
	bin := &c.better[min(int(*pr.Better*10), 9)]
	bin.of++
	if good {
		bin.in++
	}
	for w, to := range map[Word]*coverage{HoldsUp: &c.up, Exposed: &c.down} {
		if pr.Word == w {
			to.of++
			if good == (w == HoldsUp) {
				to.in++
			}
		}
	}
}

func (o oracle) job(id events.Token, j *job) float64 {
	sum := 0.0
	for _, a := range j.asks {
		for _, r := range a.roles {
			sum += a.Share * r.share * o.process(id, a.Kind, roles[r.role], "")
		}
	}
	return sum
}

// Intervals hold the truth as often as they say, and words are right at least as
// often as they claim, against seasons of which the truth is known. The seasons'
// readings are drawn by a formula that is not quite the model's (an even reading
// comes first), and the truth's neutral scheme is one draw, not many: projections
// allow for a scheme that may differ, so theirs cover more.
func TestIntervalsCoverTheTruthOfInventedSeasons(t *testing.T) {
	c := calibration{words: make(map[Word]int)}
	c.season(t, shared().truth, sharedStudy(), 4)
	for seed := uint64(100); seed < 100+uint64(*calibrationSeasons)-1; seed++ {
		in := inventedSeason(seed, 40)
		c.season(t, in.truth, NewStudy(define(t, ""), in.cols, StudyOptions{}), 1)
	}
	t.Logf("cells seen %.3f of %d, projections %.3f of %d, with film enough %.3f of %d", c.seen.share(), c.seen.of, c.projects.share(), c.projects.of, c.enough.share(), c.enough.of)
	t.Logf("holds up truly %.3f of %d, exposed truly %.3f of %d, words %v", c.up.share(), c.up.of, c.down.share(), c.down.of, c.words)
	for i, b := range c.better {
		t.Logf("P(better) %.1f to %.1f: truly %.2f of %d", float64(i)/10, float64(i+1)/10, b.share(), b.of)
	}
	for _, check := range []struct {
		what     string
		got      coverage
		lo, hi   float64
		atLeastN int
	}{
		{"80 % intervals of cells seen", c.seen, 0.74, 0.88, 1000},
		{"80 % intervals of projections", c.projects, 0.74, 0.96, 100},
		{"words said", coverage{c.up.in + c.down.in, c.up.of + c.down.of}, Sure, 1, 12},
	} {
		if p := check.got.share(); p < check.lo || p > check.hi || check.got.of < check.atLeastN {
			t.Errorf("%s: %.3f of %d, want %.2f to %.2f of at least %d", check.what, p, check.got.of, check.lo, check.hi, check.atLeastN)
		}
	}
}
