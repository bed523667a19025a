package film

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// WriteCutScript writes a POSIX shell script that cuts the clips from the film
// with ffmpeg, a file each, exact to the frame: it decodes and encodes anew
// rather than cutting at key frames. It refuses a film whose frame rate is not
// the one the list was counted at. Call it as
//
//	sh cut.sh [FILM [FOLDER]]
//
// The film defaults to the list's, the folder to the current one. Files that
// exist are not overwritten. The mark is printed and written into each file's
// metadata.
func WriteCutScript(w io.Writer, l List, o Options) error {
	if err := l.check(); err != nil {
		return err
	}
	if err := o.Rate.valid(); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	num, den := o.Rate.num, o.Rate.den
	fmt.Fprintf(b, scriptHead, o.heading(l), num, den, quote(l.Name), quote(o.heading(l)), num, den)
	for i, c := range l.Clips {
		in, out := l.frames(c, o.Rate)
		start, length := o.Rate.seek(in, out)
		caption := o.caption(i+1, c)
		fmt.Fprintf(b, "clip %.6f %.6f %d %s %s %s\n", start, length, out-in,
			quote(fileName(i+1, caption[0])), quote(caption[0]), quote(strings.Join(caption[1:], "; ")))
	}
	return b.Flush()
}

// scriptHead finds the film, checks its rate and defines clip. Seeking half a
// frame before the wanted one makes the cut immune to how a file rounds its times.
const scriptHead = `#!/bin/sh
# %s
# Cuts clips with ffmpeg, frames counted at %d/%d a second.
# Usage: sh cut.sh [FILM [FOLDER]]
set -eu
film=%s
if [ $# -ge 1 ]; then film=$1; fi
folder=${2:-.}
for tool in ffmpeg ffprobe; do
	command -v "$tool" >/dev/null || { printf '%%s is not installed; it comes with the ffmpeg package\n' "$tool" >&2; exit 1; }
done
[ -f "$film" ] || { printf 'film %%s is not here; give its path as the first argument\n' "$film" >&2; exit 1; }
mkdir -p -- "$folder"
printf '%%s\n' %s
rate=$(ffprobe -v error -select_streams v:0 -show_entries stream=r_frame_rate -of default=nw=1:nk=1 "file:$film" | head -n 1)
if [ "$rate" != %d/%d ]; then
	printf 'the film runs at %%s frames a second, the list was counted at another rate; write it again at the film'"'"'s\n' "$rate" >&2
	exit 1
fi

# clip START SECONDS FRAMES FILE TITLE COMMENT
clip() {
	ffmpeg -nostdin -v error -n -ss "$1" -t "$2" -i "file:$film" -map 0:v:0 -map '0:a?' \
		-vf setpts=PTS-STARTPTS -frames:v "$3" -c:v libx264 -preset veryfast -crf 18 -pix_fmt yuv420p -c:a aac \
		-movflags +faststart -map_chapters -1 -metadata title="$5" -metadata comment="$6" "file:$folder/$4"
	printf '%%s\n' "$4"
}

`

// seek gives the start and length, in seconds, of a window that holds frames in
// up to but not including out and no other: it runs from half a frame before the
// first to half a frame before the one after the last.
func (r Rate) seek(in, out int64) (start, length float64) {
	half := func(frame int64) float64 { return float64((2*frame-1)*r.den) / float64(2*r.num) }
	start = max(0, half(in))
	return start, half(out) - start
}

// fileName makes a plain file name of a clip's number and title.
func fileName(n int, title string) string {
	words := strings.FieldsFunc(strings.ToLower(title), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	})
	name := fmt.Sprintf("%03d", n)
	for _, word := range words {
		if len(name)+1+len(word) > 60 {
			break
		}
		name += "-" + word
	}
	return name + ".mp4"
}

// quote makes any text one word of a shell command that means only itself.
func quote(text string) string {
	return "'" + strings.ReplaceAll(strings.ReplaceAll(text, "\x00", ""), "'", `'\''`) + "'"
}
