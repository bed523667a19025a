package metrics

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stopledger/metrics/definition"
)

var update = flag.Bool("update", false, "write what was printed over the golden files; read the difference before committing")

// Each file holds a small season, a player, and the report on him as a coach
// could read it.
func TestProfiles(t *testing.T) {
	files, err := filepath.Glob("../testdata/metrics/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no seasons under testdata/metrics: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			season, want, _ := strings.Cut(string(text), "\n----\n")
			first, rest, _ := strings.Cut(season, "\n")
			games, cols := seasonOf(t, rest)
			p, err := NewStudy(definition.Default(), cols, StudyOptions{Games: games}).Profile(tok(strings.TrimPrefix(first, "# ")))
			if err != nil {
				t.Fatal(err)
			}
			got := printProfile(p)
			if *update {
				if err := os.WriteFile(file, []byte(season+"\n----\n"+got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if got != want {
				t.Errorf("the report changed; look at it, then run with -update\n%s", got)
			}
		})
	}
}

// printProfile writes the sentences of a report.
func printProfile(p *Profile) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%s, %s of %s: %d actions, %d chances, %d games", p.Player, p.Role, p.Team, p.Film.Actions, p.Film.Chances, p.Film.Games)
	if p.Untested != nil {
		line("on the floor for %d chances, tried in %d", p.Untested.OnFloor, p.Untested.Acted)
	}
	for _, f := range p.Facts {
		line("  %s: %s", f.About, f.Text)
	}
	line("kinds, what costs most first")
	for _, k := range p.Kinds {
		cost := "no field"
		if k.Cost != nil {
			cost = fmt.Sprintf("%s per 100 (%s to %s)", signed(k.Cost.Mean), signed(k.Cost.Q10), signed(k.Cost.Q90))
		}
		line("  %s: %s %s, %s", k.Kind, k.Text, k.Sure, cost)
	}
	line("assignments")
	for _, a := range p.Assignments {
		line("  %s: %s: %s", a.Assignment, a.Word, a.Why)
		line("    process %s (%s to %s), result %s, own share %s", percent(a.Process.Mean), percent(a.Process.Q10), percent(a.Process.Q90), percent(a.Result.Mean), percent(a.OwnShare))
		line("    %s", a.Raw.Text)
		for _, n := range a.Notes {
			line("    %s", n)
		}
	}
	line("process against result: %s", p.Compared.Text)
	line("  %s", p.Compared.Threes.Text)
	line("recovery: %s", p.Recovery.Text)
	line("first breaks: %s", p.Breaks.Text)
	line("streaks: %s", p.Streaks.Text)
	for _, c := range p.Coach {
		line("  %s", c.Text)
	}
	line("film plan: %s", p.Plan.Text)
	for _, a := range p.Plan.Assignments {
		line("  %s: %s", a.Assignment, a.Text)
	}
	for _, u := range p.Plan.Uncharted {
		line("  uncharted: %s %s, %d chances, %v", u.Game, u.Date, u.Chances, u.Expected)
	}
	return b.String()
}

// A report names what it was made from, and its JSON keeps its shape: the names
// are a contract with pages.
func TestProfileAsJSON(t *testing.T) {
	games, cols := seasonOf(t, counted)
	p, err := NewStudy(definition.Default(), cols, StudyOptions{Games: games}).Profile("mil-12")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var v map[string]any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"player", "role", "film", "facts", "kinds", "assignments", "process_against_result", "recovery", "first_breaks", "streaks", "counts", "spots", "film_plan", "made_from", "cautions"} {
		if v[key] == nil {
			t.Errorf("the report lacks %q", key)
		}
	}
	if !p.Made.Invented || p.Made.Digest == "" || p.Made.Hash != definition.Default().Hash() || len(p.Facts) != 3 {
		t.Errorf("made from %+v, %d facts", p.Made, len(p.Facts))
	}
}

// Evidence puts the typical action first: of three beaten and one lost on a foul,
// the beaten ones.
func TestEvidenceTypicalFirst(t *testing.T) {
	s := studyOf(t, counted)
	list, err := s.Evidence("mil-12", EvidenceQuery{Kind: "drive", Reading: "broken"})
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, e := range list {
		words = append(words, s.film.word(e.Action, "action.outcome"))
	}
	if got := strings.Join(words, " "); got != "beaten beaten beaten fouled" {
		t.Errorf("evidence in the order %s", got)
	}
}
