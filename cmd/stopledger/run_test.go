package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stopledger/events"
)

// stopledger runs the program as a person would and returns what it printed.
func stopledger(t *testing.T, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(""), &o, &e)
	return o.String(), e.String(), code
}

// must runs the program and wants it to succeed.
func succeed(t *testing.T, args ...string) string {
	t.Helper()
	out, errs, code := stopledger(t, args...)
	if code != exitOK {
		t.Fatalf("stopledger %s: exit %d\n%s%s", strings.Join(args, " "), code, out, errs)
	}
	return out
}

func inDir(t *testing.T) func(string) string {
	dir := t.TempDir()
	return func(name string) string { return filepath.Join(dir, name) }
}

// A season invented, loaded, dumped and loaded into a new ledger gives the same
// events and the same rates, from a directory, a file, or through the shelf.
func TestFromSeasonToRates(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--seed", "7", "--games", "3", "--out", at("s.jsonl"), "--people", at("people.jsonl"), "--truth", at("truth.json"))
	succeed(t, "load", "--ledger", at("one"), "--people", at("people.jsonl"), at("s.jsonl"))
	succeed(t, "dump", "--ledger", at("one"), "--out", at("dump.jsonl"))
	if a, b := read(t, at("s.jsonl")), read(t, at("dump.jsonl")); a != b {
		t.Errorf("the dump differs from what was loaded: %d bytes, %d bytes", len(a), len(b))
	}
	again := succeed(t, "load", "--ledger", at("one"), at("dump.jsonl"))
	if !strings.Contains(again, " 0 added") {
		t.Errorf("a second load of the same events added some: %s", again)
	}
	succeed(t, "load", "--ledger", at("two"), at("dump.jsonl"))

	var want groups
	for i, ledger := range []string{"one", "two", "one", "s.jsonl"} { // the third time from the shelf
		var got groups
		decode(t, succeed(t, "rates", "--ledger", at(ledger), "--by", "defender,kind,role", "--format", "json"), &got)
		if i == 0 {
			want = got
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("rates of %s differ:\n%s", ledger, diff)
		}
	}
	if len(want.Groups) < 100 || want.Definition.Name != "ball-won" || want.Ledger.Games != 3 {
		t.Errorf("%d groups under %s over %d games", len(want.Groups), want.Definition.Name, want.Ledger.Games)
	}
}

type groups struct {
	Definition definitionRef
	Ledger     struct {
		Digest string
		Games  int
	}
	Groups []map[string]any
}

// Both real games fold to their official totals, line by line.
func TestOutlinesFoldToOfficialTotals(t *testing.T) {
	at := inDir(t)
	for _, game := range []string{"game-1", "game-2-overtime"} {
		plays := "../../testdata/plays/" + game
		succeed(t, "outline", "--plays", plays+".csv", "--game", game, "--rules", "nba", "--ledger", at("games"))
		var v struct {
			Games []struct {
				Game   string
				Charts []struct {
					Findings []any
					Totals   map[string]events.Totals
				}
			}
		}
		decode(t, succeed(t, "verify", "--ledger", at("games"), "--format", "json"), &v)
		var official map[string]events.Totals
		decode(t, read(t, plays+".totals.json"), &official)
		for _, g := range v.Games {
			if g.Game != game {
				continue
			}
			want := map[string]events.Totals{"a": official["A"], "b": official["B"]}
			if diff := cmp.Diff(want, g.Charts[0].Totals); diff != "" {
				t.Errorf("%s: official - charted +\n%s", game, diff)
			}
			if n := len(g.Charts[0].Findings); n != 0 {
				t.Errorf("%s has %d findings", game, n)
			}
		}
	}
}

// What was charted later changes nothing about a result computed again.
func TestAgain(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--games", "1", "--out", at("s.jsonl"))
	succeed(t, "load", "--ledger", at("l"), at("s.jsonl"))
	result := succeed(t, "rates", "--ledger", at("l"), "--by", "kind", "--format", "json")
	write(t, at("result.json"), result)
	succeed(t, "outline", "--plays", "../../testdata/plays/game-1.csv", "--game", "later", "--rules", "nba", "--ledger", at("l"))
	if out := succeed(t, "again", at("result.json")); out != "the same\n" {
		t.Errorf("again says %q", out)
	}
	write(t, at("result.json"), strings.Replace(result, `"actions": `, `"actions": 1`, 1))
	if out, _, code := stopledger(t, "again", at("result.json")); code != exitFindings || !strings.Contains(out, "groups") {
		t.Errorf("a changed result: exit %d, %q", code, out)
	}
}

