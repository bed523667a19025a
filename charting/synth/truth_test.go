package synth

import (
	"encoding/json"
	"math"
	"os"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stopledger/events"
	"stopledger/replay"
)

// sharedTruth belongs to the shared season.
var sharedTruth = sync.OnceValue(func() Truth {
	s, _ := shared()
	return s.Truth()
})

// probabilities is the documented formula, computed from the truth's JSON as a
// reader of the file would.
func (t Truth) probabilities(p PlayerTruth, kind events.Kind, facing events.Role, base events.Base, principle events.Principle) [3]float64 {
	x := t.Model.Mu[kind] + t.Model.Own[p.Role][kind] + p.Skill[kind] + t.Model.Facing[facing][kind]
	for _, s := range t.Model.Schemes {
		if s.Base == base && s.Principle == principle {
			x += s.Effect[kind]
		}
	}
	even := t.Model.Even[kind]
	h := (1 - even) / (1 + math.Exp(-x))
	return [3]float64{h, even, 1 - even - h}
}

// excess adds up how far counts lie from what was expected.
type excess struct{ seen, expected, variance [3]float64 }

func (e *excess) add(reading int, p [3]float64) {
	e.seen[reading]++
	for r := range p {
		e.expected[r] += p[r]
		e.variance[r] += p[r] * (1 - p[r])
	}
}

// z is the distance in standard deviations, by reading.
func (e *excess) z() (z [3]float64) {
	for r := range z {
		z[r] = (e.seen[r] - e.expected[r]) / math.Sqrt(e.variance[r])
	}
	return z
}

func readingIndex(r events.Reading) int {
	for i, w := range readingWords {
		if w == r {
			return i
		}
	}
	return noReading
}

// What the charts of record hold, corrections and all, has the frequencies that
// the truth file says: by kind, role, scheme, way of coming and player. 4.2
// standard deviations leave one false alarm in 100 seeds over all groups.
func TestReadingsFollowTheTruth(t *testing.T) {
	_, folded := shared()
	truth := throughJSON(t, sharedTruth())
	players := make(map[events.Token]PlayerTruth)
	for _, p := range truth.Players {
		players[p.ID] = p
	}
	groups := make(map[string]*excess)
	cells := make(map[string]*excess)
	add := func(into map[string]*excess, key string, reading int, p [3]float64) {
		if into[key] == nil {
			into[key] = new(excess)
		}
		into[key].add(reading, p)
	}
	for _, g := range folded.Games {
		c := g.OfRecord()
		for _, a := range c.Actions {
			r := readingIndex(a.Reading)
			if r == noReading || a.Defender == "" {
				continue
			}
			chance := c.Chances[a.Chance]
			who, against := players[a.Defender], players[a.Opponent].Role
			p := truth.probabilities(who, a.Kind, against, chance.Base, chance.Principle)
			for _, key := range []string{"all", string(a.Kind), "own " + string(who.Role), "against " + string(against), string(a.Kind) + " against " + string(against),
				"in " + string(chance.Base) + " " + string(chance.Principle), "came by " + a.Details.First("came_by"), string(who.Story), string(a.Defender)} {
				add(groups, key, r, p)
			}
			add(cells, string(a.Defender)+string(a.Kind)+string(against), r, p)
		}
	}
	for key, e := range groups {
		for r, z := range e.z() {
			if math.Abs(z) > 4.2 {
				t.Errorf("%s: %g %s, expected %.1f (%.1f standard deviations)", key, e.seen[r], readingWords[r], e.expected[r], z)
			}
		}
	}
	// No spread beyond chance either: z² averages one over the cells.
	var sum, n float64
	for _, e := range cells {
		if e.variance[held] > 3 {
			sum += e.z()[held] * e.z()[held]
			n++
		}
	}
	if got := sum / n; math.Abs(got-1) > 4*math.Sqrt(2/n) {
		t.Errorf("squared deviations average %.3f over %g cells, want 1", got, n)
	}
}

func throughJSON(t *testing.T, truth Truth) (read Truth) {
	t.Helper()
	text, err := json.Marshal(truth)
	if err == nil {
		err = json.Unmarshal(text, &read)
	}
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(truth, read); diff != "" {
		t.Fatalf("the truth changes on its way through JSON: %s", diff)
	}
	return read
}

