package outline_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stopledger/charting/outline"
	"stopledger/events"
	"stopledger/replay"
)

const header = "period,clock,team,play,made,of,player,by,note\n"

// anyRow is a row that can be read; whether it makes sense is chance.
func anyRow(t *rapid.T, i int) string {
	pick := func(name string, words ...string) string { return rapid.SampledFrom(words).Draw(t, name) }
	team := pick("team", "A", "A", "A", "B", "B", "B", "")
	play := pick("play", "shot-2", "shot-3", "free-throw", "free-throw", "rebound", "rebound", "turnover", "foul", "violation",
		"substitution", "timeout", "jump-ball", "period-start", "period-end")
	made, of := "", ""
	if strings.HasPrefix(play, "shot") || play == "free-throw" {
		made = pick("made", "yes", "no")
	}
	if play == "free-throw" {
		of = pick("of", "1/1", "1/2", "2/2", "1/3", "2/3", "3/3", "")
	}
	note := pick("note", "", "", "", "team", "technical", "flagrant", "clear-path", "offensive", "shooting", "loose-ball", "steal", "block", "strange")
	who := func(name string) string { return pick(name, "", "a1", "a2", "b1", "b2") }
	clock := rapid.IntRange(0, 720).Draw(t, "clock")
	if rapid.Bool().Draw(t, "crowded") {
		clock = rapid.IntRange(0, 6).Draw(t, "clock")
	}
	return fmt.Sprintf("%d,%d,%s,%s,%s,%s,%s,%s,%s\n", rapid.IntRange(1, 5).Draw(t, "period"), clock, team, play, made, of, who("player"), who("by"), note)
}

// countText counts a feed without knowing anything of this package: the box
// score as columns of the text, offensive and defensive rebounds together.
func countText(csv string) map[events.Token]events.Totals {
	totals := map[events.Token]events.Totals{"a": {}, "b": {}}
	teamOf := majority(csv)
	for _, line := range strings.Split(csv, "\n")[1:] {
		f := strings.Split(line, ",")
		if len(f) < 9 {
			continue
		}
		team := events.Token(strings.ToLower(f[2]))
		if team == "" {
			team = teamOf[f[6]]
		}
		if team == "" {
			continue
		}
		t, made := totals[team], 0
		if f[4] == "yes" {
			made = 1
		}
		switch f[3] {
		case "shot-2":
			t.FGA, t.FGM, t.Points = t.FGA+1, t.FGM+made, t.Points+2*made
		case "shot-3":
			t.FGA, t.FGM, t.Points = t.FGA+1, t.FGM+made, t.Points+3*made
			t.ThreeA, t.ThreeM = t.ThreeA+1, t.ThreeM+made
		case "free-throw":
			t.FTA, t.FTM, t.Points = t.FTA+1, t.FTM+made, t.Points+made
		case "turnover":
			t.Tov++
		case "rebound":
			if f[8] != "team" && f[6] != "" {
				t.DReb++
			}
		}
		totals[team] = t
	}
	return totals
}

// majority says whose player a man is: the team most rows give him to, the
// first team when they are even.
func majority(csv string) map[string]events.Token {
	votes := make(map[string]int)
	seen := make(map[string]bool)
	other := map[string]string{"A": "B", "B": "A"}
	vote := func(player, team string) {
		if player == "" || team == "" {
			return
		}
		seen[player] = true
		if team == "A" {
			votes[player]++
		} else {
			votes[player]--
		}
	}
	for _, line := range strings.Split(csv, "\n")[1:] {
		f := strings.Split(line, ",")
		if len(f) < 9 {
			continue
		}
		vote(f[6], f[2])
		switch f[3] {
		case "substitution":
			vote(f[7], f[2])
		case "shot-2", "shot-3", "turnover":
			vote(f[7], other[f[2]])
		}
	}
	out := make(map[string]events.Token)
	for p := range seen {
		out[p] = "a"
		if votes[p] < 0 {
			out[p] = "b"
		}
	}
	return out
}

// together puts both kinds of rebound in one place, since a row does not say
// which it was.
func together(t events.Totals) events.Totals {
	t.OReb, t.DReb = 0, t.OReb+t.DReb
	return t
}

// broken are findings that no outline may ever cause, however odd its feed.
var broken = map[string]bool{
	replay.EndWithoutChance: true, replay.TwoEnds: true, replay.ChanceOpen: true, replay.ChancesOverlap: true, replay.NumberGap: true,
	replay.NumberTwice: true, replay.TooManyShots: true, replay.NotTimeOrdered: true, replay.WrongTeam: true, replay.SameIDOtherBytes: true,
}

