package film

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// on is a moment marked on a film while it was paused.
func on(film string, at float64) Moment { return Moment{Film: film, At: at} }

func TestCut(t *testing.T) {
	margins := Margins{Before: 5, After: 3, MaxDoubt: 30}
	second := secondQuarter
	second.Length = 700
	for _, tt := range []struct {
		name    string
		chances []Chance
		want    []Clip
		left    []Left
	}{
		{"a chance plays whole, five seconds before to three after",
			[]Chance{{From: on("f1", 100), To: on("f1", 114), Title: "drive stopped", Note: "Q2 10:00"}},
			[]Clip{{95, 117, "drive stopped", "Q2 10:00", 0}}, nil},
		{"never before the film's start, never after its end",
			[]Chance{{From: on("f1", 2), To: on("f1", 12), Title: "tip"}, {From: on("f1", 690), To: on("f1", 699), Title: "last"}},
			[]Clip{{0, 15, "tip", "", 0}, {685, 700, "last", "", 0}}, nil},
		{"overlaps become one, named for both, in film order",
			[]Chance{{From: on("f1", 50), To: on("f1", 60), Title: "second try", Note: "b"}, {From: on("f1", 30), To: on("f1", 45), Title: "first try", Note: "a"}, {From: on("f1", 90), To: on("f1", 95), Title: "later"}},
			[]Clip{{25, 63, "first try + second try", "a; b", 0}, {85, 98, "later", "", 0}}, nil},
		{"the same title is said once",
			[]Chance{{From: on("f1", 30), To: on("f1", 40), Title: "post"}, {From: on("f1", 35), To: on("f1", 41), Title: "post"}},
			[]Clip{{25, 44, "post", "", 0}}, nil},
		{"doubt beyond the margins widens the clip, so that the chance still plays whole",
			[]Chance{{From: Moment{Period: 2, Clock: 290}, To: Moment{Period: 2, Clock: 280}, Title: "beside a cut"}},
			[]Clip{{530 - 10.5, 540 + 20.5, "beside a cut", "", 20.5}}, nil},
		{"doubt within the margins does not",
			[]Chance{{From: Moment{Period: 2, Clock: 540}, To: Moment{Period: 2, Clock: 530}, Title: "no whistle"}},
			[]Clip{{155, 173, "no whistle", "", 0.5}}, nil},
		{"too much doubt: no clip, and the way out",
			[]Chance{{From: Moment{Period: 2, Clock: 360}, To: Moment{Period: 2, Clock: 350}, Title: "whistles"}},
			nil, []Left{{0, "whistles", "it may lie 60 seconds away on film f1 (between two anchors, the clock having stopped); set an anchor nearer to it"}}},
		{"a period without an anchor",
			[]Chance{{From: Moment{Period: 3, Clock: 360}, To: Moment{Period: 3, Clock: 350}, Title: "third"}},
			nil, []Left{{0, "third", "period 3 has no anchor on film f1; set one"}}},
		{"beyond the film's end",
			[]Chance{{From: on("f1", 702), To: on("f1", 720), Title: "after"}},
			nil, []Left{{0, "after", "it lies outside film f1"}}},
		{"a film nobody linked",
			[]Chance{{Film: "f9", From: on("f9", 1), To: on("f9", 2), Title: "elsewhere"}},
			nil, []Left{{0, "elsewhere", "film f9 is not linked"}}},
	} {
		lists, left := Cut([]Film{second}, tt.chances, margins)
		var got []Clip
		if len(lists) > 0 {
			got = lists[0].Clips
		}
		if !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%s:\n got %+v\nwant %+v", tt.name, got, tt.want)
		}
		if len(left) != len(tt.left) {
			t.Errorf("%s: left out %+v, want %+v", tt.name, left, tt.left)
			continue
		}
		for i, l := range left {
			if want := tt.left[i]; l.Chance != want.Chance || l.Title != want.Title || !strings.Contains(l.Why, want.Why) {
				t.Errorf("%s: left out %+v, want %+v", tt.name, l, want)
			}
		}
	}
}

func TestOneListAFilm(t *testing.T) {
	wide := Film{ID: "f1", Name: "wide.mp4", Anchors: []Anchor{{At: 10, Period: 1, Clock: 600}, {At: 610, Period: 1, Clock: 0}}}
	tight := Film{ID: "f2", Name: "tight.mp4", Anchors: []Anchor{{At: 0, Period: 1, Clock: 300}}}
	lists, left := Cut([]Film{wide, tight}, []Chance{
		{From: Moment{Period: 1, Clock: 290}, To: Moment{Period: 1, Clock: 280}, Title: "best by the wide film's anchors"},
		{From: on("f2", 40), To: on("f2", 50), Title: "marked on the tight film"},
		{Film: "f2", From: Moment{Period: 1, Clock: 290}, To: Moment{Period: 1, Clock: 285}, Title: "wanted from the tight film"},
	}, DefaultMargins)
	if len(left) > 0 || len(lists) != 2 {
		t.Fatalf("%d lists, left %+v", len(lists), left)
	}
	want := []List{
		{Film: "f1", Name: "wide.mp4", Clips: []Clip{{315, 333, "best by the wide film's anchors", "", 0.5}}},
		{Film: "f2", Name: "tight.mp4", Clips: []Clip{{0, 30.5, "wanted from the tight film", "", 15.5}, {35, 53, "marked on the tight film", "", 0}}},
	}
	if !reflect.DeepEqual(lists, want) {
		t.Errorf("got %+v\nwant %+v", lists, want)
	}
}

// TestCutShowsEverything: whatever the chances, every one that is shown lies
// whole in a clip of its film, and clips neither overlap nor leave the film.
func TestCutShowsEverything(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		film := Film{ID: "f1", Name: "game.mp4", Length: 500}
		var chances []Chance
		for range rapid.IntRange(1, 12).Draw(rt, "chances") {
			from := rapid.Float64Range(0, 520).Draw(rt, "from")
			length := rapid.Float64Range(0, 24).Draw(rt, "length")
			chances = append(chances, Chance{From: on("f1", from), To: on("f1", from+length), Title: "chance"})
		}
		lists, left := Cut([]Film{film}, chances, DefaultMargins)
		gone := map[int]bool{}
		for _, l := range left {
			gone[l.Chance] = true
		}
		var clips []Clip
		if len(lists) > 0 {
			clips = lists[0].Clips
			if err := lists[0].check(); err != nil {
				rt.Fatal(err)
			}
		}
		for i, c := range chances {
			if onFilm := c.From.At < 500 && c.To.At > 0; onFilm == gone[i] {
				rt.Fatalf("chance %d from %.1f to %.1f: left out %v", i, c.From.At, c.To.At, gone[i])
			}
			start, end := math.Max(0, c.From.At-5), math.Min(500, c.To.At+3)
			shown := false
			for _, clip := range clips {
				shown = shown || clip.Start <= start && clip.End >= end
			}
			if !shown && !gone[i] {
				rt.Fatalf("chance %d from %.1f to %.1f is not shown whole", i, start, end)
			}
		}
		for i, c := range clips {
			if c.Start < 0 || c.End > 500 || (i > 0 && c.Start <= clips[i-1].End) {
				rt.Fatalf("clips %+v", clips)
			}
		}
	})
}