func TestProcessCellsAreTheFormula(t *testing.T) {
	truth := sharedTruth()
	for _, p := range truth.Players {
		for _, c := range p.Process {
			want := truth.probabilities(p, c.Kind, c.Role, "", "")
			got := [3]float64{c.Held, c.Even, c.Broken}
			for r := range got {
				if math.Abs(got[r]-want[r]) > 1e-12 {
					t.Fatalf("%s %s against %s: %v, by the formula %v", p.ID, c.Kind, c.Role, got, want)
				}
			}
		}
	}
}

// A worse reading costs, in every kind; and it does not settle the chance.
func TestResultsDependOnReadings(t *testing.T) {
	truth := sharedTruth()
	by := make(map[events.Kind]map[events.Reading]ResultTruth)
	for _, r := range truth.Results {
		if by[r.Kind] == nil {
			by[r.Kind] = make(map[events.Reading]ResultTruth)
		}
		by[r.Kind][r.Reading] = r
	}
	for _, row := range events.Kinds {
		good, bad := by[row.Kind][events.Held], by[row.Kind][events.Broken]
		se := math.Sqrt(0.25/float64(good.N) + 0.25/float64(bad.N))
		if good.Stop-bad.Stop < 5*se {
			t.Errorf("%s: %.3f stops when held, %.3f when broken (standard error %.3f)", row.Kind, good.Stop, bad.Stop, se)
		}
		if good.Stop > 0.97 || bad.Stop < 0.03 {
			t.Errorf("%s: stops %.3f and %.3f leave nothing to the rest of the chance", row.Kind, good.Stop, bad.Stop)
		}
	}
}

// The stop probabilities of the truth, measured on games of their own, are
// those of the season that was charted.
func TestStopsOfTheSeasonFollowTheTruth(t *testing.T) {
	_, folded := shared()
	charted := make(map[events.Kind]map[events.Reading]*tally)
	for _, g := range folded.Games {
		c := g.OfRecord()
		for _, a := range c.Actions {
			chance := c.Chances[a.Chance]
			if readingIndex(a.Reading) == noReading || a.Defender == "" || !chance.Opportunity() {
				continue
			}
			if charted[a.Kind] == nil {
				charted[a.Kind] = map[events.Reading]*tally{events.Held: {}, events.Even: {}, events.Broken: {}}
			}
			stop := chance.Points == 0 && chance.Ball == events.Defence
			switch a.Kind { // as the definition ball-won says
			case events.Contest:
				stop = chance.Points == 0
			case events.BoxOut:
				stop = chance.Ball == events.Defence
			}
			charted[a.Kind][a.Reading].add(stop, chance.Points)
		}
	}
	for _, r := range sharedTruth().Results {
		got := charted[r.Kind][r.Reading]
		se := math.Sqrt(r.Stop * (1 - r.Stop) * (1/float64(r.N) + 1/float64(got.n)))
		if z := (got.stop() - r.Stop) / se; math.Abs(z) > 4.5 {
			t.Errorf("%s %s: %.3f stops charted, %.3f in truth (%.1f standard errors)", r.Kind, r.Reading, got.stop(), r.Stop, z)
		}
	}
}

