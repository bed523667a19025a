package main

import (
	"strings"
	"testing"
)

// A season is backed up, restored elsewhere, and a player in it forgotten for
// good: no restore and no load of an old file brings his name back.
func TestBackupRestoreForget(t *testing.T) {
	at := inDir(t)
	succeed(t, "synth", "--games", "1", "--out", at("s.jsonl"), "--people", at("people.jsonl"))
	succeed(t, "load", "--ledger", at("one"), "--people", at("people.jsonl"), at("s.jsonl"))
	succeed(t, "backup", "--ledger", at("one"), "--to", at("copy"))
	if out := succeed(t, "restore", "--from", at("copy"), "--check"); !strings.Contains(out, "whole") {
		t.Errorf("check says %s", out)
	}
	if out := succeed(t, "restore", "--from", at("copy"), "--ledger", at("two")); !strings.Contains(out, "every event at its old position with its old bytes") {
		t.Errorf("restore says %s", out)
	}
	if a, b := read(t, at("s.jsonl")), succeed(t, "dump", "--ledger", at("two")); a != b {
		t.Error("the restored ledger differs from what was loaded")
	}
	player := strings.SplitN(strings.SplitN(read(t, at("people.jsonl")), `"id":"`, 2)[1], `"`, 2)[0]
	known := func(ledger string) bool {
		succeed(t, "dump", "--ledger", at(ledger), "--out", at("dump.jsonl"), "--people", at("known.jsonl"))
		return strings.Contains(read(t, at("known.jsonl")), `"`+player+`"`)
	}
	if !known("one") {
		t.Fatalf("%s is not known to begin with", player)
	}
	succeed(t, "forget", "--ledger", at("one"), "--player", player)
	succeed(t, "restore", "--from", at("copy"), "--ledger", at("one"))
	if out, errs, code := stopledger(t, "load", "--ledger", at("one"), "--people", at("people.jsonl")); code != exitFindings || !strings.Contains(errs, player) {
		t.Errorf("a load of the old file: exit %d, %s%s", code, out, errs)
	}
	if known("one") {
		t.Errorf("%s is known again", player)
	}
	succeed(t, "forget", "--ledger", at("two"), "--player", player, "--backup", at("copy"))
	if strings.Contains(read(t, at("copy/people.jsonl")), `"`+player+`"`) {
		t.Error("the backup still knows him")
	}
	succeed(t, "restore", "--from", at("copy"), "--check")
	succeed(t, "forget", "--ledger", at("one"), "--player", player, "--lift")
	succeed(t, "load", "--ledger", at("one"), "--people", at("people.jsonl"))
	if !known("one") {
		t.Error("he may not be kept after new consent")
	}
}
