package audit_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"stopledger/charting/outline"
	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/replay"
)

// The formula is that of Kubatko, Oliver, Pelton and Rosenbaum (2007), JQAS
// 3(3), article 1; the numbers of the example are our own arithmetic:
// 85 + 0.44·24 − 11 + 14 = 98.56.
func TestPossessionFormula(t *testing.T) {
	team := events.Totals{FGA: 85, FTA: 24, OReb: 11, Tov: 14}
	if got := audit.Possessions(team); math.Abs(got-98.56) > 1e-9 {
		t.Errorf("possessions %g, want 98.56", got)
	}
	if got := audit.Plays(team); math.Abs(got-109.56) > 1e-9 {
		t.Errorf("plays %g, want 109.56", got)
	}
}

// Two professional games (testdata/plays/README.md): the chart made from the
// official play-by-play adds up to the official totals, and its possessions lie
// where the formula puts them: within 2 by the mean of both teams, who have about
// the same number (abstract of Kubatko et al. 2007). One team's estimate may be
// farther off, because a team rebound keeps the ball and is no OREB.
func TestTwoRealGames(t *testing.T) {
	for _, name := range []string{"game-1", "game-2-overtime"} {
		t.Run(name, func(t *testing.T) {
			g := realGame(t, name)
			r := audit.Review(g, g.OfRecord(), audit.Limits{})
			if r.Totals == nil || !r.Totals.Agrees {
				t.Fatalf("totals do not agree: %+v", r.Totals)
			}
			var counts []int
			for _, team := range r.Totals.Teams {
				p := team.Possessions
				counts = append(counts, p.Charted)
				t.Logf("%s: %d possessions charted, %.2f by the formula; %d chances charted, %.2f by the formula", team.Team, p.Charted, p.Official, p.Chances, p.Plays)
				if d := math.Abs(float64(p.Charted) - p.Official); d > 5 {
					t.Errorf("%s: %d possessions charted, the formula says %.2f", team.Team, p.Charted, p.Official)
				}
				if d := math.Abs(float64(p.Chances) - p.Plays); d > 5 {
					t.Errorf("%s: %d chances charted, the formula says %.2f", team.Team, p.Chances, p.Plays)
				}
			}
			if d := math.Abs(r.Totals.MeanCharted - r.Totals.MeanOfficial); d > 2 {
				t.Errorf("%.1f possessions charted, the formula says %.2f", r.Totals.MeanCharted, r.Totals.MeanOfficial)
			}
			if d := counts[0] - counts[1]; d < -3 || d > 3 {
				t.Errorf("possessions %v: teams take turns", counts)
			}
			if r.Coverage.Basis != audit.FromOutline || *r.Coverage.Share != 1 || *r.Coverage.Charted != 0 {
				t.Errorf("coverage %+v", r.Coverage)
			}
			for _, f := range r.Findings {
				if f.Code != audit.DefenceSilent && f.Severity != replay.Remark {
					t.Logf("%s %s: %s", f.Code, f.Place, f.Text)
				}
			}
		})
	}
}