// The four named players are what the package says they are.
func TestStoriesAreTold(t *testing.T) {
	for seed, truth := range map[uint64]Truth{21: sharedTruth(), 1: season(t, Options{Seed: 1, Games: 1}).Truth()} {
		held := func(p PlayerTruth, kinds ...events.Kind) (sum float64) {
			for _, c := range p.Process {
				for _, k := range kinds {
					if c.Kind == k && c.Role == events.Guard {
						sum += c.Held / float64(len(kinds))
					}
				}
			}
			return sum
		}
		stops := func(p PlayerTruth) (rate float64) {
			n := 0
			for _, st := range p.Stops {
				rate += st.Stop * float64(st.N)
				n += st.N
			}
			return rate / float64(n)
		}
		named := make(map[Story]PlayerTruth)
		peers := make(map[events.Role][]float64) // process and result, role's mean
		count := make(map[Story]int)
		all := events.Kind("").Words()
		kinds := make([]events.Kind, len(all))
		for i, k := range all {
			kinds[i] = events.Kind(k)
		}
		for _, p := range truth.Players {
			named[p.Story] = p
			count[p.Story]++
			if p.Story == "" {
				peers[p.Role] = append(peers[p.Role], held(p, kinds...), stops(p))
			}
		}
		mean := func(role events.Role, offset int) (m float64) {
			for i := offset; i < len(peers[role]); i += 2 {
				m += peers[role][i]
			}
			return m / float64(len(peers[role])/2)
		}
		flattered, masked := named[FlatteredByResults], named[BetterThanResults]
		if held(flattered, kinds...) > mean(events.Wing, 0)-0.05 || stops(flattered) < mean(events.Wing, 1)+0.02 {
			t.Errorf("seed %d: flattered holds %.3f of %.3f, stops %.3f of %.3f", seed, held(flattered, kinds...), mean(events.Wing, 0), stops(flattered), mean(events.Wing, 1))
		}
		if held(masked, kinds...) < mean(events.Wing, 0)+0.05 || stops(masked) > mean(events.Wing, 1)-0.02 {
			t.Errorf("seed %d: better than his results holds %.3f of %.3f, stops %.3f of %.3f", seed, held(masked, kinds...), mean(events.Wing, 0), stops(masked), mean(events.Wing, 1))
		}
		asks := []events.Kind{events.Drive, events.BallScreen, events.Closeout}
		good, bad := held(named[SwitchesOntoGuards], asks...), held(named[AttackedOnSwitches], asks...)
		if good-bad < 0.2 {
			t.Errorf("seed %d: against guards %.3f holds and %.3f does not", seed, good, bad)
		}
		if count[SparseFilm] != 3*teamCount {
			t.Errorf("seed %d: %d sparse players", seed, count[SparseFilm])
		}
	}
}

// Of sparse players there is a handful of clips however long the season is,
// and the switching bigs are met by guards after switches.
func TestClipsOfTheNamed(t *testing.T) {
	s, folded := shared()
	clips := make(map[events.Token]int)
	switched := make(map[events.Token]int)
	for _, g := range folded.Games {
		for _, a := range g.OfRecord().Actions {
			clips[a.Defender]++
			if a.Details.First("came_by") == "switch" && s.player(a.Opponent) != nil && s.player(a.Opponent).role == guard {
				switched[a.Defender]++
			}
		}
	}
	for _, tm := range s.teams {
		for _, p := range tm.players {
			if p.story == SparseFilm && clips[p.id] > 60 {
				t.Errorf("%s has %d clips", p.id, clips[p.id])
			}
			if (p.story == SwitchesOntoGuards || p.story == AttackedOnSwitches) && switched[p.id] < 20 {
				t.Errorf("%s was switched onto a guard %d times in %d games", p.id, switched[p.id], len(folded.Games)/4)
			}
		}
	}
}

// A charter's labels depart from the truth as his habits say, hindsight
// included: here every action of 100 games is read by each charter.
func TestChartersFollowTheirHabits(t *testing.T) {
	s := season(t, Options{Seed: 9, Games: 1})
	truth := s.measureResults(200).charters()
	for i, h := range append(secondCharters[:], focusCharter) {
		var counts [3][4]float64
		kinds, other := 0.0, 0.0
		r := &reader{scribe: &scribe{d: newDice(9, 77), book: &book{}}, habits: h}
		for game := range 100 {
			p := s.plan(game)
			r.book.played = s.playGame(p)
			for _, m := range r.book.played.moments {
				if m.chance == nil || m.chance.end.End == events.PeriodEnd {
					continue
				}
				for j := range m.chance.asks {
					a := &m.chance.asks[j]
					if a.defender == nil || a.reading == noReading || a.outcome == events.Fouled || a.outcome == events.ChargeDrawn {
						continue
					}
					action := r.read("", m.chance, a)
					label := 3
					if action.Reading() != events.Unclear {
						label = readingIndex(action.Reading())
					}
					counts[a.reading][label]++
					if neighbour[a.kind] != a.kind {
						kinds++
						other += float64(one(action.Kind != kindWord(a.kind)))
					}
				}
			}
		}
		for row := range counts {
			n := counts[row][0] + counts[row][1] + counts[row][2] + counts[row][3]
			for label, want := range truth[i].Labels[row] {
				se := math.Sqrt(want*(1-want)/n) + 0.002 // the truth itself is measured
				if got := counts[row][label] / n; math.Abs(got-want) > 4*se {
					t.Errorf("%s writes %s as label %d in %.4f, truth %.4f", h.charter, readingWords[row], label, got, want)
				}
			}
		}
		if got := other / kinds; math.Abs(got-h.otherKind) > 4*math.Sqrt(h.otherKind*(1-h.otherKind)/kinds) {
			t.Errorf("%s takes a kind for its neighbour in %.4f, habit %.4f", h.charter, got, h.otherKind)
		}
	}
}

