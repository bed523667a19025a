package film

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// rows reads a table of published values, keyed by its header.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/film/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var table []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		table = append(table, row)
	}
	return table
}

func mustRate(t testing.TB, name string) Rate {
	t.Helper()
	r, err := ParseRate(name)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestPublishedTimecodes checks labels that others print; the source stands in
// each row.
func TestPublishedTimecodes(t *testing.T) {
	checked := map[string]bool{}
	for _, row := range rows(t, "timecodes.csv") {
		r := mustRate(t, row["rate"])
		frame, err := strconv.ParseInt(row["frame"], 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := r.Timecode(frame); err != nil || got != row["timecode"] {
			t.Errorf("frame %d at %s = %q (%v), published %s by %s", frame, r, got, err, row["timecode"], row["source"])
		}
		if got, err := r.ParseTimecode(row["timecode"]); err != nil || got != frame {
			t.Errorf("%s at %s = frame %d (%v), published %d by %s", row["timecode"], r, got, err, frame, row["source"])
		}
		checked[row["rate"]] = true
	}
	for _, name := range RateNames() {
		if !checked[name] {
			t.Errorf("no published label checked at %s", name)
		}
	}
	for _, row := range rows(t, "timecode_steps.csv") {
		r := mustRate(t, row["rate"])
		frame, err := r.ParseTimecode(row["label"])
		if err != nil {
			t.Fatal(err)
		}
		if got, err := r.Timecode(frame + 1); err != nil || got != row["next"] {
			t.Errorf("after %s at %s comes %q (%v), published %s by %s", row["label"], r, got, err, row["next"], row["source"])
		}
	}
}

// TestTimecodeByCounting compares the arithmetic with counting label by label,
// over a little more than two hours at every rate.
func TestTimecodeByCounting(t *testing.T) {
	for _, r := range rates {
		var h, m, s, f int64
		for frame := int64(0); frame < 130*60*r.count; frame++ {
			if frame%997 == 0 || s == 59 && f > r.count-3 || s == 0 && f < 6 { // enough, with every minute's edge
				want := fmt.Sprintf("%02d:%02d:%02d%c%02d", h, m, s, r.separator(), f)
				if got, _ := r.Timecode(frame); got != want {
					t.Fatalf("frame %d at %s: %s, by counting %s", frame, r, got, want)
				}
			}
			if f++; f == r.count {
				f, s = 0, s+1
			}
			if s == 60 {
				s, m = 0, m+1
				if m == 60 {
					m, h = 0, h+1
				}
				if m%10 != 0 {
					f = r.drop
				}
			}
		}
	}
}

func TestRefusedTimecodes(t *testing.T) {
	for _, tt := range []struct{ rate, label, why string }{
		{"29.97-drop", "00:01:00;00", "leaves this label out"},
		{"29.97-drop", "00:01:00:01", "leaves this label out"},
		{"59.94-drop", "00:09:00;03", "leaves this label out"},
		{"25", "00:00:00;00", "semicolon"},
		{"25", "00:00:00:25", "frames run to 24"},
		{"24", "24:00:00:00", "hours run to 23"},
		{"24", "00:60:00:00", "minutes and seconds to 59"},
		{"24", "00:00:1:000", "HH:MM:SS:FF"},
		{"24", "00:00:0x:00", "two digits"},
		{"24", "", "HH:MM:SS:FF"},
	} {
		if _, err := mustRate(t, tt.rate).ParseTimecode(tt.label); err == nil || !strings.Contains(err.Error(), tt.why) {
			t.Errorf("%q at %s: error %v, want one about %q", tt.label, tt.rate, err, tt.why)
		}
	}
	drop := mustRate(t, "29.97-drop")
	for _, frame := range []int64{-1, 2589408} { // one more than the last of a day, see timecodes.csv
		if got, err := drop.Timecode(frame); err == nil {
			t.Errorf("frame %d got the label %s", frame, got)
		}
	}
	if _, err := (Rate{}).Timecode(0); err == nil {
		t.Error("the zero rate labelled a frame")
	}
	if _, err := ParseRate("29.97"); err == nil {
		t.Error("29.97 was taken although it may be drop or non-drop")
	}
}

// TestFramesAndSeconds: a frame's time leads back to the frame, and the nearest
// frame is never more than half a frame away.
func TestFramesAndSeconds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rapid.SampledFrom(rates).Draw(rt, "rate")
		frame := rapid.Int64Range(0, r.day()-1).Draw(rt, "frame")
		if got := r.Frame(r.Seconds(frame)); got != frame {
			rt.Fatalf("frame %d at %s begins at %v s, which is frame %d", frame, r, r.Seconds(frame), got)
		}
		at := rapid.Float64Range(0, 40000).Draw(rt, "seconds")
		if off := r.Seconds(r.Frame(at)) - at; off*r.PerSecond() > 0.5001 || off*r.PerSecond() < -0.5001 {
			rt.Fatalf("%v s at %s: the frame chosen begins %v s away", at, r, off)
		}
		label, err := r.Timecode(frame)
		if err != nil {
			rt.Fatal(err)
		}
		if back, err := r.ParseTimecode(label); err != nil || back != frame {
			rt.Fatalf("frame %d at %s: label %s leads to frame %d (%v)", frame, r, label, back, err)
		}
	})
}

