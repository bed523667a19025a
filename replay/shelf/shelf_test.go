package shelf_test

import (
	"os"
	"path/filepath"
	"testing"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/shelf"
)

func TestShelf(t *testing.T) {
	dir := t.TempDir()
	s := shelf.In(filepath.Join(dir, "columns"))
	cols := replay.GameColumns(replay.FoldGame("g1", nil))
	counts := map[events.Token]map[events.Token]int{"main": {"p1": 7, "p2": 3}}
	stamp := shelf.Stamp("here", counts)
	if _, ok := s.Get("g1", stamp); ok {
		t.Error("an empty shelf has the game")
	}
	if err := s.Put("g1", stamp, cols); err != nil {
		t.Fatal(err)
	}
	if _, ok := s.Get("g1", stamp); !ok {
		t.Error("what was put is not there")
	}
	counts["main"]["p1"] = 8
	if _, ok := s.Get("g1", shelf.Stamp("here", counts)); ok {
		t.Error("a game with a newer event came from the shelf")
	}
	if _, ok := s.Get("g1", shelf.Stamp("elsewhere", map[events.Token]map[events.Token]int{"main": {"p1": 7, "p2": 3}})); ok {
		t.Error("another ledger's game came from the shelf")
	}
	file := filepath.Join(dir, "columns", "g1.cols")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for at := range text { // one flipped bit anywhere, and it does not fit
		text[at] ^= 4
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, ok := s.Get("g1", stamp); ok {
			t.Errorf("byte %d flipped, and the segment was taken", at)
		}
		text[at] ^= 4
	}
	if entries, _ := os.ReadDir(filepath.Join(dir, "columns")); len(entries) != 1 {
		t.Errorf("%d files on the shelf, want 1", len(entries))
	}
}
