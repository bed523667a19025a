package film

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"
)

// WriteWebVTT writes the clips as cues of a W3C WebVTT file (text/vtt, .vtt) for
// the film, so that a player shows each clip's caption while it runs and can jump
// from cue to cue.
func WriteWebVTT(w io.Writer, l List, o Options) error {
	if err := l.check(); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "WEBVTT\n\nNOTE %s\n", cueText.Replace(o.heading(l)))
	for i, c := range l.Clips {
		start, end := millis(c.Start), millis(c.End)
		fmt.Fprintf(b, "\n%d\n%s --> %s\n", i+1, cueTime(start), cueTime(max(end, start+1)))
		for _, line := range o.caption(i+1, c) {
			fmt.Fprintln(b, cueText.Replace(line))
		}
	}
	return b.Flush()
}

// cueText escapes what a cue would read as markup; without '>' there is no arrow.
var cueText = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

func millis(seconds float64) int64 { return int64(math.Round(seconds * 1000)) }

func cueTime(ms int64) string {
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3_600_000, ms/60_000%60, ms/1000%60, ms%1000)
}
