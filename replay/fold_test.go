package replay_test

import (
	"flag"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stopledger/events"
	"stopledger/replay"
)

var update = flag.Bool("update", false, "rewrite the expected part of testdata/replay/*.txt")

// Each file holds stories and what they fold to, worked out by hand: a title
// line "== …", the story, a line of dashes, the chart.
func TestStories(t *testing.T) {
	files, err := filepath.Glob("../testdata/replay/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no stories under testdata/replay: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var rewritten strings.Builder
		for _, part := range strings.Split(string(text), "== ")[1:] {
			title, rest, _ := strings.Cut(part, "\n")
			input, want, _ := strings.Cut(rest, "----\n")
			got := ""
			t.Run(title, func(t *testing.T) {
				got = print(replay.FoldGame("g1", read(t, input)))
				if diff := cmp.Diff(strings.TrimSpace(want), strings.TrimSpace(got)); diff != "" && !*update {
					t.Errorf("want - got +\n%s", diff)
				}
			})
			rewritten.WriteString("== " + title + "\n" + input + "----\n" + got + "\n")
		}
		if *update {
			if err := os.WriteFile(file, []byte(rewritten.String()), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func seq(list []events.Event) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	}
}
