package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"stopledger/metrics"
)

// What the models say, of one small invented season, by every command that asks
// them: the same bytes each time, its sources named, marked as invented, with the
// cautions where there is a projection.
func TestModelCommands(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--seed", "7", "--games", "6", "--out", at("s.jsonl"))
	var first groups
	decode(t, succeed(t, "rates", "--ledger", at("s.jsonl"), "--by", "defender,kind,role", "--pooled", "--format", "json"), &first)
	player := ""
	for _, g := range first.Groups {
		if g["defender"] == "" {
			continue
		}
		p, ok := g["pooled"].(map[string]any)
		if !ok || len(p) != 5 {
			t.Fatalf("a group without its five pooled numbers: %v", g)
		}
		if player == "" && g["actions"].(float64) > 5 {
			player = g["defender"].(string)
		}
	}
	for _, c := range []struct {
		args     []string
		table    string // must stand in the table
		cautions bool
	}{
		{[]string{"rates", "--pooled", "--target", "process"}, "fitted: the process", false},
		{[]string{"project", "--player", player}, "finish-on-the-glass", true},
		{[]string{"filmplan", "--player", player}, "alone", true},
		{[]string{"peers", "--kind", "screen", "--role", "guard"}, "top third", true},
		{[]string{"peers", "--kind", "drive", "--own", "big", "--target", "result"}, "of the result, pooled", true},
	} {
		args := append(c.args, "--ledger", at("s.jsonl"))
		text := succeed(t, args...)
		for _, want := range []string{c.table, "ball-won", inventedNotice} {
			if !strings.Contains(text, want) {
				t.Errorf("%v does not say %q:\n%s", c.args, want, text)
			}
		}
		if c.cautions != strings.Contains(text, metrics.Cautions[1]) {
			t.Errorf("%v: cautions are there: %v", c.args, !c.cautions)
		}
		args = append(args, "--format", "json")
		one, two := succeed(t, args...), succeed(t, args...)
		if one != two {
			t.Errorf("%v gave other bytes the second time", c.args)
		}
		var v map[string]any
		if err := json.Unmarshal([]byte(one), &v); err != nil {
			t.Fatalf("%v: %v", c.args, err)
		}
		if v["invented"] != true || v["definition"] == nil || v["ledger"] == nil {
			t.Errorf("%v does not say what it was made from", c.args)
		}
		if strings.Contains(text+one, "NaN") {
			t.Errorf("%v prints NaN", c.args)
		}
	}
}

// What cannot be answered is explained.
func TestModelCommandsExplain(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--seed", "7", "--games", "1", "--out", at("s.jsonl"))
	write(t, at("empty.jsonl"), "")
	write(t, at("shares.yaml"), "name: x\nabout: x\nstop: {default: 'chance.points == 0'}\nassignments:\n  - name: a\n    about: a\n    asks: [{kind: drive, share: 0.4}]\n")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"project", "--ledger", at("s.jsonl"), "--player", "nobody-0"}, "is not on this ledger"},
		{[]string{"project", "--ledger", at("empty.jsonl"), "--player", "mil-12"}, "nobody is on this ledger yet"},
		{[]string{"filmplan", "--ledger", at("empty.jsonl"), "--player", "mil-12"}, "nobody is on this ledger yet"},
		{[]string{"peers", "--ledger", at("s.jsonl"), "--kind", "screening"}, `kind "screening"`},
		{[]string{"peers", "--ledger", at("s.jsonl"), "--kind", "drive", "--role", "gard"}, `did you mean "guard"?`},
		{[]string{"peers", "--ledger", at("s.jsonl"), "--kind", "drive", "--target", "proces"}, `did you mean "process"?`},
		{[]string{"rates", "--ledger", at("s.jsonl"), "--pooled", "--by", "opponent"}, "defender, kind, role, scheme"},
		{[]string{"rates", "--ledger", at("s.jsonl"), "--target", "process"}, "--pooled"},
		{[]string{"project", "--ledger", at("s.jsonl"), "--player", "trn-1", "--definition", at("shares.yaml")}, "0.4"},
	} {
		out, errs, code := stopledger(t, c.args...)
		if code == exitOK || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit %d, want %q in\n%s%s", c.args, code, c.want, out, errs)
		}
	}
	for _, args := range [][]string{{"rates", "--pooled"}, {"peers", "--kind", "drive"}} {
		if out := succeed(t, append(args, "--ledger", at("empty.jsonl"))...); bytes.Contains([]byte(out), []byte("NaN")) {
			t.Errorf("%v of an empty ledger:\n%s", args, out)
		}
	}
}
