package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// inventedSeason is a file with a small invented season.
func inventedSeason(t *testing.T, games string) string {
	t.Helper()
	at := inDir(t)
	succeed(t, "synth", "--games", games, "--out", at("season.jsonl"), "--people", at("people.jsonl"))
	return at("season.jsonl")
}

func TestClips(t *testing.T) {
	ledger := inventedSeason(t, "6")
	dir := filepath.Join(t.TempDir(), "lists")
	out := succeed(t, "clips", "--ledger", ledger, "--kind", "closeout", "--reading", "broken", "--format", "edl", "--rate", "29.97-drop", "--out", dir)
	for _, want := range []string{"chances asked for", "no clip: ", "no film is linked", "INVENTED"} {
		if !strings.Contains(out, want) {
			t.Errorf("output misses %q:\n%s", want, out)
		}
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*.edl"))
	if len(files) == 0 {
		t.Fatalf("no edit list was written:\n%s", out)
	}
	if text := read(t, files[0]); !strings.Contains(text, "FCM: DROP FRAME") || !strings.Contains(text, "INVENTED") {
		t.Errorf("%s is no marked drop-frame list:\n%s", files[0], text)
	}
}

func TestClipsRefuses(t *testing.T) {
	ledger := inventedSeason(t, "1")
	for _, c := range []struct {
		name, want string
		args       []string
	}{
		{"a format that counts frames without a rate", "--rate", []string{"--format", "otio"}},
		{"a kind that is none", `--kind "chasing": want one of drive`, []string{"--kind", "chasing"}},
		{"a game nobody charted", `knows no game "g9"`, []string{"--game", "g9"}},
		{"a rate that is none", "want one of 23.976", []string{"--rate", "31"}},
	} {
		_, errs, code := stopledger(t, append([]string{"clips", "--ledger", ledger, "--out", t.TempDir()}, c.args...)...)
		if code != exitFailed || !strings.Contains(errs, c.want) {
			t.Errorf("%s: code %d, %q; want a refusal with %q", c.name, code, errs, c.want)
		}
	}
}