func checkAnything(t testing.TB, csv string) {
	feed, err := outline.Read(strings.NewReader(csv))
	if err != nil {
		t.Fatalf("%v\n%s", err, csv)
	}
	list, _, err := feed.Events(outline.Options{Game: "any", Rules: nba(t)})
	if err != nil {
		t.Fatalf("%v\n%s", err, csv)
	}
	chart := foldChart(t, list)
	for team, want := range countText(csv) {
		if got := together(chart.Totals[team]); got != want {
			t.Errorf("%s:\n got %+v\nwant %+v\n%s", team, got, want, csv)
		}
	}
	for _, f := range chart.Findings {
		if broken[f.What] {
			t.Errorf("finding %s: %s\n%s", f.What, f.Text, csv)
		}
	}
}

// Whatever the rows say, in whatever order, the fold of the outline counts
// what they count.
func TestAnyRowsAreCountedExactly(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var csv strings.Builder
		csv.WriteString(header + "1,720,A,timeout,,,a1,,\n1,720,B,timeout,,,b1,,\n")
		for i := range rapid.IntRange(0, 60).Draw(rt, "rows") {
			csv.WriteString(anyRow(rt, i))
		}
		checkAnything(failing{t, rt}, csv.String())
	})
}

// failing lets helpers written for testing.TB fail a rapid check.
type failing struct {
	testing.TB
	rt *rapid.T
}

func (f failing) Fatal(args ...any)            { f.rt.Fatal(args...) }
func (f failing) Fatalf(s string, args ...any) { f.rt.Fatalf(s, args...) }
func (f failing) Errorf(s string, args ...any) { f.rt.Errorf(s, args...) }

func TestTheSameFeedGivesTheSameBytes(t *testing.T) {
	feed := readFeed(t, filepath.Join(playsDir, "game-2-overtime.csv"))
	options := outline.Options{Game: "real", Rules: nba(t), Date: "2031-01-14"}
	first, _, err := feed.Events(options)
	if err != nil {
		t.Fatal(err)
	}
	second, _, err := readFeed(t, filepath.Join(playsDir, "game-2-overtime.csv")).Events(options)
	if err != nil {
		t.Fatal(err)
	}
	ids := make(map[events.ID]bool)
	for i := range first {
		if !bytes.Equal(first[i].Raw, second[i].Raw) {
			t.Fatalf("event %d differs:\n%s\n%s", i, first[i].Raw, second[i].Raw)
		}
		if ids[first[i].ID] {
			t.Fatalf("id %s twice", first[i].ID)
		}
		ids[first[i].ID] = true
		if minted, ok := first[i].ID.Minted(); !ok || minted.Format("2006-01-02") != "2031-01-14" {
			t.Fatalf("id %s was minted %v, not on the game's day", first[i].ID, minted)
		}
		if i > 0 && first[i-1].ID >= first[i].ID {
			t.Fatalf("ids %d and %d do not sort as the events stand", i-1, i)
		}
	}
	options.Game = "another"
	other, _, err := feed.Events(options)
	if err != nil {
		t.Fatal(err)
	}
	if ids[other[0].ID] {
		t.Error("another game's events have the same ids")
	}
}

func FuzzRead(f *testing.F) {
	f.Add(header)
	f.Add(header + "1,720,,period-start,,,,,\n1,700,A,shot-2,yes,,a1,,\n1,700,B,foul,,,b1,,shooting\n1,700,A,free-throw,no,1/1,a1,,\n1,699,A,rebound,,,a2,,\n")
	f.Add(header + "5,3,A,free-throw,no,1/2,a1,,flagrant\n5,1,A,foul,,,,,technical\n5,0,B,jump-ball,,,b1,,\n5,2,B,rebound,,,b1,,\n5,2,B,timeout,,,,,\n")
	f.Add("\xef\xbb\xbfclock,period,made,play,team\r\n7.5,1,no,shot-3,x\r\n\r\n6,1,,rebound,y\r\n")
	f.Add(header + "1,\"7\n20\",A,shot-2,yes,,a1,,\n")
	f.Fuzz(func(t *testing.T, text string) {
		feed, err := outline.Read(strings.NewReader(text))
		if err != nil {
			return
		}
		list, remarks, err := feed.Events(outline.Options{Game: "fuzz", Rules: nba(t)})
		if err != nil {
			t.Fatalf("read, but no events: %v", err)
		}
		for _, r := range remarks { // the reader's own count, against its own rows
			if r.Row == 0 && strings.Contains(r.Text, "in the rows") {
				t.Errorf("%s", r)
			}
		}
		for _, fd := range foldChart(t, list).Findings {
			if broken[fd.What] {
				t.Errorf("finding %s: %s", fd.What, fd.Text)
			}
		}
	})
}
