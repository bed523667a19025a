package replay_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"stopledger/events"
	"stopledger/replay"
)

func storyGames(t *testing.T) []*replay.Game {
	var games []*replay.Game
	for _, list := range stories(t) {
		games = append(games, replay.FoldGame("g1", list))
	}
	return games
}

// cells reads every cell of every table through its column, so that columns
// with other dictionaries and widths compare by what they say.
func cells(c *replay.Columns) map[string][]any {
	out := map[string][]any{}
	for _, t := range []*replay.Table{&c.Games, &c.Chances, &c.Actions} {
		for _, col := range t.Columns {
			for row := range t.Rows {
				out[col.Field.Name] = append(out[col.Field.Name], cell(col, row))
			}
		}
	}
	for row := range c.Actions.Rows {
		for name, at := range map[string]uint32{"defender": c.ActionDefender[row], "opponent": c.ActionOpponent[row]} {
			for _, col := range c.Players.Columns {
				out[name+col.Field.Name] = append(out[name+col.Field.Name], cell(col, int(at)))
			}
		}
		out["link"] = append(out["link"], c.ActionChance[row], c.ChanceGame[c.ActionChance[row]], c.ActionIDs[row])
	}
	return out
}

func cell(c *replay.Column, row int) any {
	switch c.Field.Shape {
	case replay.Real:
		if len(c.Reals) == 0 {
			return math.NaN()
		}
		return float64(c.Reals[row])
	case replay.Number, replay.Truth:
		return c.Numbers[c.Code(row)]
	}
	return c.Words[c.Code(row)]
}

// Laid out game by game and joined, the columns say what they say when laid out
// in one go; and a segment written and read says the same.
func TestJoinAndSegmentsKeepEveryCell(t *testing.T) {
	games := storyGames(t)
	tall := true
	people := []events.Person{{ID: "mil-12", HeightCM: events.Measure{Value: 201, How: "listed"}, Shooter: &tall}}
	b := replay.NewBuilder(people, true)
	var parts []*replay.Columns
	for _, g := range games {
		b.Add(g)
		text := replay.EncodeSegment(replay.GameColumns(g), g.Digest)
		part, stamp, err := replay.DecodeSegment(text)
		if err != nil || stamp != g.Digest {
			t.Fatalf("segment of %s: %v, %s", g.Digest, err, stamp)
		}
		parts = append(parts, part)
	}
	want, got := cells(b.Columns()), cells(replay.Join(parts, people))
	if diff := cmp.Diff(want, got, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("in one go - joined from segments +\n%s", diff)
	}
	if len(want["action.kind"]) < 10 || len(want["chance.end"]) < 20 {
		t.Errorf("the stories gave only %d actions in %d chances", len(want["action.kind"]), len(want["chance.end"]))
	}
}

// Every closed word that a column holds is one of its field's words.
func TestColumnsHoldOnlyTheirWords(t *testing.T) {
	c := replay.Join([]*replay.Columns{replay.GameColumns(storyGames(t)[0])}, nil)
	for _, table := range []*replay.Table{&c.Games, &c.Chances, &c.Actions, &c.Players} {
		for _, col := range table.Columns {
			if col.Field.Words == nil {
				continue
			}
			for _, word := range col.Words[1:] {
				found := false
				for _, w := range col.Field.Words {
					found = found || w == word
				}
				if !found {
					t.Errorf("%s holds %q", col.Field.Name, word)
				}
			}
		}
	}
}

func FuzzDecodeSegment(f *testing.F) {
	text := replay.EncodeSegment(replay.GameColumns(replay.FoldGame("g1", nil)), "s")
	f.Add(text)
	f.Fuzz(func(t *testing.T, text []byte) {
		if c, _, err := replay.DecodeSegment(text); err == nil {
			cells(c)
		}
		// The checksum keeps most rubbish out; look behind it too.
		if c, _, err := replay.DecodeSegment(replay.Resum(text)); err == nil && c == nil {
			t.Error("no columns and no error")
		}
	})
}