// Every sort of bad input is answered with the thing, the reason and the way
// out, and with an exit code.
func TestBadInput(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--games", "1", "--out", at("s.jsonl"))
	lines := strings.SplitAfter(read(t, at("s.jsonl")), "\n")
	write(t, at("cut.jsonl"), strings.Join(lines[:9], "")+lines[9][:40])
	write(t, at("binary.jsonl"), "\x00\xff\xfe\x01\n\x02")
	write(t, at("long.jsonl"), lines[0]+`{"v":1,"x":"`+strings.Repeat("a", 1<<20)+"\"}\n"+lines[1])
	write(t, at("kind.jsonl"), lines[0]+strings.Replace(find(lines, `"type":"action"`), `"kind":"`, `"kind":"q`, 1))
	write(t, at("newer.jsonl"), lines[0]+strings.Replace(lines[1], `{"v":1,`, `{"v":9,`, 1))
	twin := strings.Replace(lines[1], `"charter":"`, `"charter":"x`, 1)
	write(t, at("twin.jsonl"), lines[0]+lines[1]+twin)
	write(t, at("bad.yaml"), "name: bad\nkeep: 'chance.endd == \"made-2\"'\n")
	if err := os.WriteFile(at("locked"), nil, 0o644); err != nil { // a file where a directory is wanted
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name string
		args []string
		code int
		want string
	}{
		{"a truncated file", []string{"load", "--ledger", at("l1"), at("cut.jsonl")}, exitFindings, "line 10 refused"},
		{"a binary file", []string{"load", "--ledger", at("l2"), at("binary.jsonl")}, exitFindings, "no JSON"},
		{"a line of a megabyte", []string{"load", "--ledger", at("l3"), at("long.jsonl")}, exitFindings, "longer than 65536 bytes"},
		{"an unknown kind", []string{"load", "--ledger", at("l4"), at("kind.jsonl")}, exitFindings, "is not a word of the vocabulary; did you mean"},
		{"a newer version is kept", []string{"load", "--ledger", at("l5"), at("newer.jsonl")}, exitOK, "2 added"},
		{"and reported", []string{"verify", "--ledger", at("l5")}, exitOK, "newer-version"},
		{"one id, two contents", []string{"load", "--ledger", at("l6"), at("twin.jsonl")}, exitOK, "1 with an id that is there with other contents"},
		{"and reported", []string{"verify", "--ledger", at("l6")}, exitFindings, "same-id-other-bytes"},
		{"a file read in place", []string{"verify", "--ledger", at("cut.jsonl")}, exitFindings, "not-an-event"},
		{"no such file", []string{"rates", "--ledger", at("nowhere.jsonl")}, exitFailed, "nowhere.jsonl"},
		{"no such directory", []string{"rates", "--ledger", at("nowhere")}, exitFailed, "nowhere"},
		{"a file for a directory", []string{"load", "--ledger", at("locked"), at("s.jsonl")}, exitFailed, "locked"},
		{"a server that is not there", []string{"rates", "--ledger", "nats://127.0.0.1:1"}, exitFailed, "127.0.0.1:1"},
		{"an unknown format", []string{"rates", "--ledger", at("s.jsonl"), "--format", "xml"}, exitFailed, "want one of table, json, csv"},
		{"an unknown group", []string{"rates", "--ledger", at("s.jsonl"), "--by", "defendr"}, exitFailed, "defender"},
		{"a misspelt field", []string{"rates", "--ledger", at("s.jsonl"), "--definition", at("bad.yaml")}, exitFailed, "chance.end"},
		{"no such definition", []string{"rates", "--ledger", at("s.jsonl"), "--definition", "ball-one"}, exitFailed, "ball-won"},
		{"a moment that is none", []string{"rates", "--ledger", at("s.jsonl"), "--as-of", "yesterday"}, exitFailed, "want a time such as"},
		{"an id that names nothing", []string{"rates", "--ledger", at("s.jsonl"), "--as-of", "0198f0c2-7c1e-7b1a-9a55-3f2a9d1c0e77"}, exitFailed, "no such event"},
		{"unknown rules", []string{"outline", "--plays", at("s.jsonl"), "--game", "g", "--rules", "street", "--out", "-"}, exitFailed, "fiba"},
		{"a feed that is none", []string{"outline", "--plays", at("s.jsonl"), "--game", "g", "--rules", "nba", "--out", "-"}, exitFailed, "s.jsonl"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			out, errs, code := stopledger(t, tc.args...)
			if code != tc.code || !strings.Contains(out+errs, tc.want) {
				t.Errorf("exit %d, want %d and %q\n%s%s", code, tc.code, tc.want, out, errs)
			}
		})
	}
}

// A newer event passes through load and dump untouched.
func TestNewerVersionPassesThrough(t *testing.T) {
	at := inDir(t)
	line := `{"v":9,"id":"0198f0c2-7c1e-7b1a-9a55-3f2a9d1c0e77","game":"g1","chart":"main","charter":"ana","pad":"p1","n":1,"type":"aura","body":{"glow":[1, 2.50]},"odd":null}` + "\n"
	write(t, at("in.jsonl"), line)
	succeed(t, "load", "--ledger", at("l"), at("in.jsonl"))
	if out := succeed(t, "dump", "--ledger", at("l")); out != line {
		t.Errorf("came out as %s", out)
	}
}

func find(lines []string, part string) string {
	for _, l := range lines {
		if strings.Contains(l, part) {
			return l
		}
	}
	return ""
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func decode(t *testing.T, text string, v any) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), v); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
}
