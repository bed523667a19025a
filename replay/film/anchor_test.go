package film

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// secondQuarter is a film of a ten-minute quarter, told as a charter would:
//
//	film   clock
//	 1:40  10:00  the tip
//	 4:40   7:00  no whistle in these three minutes
//	 8:40   5:00  two minutes of play in four of film: the clock stood for two
//	 9:40   3:00  two minutes of play in one of film: the film has a cut
//	10:10   3:00  still 3:00 half a minute of film later: a time-out
var secondQuarter = Film{ID: "f1", Name: "game.mp4", Length: 900, Anchors: []Anchor{
	{At: 610, Period: 2, Clock: 180}, // in no order, as they come from a ledger
	{At: 100, Period: 2, Clock: 600},
	{At: 280, Period: 2, Clock: 420},
	{At: 520, Period: 2, Clock: 300},
	{At: 580, Period: 2, Clock: 180},
	{At: 800, Period: 4, Clock: 60},
}}

func TestPlace(t *testing.T) {
	clock := func(minutes, seconds float64) float64 { return minutes*60 + seconds }
	for _, tt := range []struct {
		name      string
		m         Moment
		at, doubt float64
		by        string
	}{
		{"at the tip's anchor", Moment{Period: 2, Clock: clock(10, 0)}, 100, 0.5, "at an anchor"},
		{"a minute into play without a whistle", Moment{Period: 2, Clock: clock(9, 0)}, 160, 0.5, "between two anchors"},
		{"the same, charted on a running film, so up to a reaction late", Moment{Period: 2, Clock: clock(9, 0), Late: Reaction}, 160, 2.1, "between two anchors"},
		{"play with two minutes of standstill somewhere: 4:40+1:00, or 8:40-1:00", Moment{Period: 2, Clock: clock(6, 0)}, 400, 60.5, "between two anchors, the clock having stopped"},
		{"ten seconds before a cut's near side: counted from 5:00", Moment{Period: 2, Clock: clock(4, 50)}, 530, 10.5, "beside a cut"},
		{"ten seconds after the cut's far side: counted back from 3:00", Moment{Period: 2, Clock: clock(3, 10)}, 570, 10.5, "beside a cut"},
		{"during the time-out the clock shows 3:00 for half a minute", Moment{Period: 2, Clock: clock(3, 0)}, 595, 15.5, "between two anchors, the clock having stopped"},
		{"four seconds after the last anchor", Moment{Period: 2, Clock: clock(2, 56)}, 614, 4.5, "after the last anchor"},
		{"a minute and a half after the last anchor", Moment{Period: 2, Clock: clock(1, 30)}, 700, 90.5, "after the last anchor"},
		{"twenty seconds before the only anchor of the fourth", Moment{Period: 4, Clock: clock(1, 20)}, 780, 20.5, "before the first anchor"},
		{"marked on this film while paused", Moment{Period: 2, Clock: clock(6, 0), Film: "f1", At: 345.6}, 345.6, 0, "marked on this film"},
		{"marked on this film while it ran", Moment{Film: "f1", At: 345.6, Late: Reaction}, 345.6, 1.6, "marked on this film"},
		{"marked on another film: by the clock", Moment{Period: 2, Clock: clock(9, 0), Film: "f2", At: 5}, 160, 0.5, "between two anchors"},
	} {
		got, err := secondQuarter.Place(tt.m)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if math.Abs(got.At-tt.at) > 1e-9 || math.Abs(got.Doubt-tt.doubt) > 1e-9 || got.By != tt.by {
			t.Errorf("%s: %.1f s ± %.1f (%s), want %.1f s ± %.1f (%s)", tt.name, got.At, got.Doubt, got.By, tt.at, tt.doubt, tt.by)
		}
	}
}

func TestNotPlaced(t *testing.T) {
	// Two minutes of play are missing between 6:00 and 4:00, with one second of
	// film between the anchors.
	cut := Film{ID: "f1", Anchors: []Anchor{{At: 50, Period: 1, Clock: 360}, {At: 51, Period: 1, Clock: 240}}}
	backward := Film{ID: "f1", Anchors: []Anchor{{At: 90, Period: 1, Clock: 360}, {At: 30, Period: 1, Clock: 240}}}
	for _, tt := range []struct {
		name string
		film Film
		m    Moment
		why  string
	}{
		{"another period", secondQuarter, Moment{Period: 3, Clock: 300}, "period 3 has no anchor on film f1; set one"},
		{"no clock and marked elsewhere", secondQuarter, Moment{Film: "f2", At: 12}, "no game clock, and no mark on film f1"},
		{"in the middle of what the film leaves out", cut, Moment{Period: 1, Clock: 300}, "the film cuts out period 1 at 5:00.0"},
		{"anchors that contradict each other", backward, Moment{Period: 1, Clock: 300}, "the film cuts out period 1 at 5:00.0"},
	} {
		got, err := tt.film.Place(tt.m)
		if !errors.Is(err, ErrNotPlaced) || !strings.Contains(err.Error(), tt.why) {
			t.Errorf("%s: placed at %+v, error %v; want %q", tt.name, got, err, tt.why)
		}
	}
}

// TestPlaceHoldsTheTruth plays a period with whistles, anchors some of its
// moments without error and asks for others: the truth lies within the doubt.
// Uncut film between its anchors needs no more than that the clock never runs
// backward or faster than the film.
func TestPlaceHoldsTheTruth(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var played []Anchor // the truth, a row each time the clock starts or stops
		at, clock := 20.0, 600.0
		for clock > 0 {
			played = append(played, Anchor{At: at, Period: 1, Clock: clock})
			run := math.Min(clock, rapid.Float64Range(1, 80).Draw(rt, "run"))
			at, clock = at+run, clock-run
			played = append(played, Anchor{At: at, Period: 1, Clock: clock})
			at += rapid.Float64Range(0, 50).Draw(rt, "whistle")
		}
		film := Film{ID: "f1", Anchors: []Anchor{played[0], played[len(played)-1]}}
		for _, a := range played {
			if rapid.Bool().Draw(rt, "anchored") {
				film.Anchors = append(film.Anchors, a)
			}
		}
		for i := 0; i+1 < len(played); i += 2 {
			share := rapid.Float64Range(0.01, 0.99).Draw(rt, "share")
			run := played[i+1].At - played[i].At
			truth := played[i].At + share*run
			got, err := film.Place(Moment{Period: 1, Clock: played[i].Clock - share*run})
			if err != nil || math.Abs(got.At-truth) > got.Doubt+1e-6 {
				rt.Fatalf("at %.1f s in truth, placed at %.1f ± %.1f (%v)", truth, got.At, got.Doubt, err)
			}
		}
	})
}
