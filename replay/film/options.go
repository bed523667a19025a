package film

import (
	"fmt"
	"strings"
	"unicode"
)

// Options is what the writers need beside the clips.
type Options struct {
	Title   string // the list's heading
	Rate    Rate   // the film's frame rate; WebVTT and links need none
	Mark    string // a notice every format must show, such as "invented demo data"; empty: none
	InPlace bool   // OpenTimelineIO only: leave each clip at its film time, with gaps between
}

// frames are the frames of a clip, first included and last excluded, at least
// one, none beyond the film's end.
func (l List) frames(c Clip, r Rate) (in, out int64) {
	in, out = r.Frame(c.Start), r.Frame(c.End)
	if l.Length > 0 {
		out = min(out, r.Frame(l.Length))
	}
	in = max(0, min(in, out-1))
	return in, max(out, in+1)
}

// caption is what a viewer should read about a clip, a line each.
func (o Options) caption(n int, c Clip) []string {
	lines := []string{title(n, c)}
	if note := oneLine(c.Note); note != "" {
		lines = append(lines, note)
	}
	if c.Doubt > 0 {
		lines = append(lines, fmt.Sprintf("film time in doubt by %.1f s", c.Doubt))
	}
	if mark := oneLine(o.Mark); mark != "" {
		lines = append(lines, mark)
	}
	return lines
}

// title is a clip's title, or its number where it has none.
func title(n int, c Clip) string {
	if t := oneLine(c.Title); t != "" {
		return t
	}
	return fmt.Sprintf("clip %d", n)
}

// heading is the list's title with the mark behind it.
func (o Options) heading(l List) string {
	head := oneLine(o.Title)
	if head == "" {
		head = oneLine(l.Name)
	}
	if mark := oneLine(o.Mark); mark != "" {
		head += " (" + mark + ")"
	}
	return head
}

// oneLine keeps a text to one line of printable characters, for formats in which
// a line end would start something new.
func oneLine(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToValidUTF8(text, "?"), func(r rune) bool {
		return unicode.IsSpace(r) || !unicode.IsPrint(r)
	}), " ")
}
