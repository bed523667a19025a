package season_test

import (
	"encoding/json"
	"math"
	"testing"

	"stopledger/charting/synth"
	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/web/season"
)

func games(t *testing.T) []*replay.Game {
	t.Helper()
	o := synth.Defaults()
	o.Games = 3
	s, err := synth.New(o)
	if err != nil {
		t.Fatal(err)
	}
	folded, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	return folded.Games
}

func text(t *testing.T, p *metrics.Profile, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// Following a game is quick and close; once it rests the numbers are those of a
// study that never saw the game before.
func TestNumbersSettle(t *testing.T) {
	list, d := games(t), definition.Default()
	room := season.New()
	before := room.Now(list[:2], 1)
	id := before.Study(d).Players()[0]
	if before.Quick(d) || room.Settle() {
		t.Errorf("a first view is from scratch already")
	}
	now := room.Now(list, 2)
	if room.Now(list, 2) != now {
		t.Errorf("the same games gave another view")
	}
	if !now.Quick(d) {
		t.Errorf("the next view did not begin from the one before")
	}
	quick, err := now.Profile(d, id)
	if err != nil {
		t.Fatal(err)
	}
	if !room.Settle() {
		t.Fatalf("there was nothing to settle")
	}
	settled := room.Now(list, 2)
	if settled.Quick(d) {
		t.Errorf("settled, and still on the way")
	}
	got, err := settled.Profile(d, id)
	scratch, scratchErr := season.New().Now(list, 2).Profile(d, id)
	if a, b := text(t, got, err), text(t, scratch, scratchErr); a != b {
		t.Errorf("settled numbers differ from those from scratch:\n%s\n%s", a, b)
	}
	// A third game is a large change, a live event a small one.
	for i := range quick.Assignments {
		if a, b := quick.Assignments[i].Process.Mean, got.Assignments[i].Process.Mean; math.Abs(a-b) > 0.05 {
			t.Errorf("%s: %v while it moves, %v settled", quick.Assignments[i].Assignment, a, b)
		}
	}
}

func TestNarrowedGamesAreLeftOutAltogether(t *testing.T) {
	list, d := games(t), definition.Default()
	whole := season.New().Now(list, 1)
	part, err := whole.Narrow([]evidence.Filter{{Field: "game.id", Values: []string{string(list[0].ID)}}})
	if err != nil {
		t.Fatal(err)
	}
	if len(part.Games) != 1 || part.Columns.Chances.Rows >= whole.Columns.Chances.Rows {
		t.Errorf("%d games, %d chances of %d", len(part.Games), part.Columns.Chances.Rows, whole.Columns.Chances.Rows)
	}
	again, _ := whole.Narrow([]evidence.Filter{{Field: "game.id", Values: []string{string(list[0].ID)}}})
	if again != part {
		t.Errorf("the same part was made twice")
	}
	role, err := whole.Narrow([]evidence.Filter{{Field: "opponent.role", Values: []string{"guard"}}})
	if err != nil || role.Games != nil {
		t.Errorf("line-ups know nothing of roles: %v", err)
	}
	p, err := role.Profile(d, whole.Study(d).Players()[0])
	if err != nil || p.Untested != nil {
		t.Errorf("%v, %v", p, err)
	}
	if _, err := whole.Narrow([]evidence.Filter{{Field: "game.idea"}}); err == nil {
		t.Errorf("a field that is none is no error")
	}
}
