package film

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// These tests check the clip lists with ffmpeg and ffprobe, which are not ours.

func needFFmpeg(t *testing.T) {
	t.Helper()
	for _, tool := range []string{"ffmpeg", "ffprobe", "sh"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("this test needs %s and it is not installed; on Debian: apt-get install ffmpeg", tool)
		}
	}
}

func run(t *testing.T, dir, name string, args ...string) []byte {
	t.Helper()
	var stderr bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Dir, cmd.Stderr = dir, &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, stderr.String())
	}
	return out
}

// numberedFilm generates a test picture of so many seconds whose upper half
// shows the frame's number as ten black or white bars, the lowest bit first.
func numberedFilm(t *testing.T, path string, r Rate, seconds int) {
	t.Helper()
	picture := fmt.Sprintf("testsrc=size=160x32:rate=%d/%d:duration=%d,format=yuv420p,"+
		"geq=lum='if(lt(Y,16),255*mod(floor(N/pow(2,floor(X/16))),2),lum(X,Y))':cb=128:cr=128", r.num, r.den, seconds)
	run(t, filepath.Dir(path), "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", picture,
		"-f", "lavfi", "-i", fmt.Sprintf("sine=duration=%d", seconds), "-c:v", "libx264", "-preset", "ultrafast",
		"-g", "40", "-bf", "2", "-c:a", "aac", "-shortest", "file:"+path)
}

// frameNumbers reads the bars of each frame of a film.
func frameNumbers(t *testing.T, path string) []int64 {
	t.Helper()
	raw := run(t, filepath.Dir(path), "ffmpeg", "-nostdin", "-v", "error", "-i", "file:"+path, "-vsync", "passthrough", "-f", "rawvideo", "-pix_fmt", "gray", "-")
	const width, height = 160, 32
	var numbers []int64
	for ; len(raw) >= width*height; raw = raw[width*height:] {
		var n int64
		for bit := range 10 {
			if raw[8*width+16*bit+8] > 127 { // the middle of the bar
				n |= 1 << bit
			}
		}
		numbers = append(numbers, n)
	}
	return numbers
}

// TestScriptCutsAtTheRightFrames cuts a generated film whose frames carry their
// numbers, under names that would break a careless script.
func TestScriptCutsAtTheRightFrames(t *testing.T) {
	needFFmpeg(t)
	const rate = "59.94-drop" // the other rates differ by arithmetic only, see TestSeekWindow
	dir, r := t.TempDir(), mustRate(t, rate)
	list := List{Film: "f1", Name: "-it's $(touch pwned) \"2nd\"; `touch pwned`.mp4", Length: 3, Clips: []Clip{
		{Start: 0, End: 0.5, Title: "tip"},
		{Start: 1.013, End: 1.777, Title: "$(touch pwned) 'it' ; touch pwned", Note: "`touch pwned`\ntouch pwned"},
		{Start: 2, End: r.Seconds(r.Frame(2) + 1), Title: "one frame"},
		{Start: 2.6, End: 3, Doubt: 1.5},
	}}
	numberedFilm(t, filepath.Join(dir, list.Name), r, 3)
	if all := frameNumbers(t, filepath.Join(dir, list.Name)); int64(len(all)) != r.Frame(3) || all[len(all)-1] != int64(len(all))-1 {
		t.Fatalf("the generated film has %d frames, the last numbered %d", len(all), all[len(all)-1])
	}
	var script bytes.Buffer
	if err := WriteCutScript(&script, list, options(t, rate)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "cut.sh"), script.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	said := string(run(t, dir, "sh", "cut.sh"))
	if !strings.Contains(said, invented) {
		t.Errorf("the script does not say %q: %s", invented, said)
	}
	if _, err := os.Stat(filepath.Join(dir, "pwned")); err == nil {
		t.Fatal("a name was run as a command")
	}
	files, _ := filepath.Glob(filepath.Join(dir, "00*.mp4"))
	if len(files) != len(list.Clips) {
		t.Fatalf("cut %v, want %d clips", files, len(list.Clips))
	}
	for i, file := range files {
		c := list.Clips[i]
		var want []int64
		for n := int64(math.Round(c.Start * r.PerSecond())); n < int64(math.Round(c.End*r.PerSecond())); n++ {
			want = append(want, n)
		}
		if got := frameNumbers(t, file); !slices.Equal(got, want) {
			t.Errorf("clip %d holds frames %v, want %v", i+1, got, want)
		}
		tags := string(run(t, dir, "ffprobe", "-v", "error", "-show_entries", "format_tags=comment:stream=codec_type", "-of", "default=nw=1", file))
		// One frame can be shorter than the shortest packet of sound.
		if sound := strings.Contains(tags, "audio") || c.Title == "one frame"; !sound || !strings.Contains(tags, invented) {
			t.Errorf("clip %d: want the mark and the sound in %s", i+1, tags)
		}
	}
}

