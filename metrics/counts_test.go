package metrics

import (
	"math"
	"strings"
	"testing"

	"stopledger/events"
)

// A small game and a half, counted by hand in the comments.
const counted = `
game g1 hbr-3:guard hbr-9:big mil-12:guard mil-5:big
# beaten to the strong hand, then he recovers and contests: a miss
missed-2: drive mil-12 hbr-3 beaten hand=strong; contest mil-12 hbr-3 hand-up
# beaten, no second effort; the low man never came
made-2: drive mil-12 hbr-3 beaten hand=weak; rotation mil-5 hbr-3 never-came
# the big lets his man go first, then the guard is beaten: the big broke first
made-3: coverage mil-5 hbr-9 split; drive mil-12 hbr-3 beaten hand=weak saw_end=no
# three stops in a row for the guard
missed-2: drive mil-12 hbr-3 stopped hand=strong
turnover turnover=steal: drive mil-12 hbr-3 stripped hand=strong
missed-3: drive mil-12 hbr-3 killed-dribble
# a foul on the drive
free-throws: drive mil-12 hbr-3 fouled foul=reach
game g2 hbr-3:guard hbr-9:big mil-12:guard mil-5:big
made-2: ball-screen mil-12 hbr-3 hit why=saw-late
made-3: ball-screen mil-12 hbr-3 hit why=saw-late why=feet
missed-2: ball-screen mil-12 hbr-3 navigated
missed-2 rebound=offence: box-out mil-12 hbr-3 ball-watched
missed-2: box-out mil-12 hbr-3 held-off
`

func TestCountsByHand(t *testing.T) {
	s := studyOf(t, counted)
	p := s.film.index["mil-12"]
	if r := s.recovery(p); r.Broken != 7 || r.Seconds != 1 || r.Held != 1 || r.Stops != 1 {
		t.Errorf("recovery %+v; want broken in 7 chances, one second effort that held and ended in a stop", r)
	}
	// first in the drives of chances 1 and 2, the foul, both screens and the box-out; not in chance 3
	if b := s.breaks(p); b.Chances != 12 || b.First != 6 || b.Points != 2+2+3 || b.ByOther != 1 {
		t.Errorf("first breaks %+v; want 6 of 12 chances, 7 points, one after another's", b)
	}
	if r := s.streaks(p); r.Threes != 1 || r.Longest != 3 {
		t.Errorf("streaks %+v; want three straight once", r)
	}
	got := map[string][2]int{}
	for _, c := range s.coach(p) {
		got[c.What] = [2]int{c.Count, c.Of}
	}
	for what, want := range map[string][2]int{
		"beaten on drives to the strong hand":             {1, 3},
		"beaten on drives to the weak hand":               {2, 2},
		"beaten on drives, hand not charted":              {0, 2},
		"hit on ball screens on the handler":              {2, 3},
		"hit on ball screens on the handler, saw it late": {2, 2},
		"hit on ball screens on the handler, his feet":    {1, 2},
		"fouls per drive":                                 {1, 7},
		"bodies put on, of box-outs charted":              {1, 2},
	} {
		if got[what] != want {
			t.Errorf("%s: %v, want %v", what, got[what], want)
		}
	}
	r, err := s.ProcessResult("mil-12")
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Blind-1./13) > 1e-12 || r.Readings != 13 {
		t.Errorf("blind %v of %d, want 1 of 13", r.Blind, r.Readings)
	}
	if r.Above != nil || !strings.Contains(r.Text, "most of the film on this ledger is his own") {
		t.Errorf("his own film was held against itself: %s", r.Text)
	}
	if r.Threes.Taken != 3 || r.Threes.Made != 2 {
		t.Errorf("threes %+v, want 2 of 3", r.Threes)
	}
}

// Stops to be expected are everybody's at the same kind and reading; the
// arithmetic is in the comments.
func TestStopsExpectedFromReadings(t *testing.T) {
	s := studyOf(t, `
game g1 hbr-3:guard mil-1:guard mil-2:guard mil-3:guard
4x missed-2: drive mil-1 hbr-3 stopped
4x made-2: drive mil-2 hbr-3 stopped
4x made-2: drive mil-3 hbr-3 stopped
game g2 hbr-3:guard mil-1:guard mil-2:guard mil-3:guard
2x missed-2: drive mil-1 hbr-3 beaten
2x made-2: drive mil-2 hbr-3 beaten
4x made-2: drive mil-3 hbr-3 beaten
`)
	r, err := s.ProcessResult("mil-1")
	if err != nil {
		t.Fatal(err)
	}
	// held drives were stops 4 times in 12, broken ones 2 times in 8: 4/3 + 2/4
	if want := 4*4./12 + 2*2./8; math.Abs(r.Expected-want) > 1e-9 || r.Stops != 6 || r.Of != 6 {
		t.Errorf("%.3f stops of %.0f, expected %.3f, want 6 of 6 and %.3f", r.Stops, r.Of, r.Expected, want)
	}
	if r.Above == nil || r.Above.Low <= 0 || !strings.Contains(r.Text, "flatters") {
		t.Errorf("six stops in six, two expected: %+v %s", r.Above, r.Text)
	}
	total := 0.0
	for _, id := range []events.Token{"mil-1", "mil-2", "mil-3"} {
		r, _ := s.ProcessResult(id)
		total += r.Expected - r.Stops
	}
	if math.Abs(total) > 1e-9 {
		t.Errorf("over everybody, expected and actual stops differ by %v", total)
	}
}

// The player whose results flatter him, and the one they belittle, are told
// apart from readings that are only a little different in what they won.
func TestStoriesOfTheInventedSeason(t *testing.T) {
	in := shared()
	s := sharedStudy()
	for _, p := range in.truth.Players {
		if p.Story != "flattered-by-results" && p.Story != "better-than-results" {
			continue
		}
		r, err := s.ProcessResult(p.ID)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s, %s: %s; %s", p.ID, p.Story, r.Text, r.Threes.Text)
		if flattered := p.Story == "flattered-by-results"; r.Above == nil || flattered != (r.Above.Value > 0) {
			t.Errorf("%s: %s, above %+v", p.ID, p.Story, r.Above)
		}
	}
}