func realGame(t *testing.T, name string) *replay.Game {
	t.Helper()
	dir := filepath.Join("..", "..", "testdata", "plays")
	plays, err := os.Open(filepath.Join(dir, name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer plays.Close()
	feed, err := outline.Read(plays)
	if err != nil {
		t.Fatal(err)
	}
	official, err := os.Open(filepath.Join(dir, name+".totals.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer official.Close()
	totals, err := outline.ReadTotals(official)
	if err != nil {
		t.Fatal(err)
	}
	rules, _ := events.RuleSet("nba")
	list, _, err := feed.Events(outline.Options{Game: "g1", Rules: rules, Totals: totals})
	if err != nil {
		t.Fatal(err)
	}
	return replay.FoldGame("g1", list)
}

// Every slip a charter may make in one chance of a real game, one at a time, is
// found again: among the explanations is one that puts it right.
func TestAnySingleSlipIsExplained(t *testing.T) {
	swap := map[events.End]events.End{events.Made2: events.Made3, events.Made3: events.Made2, events.Missed2: events.Missed3, events.Missed3: events.Missed2}
	plain := realGame(t, "game-1").OfRecord()
	slips := map[string]func(ch *replay.Chance) bool{
		"value": func(ch *replay.Chance) bool { to, ok := swap[ch.End]; ch.End = to; return ok },
		"free throw": func(ch *replay.Chance) bool {
			ok := ch.Made > 0 && ch.Attempted > 1
			ch.Made, ch.Attempted = ch.Made-1, ch.Attempted-1
			return ok
		},
		"team rebound": func(ch *replay.Chance) bool {
			ok := ch.Rebound == events.Defence && !ch.TeamBoard
			ch.TeamBoard = true
			return ok
		},
		"jump ball": func(ch *replay.Chance) bool {
			ok := ch.End == events.TurnoverEnd
			ch.End = events.JumpBallEnd
			return ok
		},
		"no end": func(ch *replay.Chance) bool {
			ok := ch.End == events.TurnoverEnd
			ch.Ended, ch.End = false, ""
			return ok
		},
	}
	for name, slip := range slips {
		t.Run(name, func(t *testing.T) {
			tried := 0
			for i := 0; i < len(plain.Chances) && tried < 6; i += 7 {
				c := *plain
				c.Chances = append([]replay.Chance{}, plain.Chances...)
				ch := &c.Chances[i]
				before := *ch
				if !slip(ch) {
					continue
				}
				tried++
				c.Totals = recount(plain, &before, ch)
				r := audit.Review(&replay.Game{ID: "g1", Charts: []*replay.Chart{&c}}, &c, audit.Limits{})
				if !explained(r.Totals, ch.ID) {
					t.Errorf("chance %d: %v is explained as %+v", i, r.Totals.Differing(), r.Totals.Explanations)
				}
			}
			if tried == 0 {
				t.Fatal("no chance to try it on")
			}
		})
	}
}

// explained reports whether single slips explain the difference, and one of them
// names the chance or has more places than it lists.
func explained(c *audit.Comparison, id events.ID) bool {
	for _, e := range c.Explanations {
		if len(e.Corrections) != 1 {
			return false
		}
		one := e.Corrections[0]
		if one.Places > len(one.Suspects) {
			return true
		}
		for _, s := range one.Suspects {
			if s.Place.Chance == id {
				return true
			}
		}
	}
	return false
}

// recount is the chart's totals after one chance was changed, by the plain
// difference of the two.
func recount(c *replay.Chart, before, after *replay.Chance) map[events.Token]events.Totals {
	out := map[events.Token]events.Totals{}
	for team, t := range c.Totals {
		out[team] = t
	}
	add := func(ch *replay.Chance, sign int) {
		t, d := out[ch.Offence], out[ch.Defence]
		points := 0
		if ch.Ended {
			points = c.Info.Rules.Points(ch.End, ch.Made)
			t.FTM, t.FTA = t.FTM+sign*ch.Made, t.FTA+sign*ch.Attempted
		}
		t.Points += sign * points
		if ch.End.Shot() {
			t.FGA += sign
			if !ch.End.Missed() {
				t.FGM += sign
			}
			if ch.End.Three() {
				t.ThreeA += sign
				if !ch.End.Missed() {
					t.ThreeM += sign
				}
			}
		}
		if ch.End == events.TurnoverEnd {
			t.Tov += sign
		}
		if ch.Rebound == events.Defence && !ch.TeamBoard {
			d.DReb += sign
		}
		if ch.Rebound == events.Offence && !ch.TeamBoard {
			t.OReb += sign
		}
		out[ch.Offence], out[ch.Defence] = t, d
	}
	add(before, -1)
	add(after, 1)
	return out
}

// A report is JSON; NaN would not encode.
func TestReportEncodes(t *testing.T) {
	g := realGame(t, "game-1")
	text, err := json.Marshal(audit.Review(g, g.OfRecord(), audit.Limits{}))
	if err != nil {
		t.Fatal(err)
	}
	var back map[string]any
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"findings", "coverage", "totals", "holds", "defences"} {
		if _, ok := back[key]; !ok {
			t.Errorf("no %q in the report", key)
		}
	}
}