// The charted second opinions agree with the main chart as the truth says. A
// chart's actions are paired here by what no charter changes.
func TestKappaOfChartsIsTheTruths(t *testing.T) {
	s, folded := shared()
	var joint [2][3][3]float64
	for _, g := range folded.Games {
		main, second := g.Chart("main"), g.Chart("second")
		if second == nil {
			continue
		}
		charter := one(second.Charters[0].Charter == "finn")
		pair(main, second, func(a, b replay.Action) {
			i, j := readingIndex(a.Reading), readingIndex(b.Reading)
			if i != noReading && j != noReading {
				joint[charter][i][j]++
			}
		})
	}
	for i, c := range s.measureResults(200).charters()[:2] {
		table := joint[i]
		var n float64
		for _, row := range table {
			n += row[0] + row[1] + row[2]
		}
		got := kappa(3, func(i, j int) float64 { return table[i][j] }, func(d float64) float64 { return float64(one(d != 0)) })
		// A kappa's standard error is below 1/sqrt(n) here.
		if n < 1000 || math.Abs(got-c.Kappa) > 3/math.Sqrt(n) {
			t.Errorf("%s: kappa %.3f over %g charted pairs, truth %.3f", c.Charter, got, n, c.Kappa)
		}
	}
}

// pair matches actions of two charts that can only be the same one: the same
// defender, opponent and spot once each in the game.
func pair(a, b *replay.Chart, match func(a, b replay.Action)) {
	type key struct {
		defender, opponent events.Token
		spot               events.Spot
		period             int
	}
	index := func(c *replay.Chart) (map[key]replay.Action, map[key]int) {
		by, n := make(map[key]replay.Action), make(map[key]int)
		for _, x := range c.Actions {
			if x.Spot == nil || x.Defender == "" {
				continue
			}
			k := key{x.Defender, x.Opponent, *x.Spot, c.Chances[x.Chance].When.Period}
			by[k] = x
			n[k]++
		}
		return by, n
	}
	left, once := index(a)
	right, twice := index(b)
	for k, x := range left {
		if y, ok := right[k]; ok && once[k] == 1 && twice[k] == 1 {
			match(x, y)
		}
	}
}

// Source of the table and of its kappa: Fleiss, Cohen & Everitt (1969), as
// kept in testdata/stats/cohen.json, example A. Quadratic weights are checked
// against Fleiss & Cohen (1973): 2 cov / (var1 + var2 + squared difference of
// means), from memory.
func TestKappaAgainstPublished(t *testing.T) {
	text, err := os.ReadFile("../../testdata/stats/cohen.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Values []struct {
			Example string
			Table   [3][3]float64 `json:"table_rows_are_rater_1"`
			Values  []struct {
				Name  string
				Value any
			}
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	example := file.Values[0]
	want := example.Values[0].Value.(float64)
	at := func(i, j int) float64 { return example.Table[i][j] }
	if got := kappa(3, at, func(d float64) float64 { return float64(one(d != 0)) }); example.Example != "A" || math.Abs(got-want) > 0.0005 {
		t.Errorf("kappa %.4f, published %.3f", got, want)
	}
	var n, x, y, xx, yy, xy float64
	for i := range 3 {
		for j := range 3 {
			w, a, b := at(i, j), float64(i), float64(j)
			n, x, y, xx, yy, xy = n+w, x+w*a, y+w*b, xx+w*a*a, yy+w*b*b, xy+w*a*b
		}
	}
	mx, my := x/n, y/n
	quadratic := 2 * (xy/n - mx*my) / (xx/n - mx*mx + yy/n - my*my + (mx-my)*(mx-my))
	if got := kappa(3, at, func(d float64) float64 { return d * d }); math.Abs(got-quadratic) > 1e-12 {
		t.Errorf("quadratic kappa %.6f, by moments %.6f", got, quadratic)
	}
}