// TestSeekWindow: the window that a cut script asks for, as it prints it, holds
// the clip's frames and clears their neighbours by a third of a frame.
func TestSeekWindow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rapid.SampledFrom(rates).Draw(rt, "rate")
		in := rapid.Int64Range(0, 4*3600*r.count).Draw(rt, "in")
		out := in + rapid.Int64Range(1, 3600).Draw(rt, "frames")
		start, length := r.seek(in, out)
		var printed [2]float64
		if _, err := fmt.Sscanf(fmt.Sprintf("%.6f %.6f", start, length), "%f %f", &printed[0], &printed[1]); err != nil {
			rt.Fatal(err)
		}
		opens, closes := printed[0], printed[0]+printed[1]
		third := 1 / r.PerSecond() / 3
		begins := func(frame int64) float64 { return r.Seconds(frame) }
		if in > 0 && !(begins(in-1)+third < opens && opens < begins(in)-third) || in == 0 && opens != 0 {
			rt.Fatalf("frames %d to %d at %s: the window opens at %v, frame %d begins at %v", in, out, r, opens, in, begins(in))
		}
		if !(begins(out-1)+third < closes && closes < begins(out)-third) {
			rt.Fatalf("frames %d to %d at %s: the window closes at %v, frame %d begins at %v", in, out, r, closes, out, begins(out))
		}
	})
}

// TestDropFrameKeepsStep: after 12 hours a non-drop label at 29.97 is late by
// 3.6 s an hour (published by frame.io), a drop-frame label by less than four
// frames.
func TestDropFrameKeepsStep(t *testing.T) {
	for _, tt := range []struct {
		rate        string
		least, most float64 // seconds late
	}{{"29.97-drop", -0.07, 0.13}, {"29.97-non-drop", 43.1, 43.3}} {
		r := mustRate(t, tt.rate)
		label, err := r.Timecode(r.Frame(12 * 3600))
		if err != nil {
			t.Fatal(err)
		}
		var h, m, s, f int
		if _, err := fmt.Sscanf(strings.ReplaceAll(label, ";", ":"), "%d:%d:%d:%d", &h, &m, &s, &f); err != nil {
			t.Fatal(err)
		}
		if late := 12*3600 - (float64(h*3600+m*60+s) + float64(f)/30); late < tt.least || late > tt.most {
			t.Errorf("%s reads %s after 12 hours, %.2f s late; want %g to %g", tt.rate, label, late, tt.least, tt.most)
		}
	}
}

func FuzzParseTimecode(f *testing.F) {
	for _, label := range []string{"00:01:00;02", "23:59:59:23", "00:00:00:00", "xx", "00:09:59;59"} {
		f.Add(label)
	}
	f.Fuzz(func(t *testing.T, label string) {
		for _, r := range rates {
			frame, err := r.ParseTimecode(label)
			if err != nil {
				continue
			}
			again, err := r.Timecode(frame)
			if err != nil || strings.ReplaceAll(again, ";", ":") != strings.ReplaceAll(label, ";", ":") {
				t.Fatalf("%q at %s is frame %d, whose label is %q (%v)", label, r, frame, again, err)
			}
		}
	})
}
