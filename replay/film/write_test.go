package film

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files; read the difference before you commit it")

const invented = "invented demo data"

// demo is an invented list with what formats stumble over: markup, an arrow,
// quotes, a line end, a doubt, a film name with blanks.
func demo() List {
	return List{Film: "harbour-q2", Name: "harbour v mill, 2nd.mp4", Length: 900, Clips: []Clip{
		{Start: 12.4, End: 19.96, Title: "Ball screen, drop: stop", Note: "Q2 9:41, 14-12"},
		{Start: 63, End: 70.52, Title: "Closeout & drive --> 2 points <corner>", Note: "his man's \"best\"\nhand", Doubt: 1.6},
		{Start: 880, End: 900, Doubt: 0.5},
	}}
}

func options(t testing.TB, rate string) Options {
	return Options{Title: "What 12 gives up", Rate: mustRate(t, rate), Mark: invented}
}

// golden compares with a file that was read by hand before it was committed.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("../../testdata/film", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; got:\n%s", name, got)
	}
}

func TestGoldenFiles(t *testing.T) {
	write := func(f func(b *bytes.Buffer) error) string {
		var b bytes.Buffer
		if err := f(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	o := options(t, "29.97-drop")
	edl, err := EDL(demo(), o)
	if err != nil || len(edl) != 1 {
		t.Fatalf("%d parts, %v", len(edl), err)
	}
	inPlace := o
	inPlace.InPlace = true
	for name, got := range map[string]string{
		"demo.vtt":           write(func(b *bytes.Buffer) error { return WriteWebVTT(b, demo(), o) }),
		"demo.edl":           edl[0],
		"demo.otio":          write(func(b *bytes.Buffer) error { return WriteOTIO(b, demo(), o) }),
		"demo-in-place.otio": write(func(b *bytes.Buffer) error { return WriteOTIO(b, demo(), inPlace) }),
		"demo.uris":          write(func(b *bytes.Buffer) error { return WriteLinks(b, demo(), o) }),
		"demo.sh":            write(func(b *bytes.Buffer) error { return WriteCutScript(b, demo(), o) }),
	} {
		golden(t, name, got)
		if !strings.Contains(got, invented) {
			t.Errorf("%s does not carry the mark", name)
		}
	}
}

func TestWritersRefuse(t *testing.T) {
	ok := options(t, "25")
	for _, tt := range []struct {
		name string
		list List
		o    Options
		why  string
	}{
		{"no clips", List{Film: "f1"}, ok, "no clips"},
		{"an end before its start", List{Film: "f1", Clips: []Clip{{Start: 5, End: 4}}}, ok, "clip 1 runs from 5 to 4"},
		{"clips out of film order", List{Film: "f1", Clips: []Clip{{Start: 5, End: 9}, {Start: 1, End: 2}}}, ok, "clip 2"},
		{"a time that is no number", List{Film: "f1", Clips: []Clip{{Start: math.NaN(), End: 9}}}, ok, "clip 1"},
		{"before the film", List{Film: "f1", Clips: []Clip{{Start: -1, End: 9}}}, ok, "clip 1"},
		{"no frame rate", demo(), Options{}, "no frame rate"},
	} {
		var b bytes.Buffer
		_, edlErr := EDL(tt.list, tt.o)
		errs := map[string]error{"edl": edlErr, "otio": WriteOTIO(&b, tt.list, tt.o), "script": WriteCutScript(&b, tt.list, tt.o)}
		if tt.o.Rate.num != 0 {
			errs["webvtt"], errs["links"] = WriteWebVTT(&b, tt.list, tt.o), WriteLinks(&b, tt.list, tt.o)
		}
		for format, err := range errs {
			if err == nil || !strings.Contains(err.Error(), tt.why) {
				t.Errorf("%s, %s: error %v, want one about %q", tt.name, format, err, tt.why)
			}
		}
	}
}

// edlLine is an event of a CMX 3600 list, read without the package's own code:
// number, reel, channel, cut, and four times of hours, minutes, seconds, frames.
var edlLine = regexp.MustCompile(`^(\d{3})  ([A-Z0-9]{1,8}) +V +C +(\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d)$`)

// edlFrames counts a label's frames the slow way: minute by minute.
func edlFrames(t *testing.T, label string, perSecond, drop int) int {
	t.Helper()
	var h, m, s, f int
	if _, err := fmt.Sscanf(strings.ReplaceAll(label, ";", ":"), "%d:%d:%d:%d", &h, &m, &s, &f); err != nil {
		t.Fatalf("%s: %v", label, err)
	}
	frames := s*perSecond + f
	for minute := 1; minute <= h*60+m; minute++ {
		frames += 60 * perSecond
		if minute%10 != 0 {
			frames -= drop
		}
	}
	return frames
}

func TestEDLTimesAddUp(t *testing.T) {
	many := List{Film: "f1", Name: "g.mp4"}
	for i := range 2100 {
		at := float64(i) * 17.003
		many.Clips = append(many.Clips, Clip{Start: at, End: at + 9.37 + float64(i%7)/10, Title: fmt.Sprint("chance ", i)})
	}
	for _, tt := range []struct {
		rate            string
		perSecond, drop int
		fps             float64
	}{
		{"24", 24, 0, 24}, {"25", 25, 0, 25}, {"29.97-drop", 30, 2, 30000.0 / 1001}, {"29.97-non-drop", 30, 0, 30000.0 / 1001},
		{"30", 30, 0, 30}, {"59.94-drop", 60, 4, 60000.0 / 1001}, {"23.976", 24, 0, 24000.0 / 1001},
	} {
		parts, err := EDL(many, options(t, tt.rate))
		if err != nil {
			t.Fatal(err)
		}
		if len(parts) != 3 {
			t.Fatalf("2100 clips in %d parts, want 3 of at most 999", len(parts))
		}
		clip := 0
		for p, part := range parts {
			lines := strings.Split(part, "\n")
			wantHead := fmt.Sprintf("TITLE: What 12 gives up (%s) part %d of 3", invented, p+1)
			fcm := map[bool]string{true: "FCM: DROP FRAME", false: "FCM: NON-DROP FRAME"}[tt.drop > 0]
			if lines[0] != wantHead || lines[1] != fcm || len(lines[0]) > len("TITLE: ")+70 {
				t.Errorf("%s: head %q, %q", tt.rate, lines[0], lines[1])
			}
			record, number := edlFrames(t, "01:00:00:00", tt.perSecond, tt.drop), 0
			for _, line := range lines[2:] {
				m := edlLine.FindStringSubmatch(line)
				if m == nil {
					if line != "" && !strings.HasPrefix(line, "* ") || number == 0 && line != "" {
						t.Fatalf("%s: stray line %q", tt.rate, line)
					}
					continue
				}
				number++
				var at [4]int
				for k := range at {
					at[k] = edlFrames(t, m[3+k], tt.perSecond, tt.drop)
				}
				c := many.Clips[clip]
				clip++
				switch {
				case m[1] != fmt.Sprintf("%03d", number) || m[2] != "F1":
					t.Fatalf("%s: event %s of reel %s, want %03d of F1", tt.rate, m[1], m[2], number)
				case at[2] != record || at[3]-at[2] != at[1]-at[0] || at[1] <= at[0]:
					t.Fatalf("%s: times of %q do not add up", tt.rate, line)
				case math.Abs(float64(at[0])/tt.fps-c.Start) > 0.51/tt.fps || math.Abs(float64(at[1])/tt.fps-c.End) > 0.51/tt.fps:
					t.Fatalf("%s: %q is not %.3f to %.3f s", tt.rate, line, c.Start, c.End)
				case strings.Contains(m[3], ";") != (tt.drop > 0):
					t.Fatalf("%s: separator of %q", tt.rate, line)
				}
				record = at[3]
			}
		}
		if clip != len(many.Clips) {
			t.Errorf("%s: %d of %d clips written", tt.rate, clip, len(many.Clips))
		}
	}
}

func TestEDLRefusesWhatHasNoLabel(t *testing.T) {
	day := List{Film: "f1", Name: "g.mp4", Clips: []Clip{{Start: 86390, End: 86410}}}
	if _, err := EDL(day, options(t, "25")); err == nil || !strings.Contains(err.Error(), "clip 1") {
		t.Errorf("a clip beyond 24 hours: %v", err)
	}
}

func TestReelNames(t *testing.T) {
	for film, want := range map[string]string{"f1": "F1", "harbour-v-mill-2031": "HARBOURV", "--": "AX", "": "AX"} {
		if got := reel(film); got != want {
			t.Errorf("film %q on reel %q, want %q", film, got, want)
		}
	}
}

// otioFields are the fields that the file format specification's examples show
// for each schema (opentimelineio.readthedocs.io, and the reference library's
// tests/sample_data).
var otioFields = map[string]string{
	"Timeline.1":          "OTIO_SCHEMA global_start_time metadata name tracks",
	"Stack.1":             "OTIO_SCHEMA children effects enabled markers metadata name source_range",
	"Track.1":             "OTIO_SCHEMA children effects enabled kind markers metadata name source_range",
	"Clip.2":              "OTIO_SCHEMA active_media_reference_key effects enabled markers media_references metadata name source_range",
	"Gap.1":               "OTIO_SCHEMA effects enabled markers metadata name source_range",
	"ExternalReference.1": "OTIO_SCHEMA available_image_bounds available_range metadata name target_url",
	"TimeRange.1":         "OTIO_SCHEMA duration start_time",
	"RationalTime.1":      "OTIO_SCHEMA rate value",
}

func TestOTIOSchema(t *testing.T) {
	for _, inPlace := range []bool{false, true} {
		o := options(t, "59.94-drop")
		o.InPlace = inPlace
		var b bytes.Buffer
		if err := WriteOTIO(&b, demo(), o); err != nil {
			t.Fatal(err)
		}
		var timeline map[string]any
		if err := json.Unmarshal(b.Bytes(), &timeline); err != nil {
			t.Fatal(err)
		}
		seen := map[string]int{}
		walkOTIO(t, timeline, seen)
		gaps := map[bool]int{false: 0, true: 3}[inPlace]
		if seen["Timeline.1"] != 1 || seen["Stack.1"] != 1 || seen["Track.1"] != 1 || seen["Clip.2"] != 3 || seen["ExternalReference.1"] != 3 || seen["Gap.1"] != gaps {
			t.Errorf("in place %v: schemas %v", inPlace, seen)
		}
		stack := timeline["tracks"].(map[string]any)
		track := stack["children"].([]any)[0].(map[string]any)
		played := 0.0
		for _, child := range track["children"].([]any) {
			item := child.(map[string]any)
			r := item["source_range"].(map[string]any)
			start, length := otioSeconds(r["start_time"]), otioSeconds(r["duration"])
			if inPlace && item["OTIO_SCHEMA"] == "Clip.2" && math.Abs(start-played) > 1e-6 {
				t.Errorf("a clip of film time %.3f s lies at %.3f s", start, played)
			}
			played += length
		}
		if want := 7.56 + 7.52 + 20; !inPlace && math.Abs(played-want) > 3.0/59.94 {
			t.Errorf("the assembly plays %.3f s, want %.3f", played, want)
		}
	}
}

func otioSeconds(v any) float64 {
	m := v.(map[string]any)
	return m["value"].(float64) / m["rate"].(float64)
}

// walkOTIO checks that each object with a schema has that schema's fields, and
// counts them.
func walkOTIO(t *testing.T, v any, seen map[string]int) {
	t.Helper()
	switch v := v.(type) {
	case []any:
		for _, child := range v {
			walkOTIO(t, child, seen)
		}
	case map[string]any:
		if schema, ok := v["OTIO_SCHEMA"].(string); ok {
			seen[schema]++
			want, known := otioFields[schema]
			if !known {
				t.Errorf("schema %q is not one of the format's", schema)
			}
			for name := range v {
				if !strings.Contains(" "+want+" ", " "+name+" ") {
					t.Errorf("%s has a field %q", schema, name)
				}
			}
			for _, name := range strings.Fields(want) {
				if _, ok := v[name]; !ok {
					t.Errorf("%s has no field %q", schema, name)
				}
			}
		}
		for _, child := range v {
			walkOTIO(t, child, seen)
		}
	}
}

func TestLinksReadBack(t *testing.T) {
	for name, want := range map[string]string{
		"game 1.mp4": "game%201.mp4", "q1#?.mp4": "q1%23%3F.mp4", "a:b.mp4": "./a:b.mp4",
		"https://film.example/g%201.mp4?x=1#t=9": "https://film.example/g%201.mp4?x=1",
	} {
		if got := address(name); got != want {
			t.Errorf("address of %q is %q, want %q", name, got, want)
		}
	}
	for _, c := range append(demo().Clips, Clip{Start: 0, End: 0.0001}) {
		_, fragment, _ := strings.Cut(Link("g.mp4", c), "#")
		start, end, err := ParseFragment(fragment)
		if err != nil || math.Abs(start-c.Start) > 0.0005 || math.Abs(end-c.End) > 0.001 {
			t.Errorf("clip %.3f to %.3f: %s reads as %g to %g (%v)", c.Start, c.End, fragment, start, end, err)
		}
	}
}
