package outline_test

import (
	"iter"
	"os"
	"path/filepath"
	"testing"

	"stopledger/charting/outline"
	"stopledger/events"
	"stopledger/replay"
)

const playsDir = "../../testdata/plays"

func nba(t testing.TB) events.Rules {
	rules, ok := events.RuleSet("nba")
	if !ok {
		t.Fatal("no rule set nba")
	}
	return rules
}

func readFeed(t testing.TB, path string) *outline.Feed {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	feed, err := outline.Read(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return feed
}

func readTotals(t testing.TB, path string) map[events.Token]events.Totals {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	totals, err := outline.ReadTotals(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return totals
}

func sequence(list []events.Event) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	}
}

func foldChart(t testing.TB, list []events.Event) *replay.Chart {
	t.Helper()
	season, err := replay.Fold(sequence(list))
	if err != nil {
		t.Fatal(err)
	}
	if len(season.Games) != 1 || len(season.Games[0].Charts) != 1 {
		t.Fatalf("want one game with one chart, got %d games", len(season.Games))
	}
	return season.Games[0].Charts[0]
}

// The totals are the official ones of two professional games, counted from
// the same source (testdata/plays/README.md).
func TestRealGamesFoldToTheirOfficialTotals(t *testing.T) {
	for _, name := range []string{"game-1", "game-2-overtime"} {
		t.Run(name, func(t *testing.T) {
			feed := readFeed(t, filepath.Join(playsDir, name+".csv"))
			totals := readTotals(t, filepath.Join(playsDir, name+".totals.json"))
			list, remarks, err := feed.Events(outline.Options{Game: "real", Rules: nba(t), Totals: totals})
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range remarks {
				t.Errorf("remark: %s", r)
			}
			chart := foldChart(t, list)
			for team, want := range totals {
				if got := chart.Totals[team]; got != want {
					t.Errorf("%s:\n got %+v\nwant %+v", team, got, want)
				}
			}
			for _, f := range chart.Findings {
				t.Errorf("finding: %s: %s", f.What, f.Text)
			}
			if !chart.Closed {
				t.Error("the game is not closed")
			}
		})
	}
}