// TestScriptStops: with a message, and before anything is cut, where the film is
// missing or runs at another rate.
func TestScriptStops(t *testing.T) {
	needFFmpeg(t)
	dir := t.TempDir()
	numberedFilm(t, filepath.Join(dir, "at 25.mp4"), mustRate(t, "25"), 1)
	list := List{Film: "f1", Name: "at 25.mp4", Clips: []Clip{{Start: 0, End: 0.5, Title: "tip"}}}
	for _, tt := range []struct{ name, film, rate, why string }{
		{"another rate", "at 25.mp4", "30", "the film runs at 25/1 frames a second"},
		{"no film", "elsewhere.mp4", "25", "film elsewhere.mp4 is not here"},
	} {
		var script, said bytes.Buffer
		list.Name = tt.film
		if err := WriteCutScript(&script, list, options(t, tt.rate)); err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command("sh")
		cmd.Dir, cmd.Stdin, cmd.Stderr = dir, &script, &said
		if err := cmd.Run(); err == nil || !strings.Contains(said.String(), tt.why) {
			t.Errorf("%s: ended with %v and said %q, want a failure about %q", tt.name, err, said.String(), tt.why)
		}
		if files, _ := filepath.Glob(filepath.Join(dir, "001*")); len(files) > 0 {
			t.Errorf("%s: cut %v", tt.name, files)
		}
	}
}

// TestFFprobeReadsWebVTT compares the cues with what ffprobe reads.
func TestFFprobeReadsWebVTT(t *testing.T) {
	needFFmpeg(t)
	path, err := filepath.Abs("../../testdata/film/demo.vtt")
	if err != nil {
		t.Fatal(err)
	}
	out := run(t, ".", "ffprobe", "-v", "error", "-show_packets", "-show_data", "-of", "json", path)
	var read struct {
		Packets []struct {
			Start    string `json:"pts_time"`
			Duration string `json:"duration_time"`
			Size     string `json:"size"`
		}
	}
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	clips := demo().Clips
	if len(read.Packets) != len(clips) {
		t.Fatalf("ffprobe reads %d cues, want %d:\n%s", len(read.Packets), len(clips), out)
	}
	for i, p := range read.Packets {
		start, _ := strconv.ParseFloat(p.Start, 64)
		length, _ := strconv.ParseFloat(p.Duration, 64)
		if math.Abs(start-clips[i].Start) > 0.0005 || math.Abs(start+length-clips[i].End) > 0.001 {
			t.Errorf("cue %d runs from %s for %s s, want %.3f to %.3f", i+1, p.Start, p.Duration, clips[i].Start, clips[i].End)
		}
	}
	text := string(run(t, ".", "ffmpeg", "-nostdin", "-v", "error", "-i", path, "-f", "srt", "-"))
	for _, want := range []string{"Closeout & drive --> 2 points <corner>", "film time in doubt by 1.6 s", invented} {
		if !strings.Contains(text, want) {
			t.Errorf("ffmpeg does not read %q in:\n%s", want, text)
		}
	}
}

// TestTimecodeAgainstFFmpeg encodes frames with an MPEG-2 time code, which
// ffmpeg counts by its own rules, over a minute and a ten-minute edge.
func TestTimecodeAgainstFFmpeg(t *testing.T) {
	needFFmpeg(t)
	edges := map[string][]string{"29.97-drop": {"00:00:59", "00:09:59"}, "29.97-non-drop": {"00:00:59"}, "25": {"00:09:59"}, "23.976": {"00:00:59"}}
	for rate, minutes := range edges {
		r := mustRate(t, rate)
		for _, minute := range minutes {
			first := fmt.Sprintf("%s%c%02d", minute, r.separator(), r.count-4)
			path := filepath.Join(t.TempDir(), "t.m2v")
			run(t, ".", "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi",
				"-i", fmt.Sprintf("testsrc=size=32x32:rate=%d/%d", r.num, r.den), "-frames:v", "12",
				"-c:v", "mpeg2video", "-g", "1", "-timecode", first, path)
			out := run(t, ".", "ffprobe", "-v", "error", "-show_entries", "frame_tags=timecode", "-of", "default=nw=1:nk=1", path)
			labels := strings.Fields(string(out))
			if len(labels) < 8 {
				t.Fatalf("%s from %s: ffprobe reads only %v", rate, first, labels)
			}
			frame, err := r.ParseTimecode(labels[0])
			if err != nil {
				t.Fatal(err)
			}
			for i, want := range labels {
				if got, _ := r.Timecode(frame + int64(i)); got != want {
					t.Errorf("%s: %d frames after %s we count %s, ffmpeg %s", rate, i, labels[0], got, want)
				}
			}
		}
	}
}
