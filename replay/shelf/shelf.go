// Package shelf keeps folded games on disk beside the ledger, so that a second
// command on a large ledger starts in a moment. A shelf is a cache: anything on
// it that does not fit is folded again without a word, and it may be thrown
// away at any time.
//
// The log only grows, so the stored events of a game are known by how many
// each pad of each chart has sent: that is the stamp. One segment a game, in a
// file named for the game.
package shelf

import (
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// Shelf is a folder of segments.
type Shelf struct{ dir string }

// In returns the shelf in a folder, which is made when something is put there.
func In(dir string) Shelf { return Shelf{dir} }

// Stamp names the stored events of a game by their number, by chart and pad,
// in a ledger that only grows. Origin names the ledger, so that another one
// restored into the same place is not mistaken for it.
func Stamp(origin string, counts map[events.Token]map[events.Token]int) string {
	var lines []string
	for chart, pads := range counts {
		for pad, n := range pads {
			lines = append(lines, fmt.Sprintf("%s/%s=%d", chart, pad, n))
		}
	}
	sort.Strings(lines)
	return origin + " " + strings.Join(lines, " ")
}

// Get returns a game's columns if the shelf holds them under this stamp.
func (s Shelf) Get(game events.Token, stamp string) (*replay.Columns, bool) {
	text, err := os.ReadFile(s.file(game))
	if err != nil {
		return nil, false
	}
	cols, found, err := replay.DecodeSegment(text)
	return cols, err == nil && found == stamp
}

// Put keeps a game's columns. It writes beside the old file and renames, so
// that a reader never sees half of one. An error means only that the game will
// be folded again.
func (s Shelf) Put(game events.Token, stamp string, cols *replay.Columns) error {
	if err := os.MkdirAll(s.dir, 0o755); err != nil {
		return fmt.Errorf("keep folded game: %w", err)
	}
	f, err := os.CreateTemp(s.dir, string(game)+".*.new")
	if err != nil {
		return fmt.Errorf("keep folded game: %w", err)
	}
	defer os.Remove(f.Name()) // fails after the rename, as it should
	_, err = f.Write(replay.EncodeSegment(cols, stamp))
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(f.Name(), s.file(game))
	}
	if err != nil {
		return fmt.Errorf("keep folded game %s: %w", game, err)
	}
	return nil
}

func (s Shelf) file(game events.Token) string { return filepath.Join(s.dir, string(game)+".cols") }
