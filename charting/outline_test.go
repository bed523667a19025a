package charting_test

import (
	"os"
	"testing"

	"stopledger/charting"
	"stopledger/charting/outline"
	"stopledger/events"
)

// On an outline the chances are there already: the charter adds what the
// defence did, and his undo never reaches what the feed said.
func TestChartingOnAnOutline(t *testing.T) {
	f, err := os.Open("../testdata/plays/game-1.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	feed, err := outline.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	rules, _ := events.RuleSet("nba")
	list, _, err := feed.Events(outline.Options{Game: "g", Rules: rules})
	if err != nil {
		t.Fatal(err)
	}
	s, err := charting.Open(charting.Seat{Game: "g", Chart: "main", Charter: "ana", Pad: "p1"}, &testMint{}, list)
	if err != nil {
		t.Fatal(err)
	}
	first := s.Chart().Chances[0]
	if err := s.At(first.When); err != nil {
		t.Fatal(err)
	}
	wrote, err := s.Act(events.Action{Chance: first.ID, Kind: events.Contest, Defender: "b1", Opponent: "a1", Outcome: "hand-up"})
	if err != nil {
		t.Fatal(err)
	}
	if wrote[0].N != 1 || wrote[0].Pad != "p1" {
		t.Errorf("the first action of pad p1 is n %d of pad %s", wrote[0].N, wrote[0].Pad)
	}
	if got := s.Chart().Chances[0]; got.Actions != 1 {
		t.Errorf("%d actions in the first chance, want 1", got.Actions)
	}
	if len(s.Chart().Findings) != 0 {
		t.Errorf("findings: %v", s.Chart().Findings)
	}
	if _, err := s.Undo(); err != nil {
		t.Error(err)
	}
	if list, err := s.Undo(); err == nil {
		t.Errorf("undo went on into the outline: %d events", len(list))
	}
	if _, err := s.Begin(events.ChanceBegan{Offence: "a"}); err == nil {
		t.Error("a chance began in a game that is closed")
	}
}
