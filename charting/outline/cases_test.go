package outline_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stopledger/charting/outline"
)

var update = flag.Bool("update", false, "rewrite the expected chances; read the difference before you commit it")

// Each case is a stretch of a game in testdata/plays/cases: NAME.csv the rows,
// NAME.txt the chances a coach should see. The stretches are invented; how such
// moments are ruled is common practice, no source.
func TestCases(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(playsDir, "cases", "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".csv")
		t.Run(name, func(t *testing.T) {
			feed := readFeed(t, path)
			list, remarks, err := feed.Events(outline.Options{Game: "case", Rules: nba(t)})
			if err != nil {
				t.Fatal(err)
			}
			got := printOutline(list, remarks)
			for _, f := range foldChart(t, list).Findings {
				if broken[f.What] {
					t.Errorf("finding %s: %s", f.What, f.Text)
				}
			}
			golden := strings.TrimSuffix(path, ".csv") + ".txt"
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got:\n%s\nwant:\n%s", got, want)
			}
		})
	}
}
