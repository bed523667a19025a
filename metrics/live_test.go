package metrics

import (
	"math"
	"testing"

	"stopledger/replay"
)

// A study made after an earlier one, as while a game is charted, says nearly what
// a study from scratch says of the same columns.
func TestStudyAfterAnother(t *testing.T) {
	games := shared().games
	before := NewStudy(define(t, ""), replay.ColumnsOf(&replay.Season{Games: games[:len(games)-1]}, nil), StudyOptions{})
	cols := replay.ColumnsOf(&replay.Season{Games: games}, nil)
	home := games[len(games)-1].Info.Players[0].ID
	if _, err := before.Project(home); err != nil {
		t.Fatal(err)
	}
	after, err := NewStudy(define(t, ""), cols, StudyOptions{After: before}).Project(home)
	if err != nil {
		t.Fatal(err)
	}
	scratch, err := NewStudy(define(t, ""), cols, StudyOptions{}).Project(home)
	if err != nil {
		t.Fatal(err)
	}
	for i := range scratch {
		a, b := after[i], scratch[i]
		if a.Film != b.Film && math.Abs(a.Film.Effective-b.Film.Effective) > 0.5 {
			t.Errorf("%s: film %+v, from scratch %+v", a.Assignment, a.Film, b.Film)
		}
		if math.Abs(a.Process.Mean-b.Process.Mean) > 0.01 || math.Abs(a.Process.SD/b.Process.SD-1) > 0.1 {
			t.Errorf("%s: process %.3f (%.3f), from scratch %.3f (%.3f)", a.Assignment, a.Process.Mean, a.Process.SD, b.Process.Mean, b.Process.SD)
		}
	}
}
