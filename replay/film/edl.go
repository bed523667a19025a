package film

import (
	"fmt"
	"strings"
)

const (
	edlEvents = 999 // an event number has three digits
	edlReel   = 8   // letters or digits of a reel name that every reader takes
	edlTitle  = 70  // letters of a title
	edlStart  = "01:00:00:00"
)

// EDL writes the clips as CMX 3600 edit decision lists (.edl): an assembly of
// cuts, picture only, recorded from 01:00:00:00 on. A list holds at most 999
// events, so a longer one comes in several parts, each a file of its own. The
// reel is the film's id, in capitals and cut to eight letters or digits; the
// film's name follows each event. Notes stand below their event, the mark among
// them and in the title: readers refuse a note before the first event.
func EDL(l List, o Options) ([]string, error) {
	if err := l.check(); err != nil {
		return nil, err
	}
	if err := o.Rate.valid(); err != nil {
		return nil, err
	}
	parts := (len(l.Clips) + edlEvents - 1) / edlEvents
	var files []string
	for first := 0; first < len(l.Clips); first += edlEvents {
		head := o.edlHead(l, len(files)+1, parts)
		events, err := o.edlEvents(l, first, min(first+edlEvents, len(l.Clips)))
		if err != nil {
			return nil, err
		}
		files = append(files, head+events)
	}
	return files, nil
}

func (o Options) edlHead(l List, part, parts int) string {
	head := oneLine(o.Title)
	if head == "" {
		head = oneLine(l.Name)
	}
	var tail string
	if mark := oneLine(o.Mark); mark != "" {
		tail = " (" + mark + ")"
	}
	if parts > 1 {
		tail += fmt.Sprintf(" part %d of %d", part, parts)
	}
	count := "NON-DROP FRAME"
	if o.Rate.drop > 0 {
		count = "DROP FRAME"
	}
	return fmt.Sprintf("TITLE: %s%s\nFCM: %s\n", shorten(head, max(0, edlTitle-len([]rune(tail)))), tail, count)
}

// edlEvents writes clips first to end, numbered from 001.
func (o Options) edlEvents(l List, first, end int) (string, error) {
	var b strings.Builder
	record, err := o.Rate.ParseTimecode(edlStart)
	if err != nil {
		return "", err
	}
	for i := first; i < end; i++ {
		in, out := l.frames(l.Clips[i], o.Rate)
		times := make([]string, 4)
		for k, frame := range []int64{in, out, record, record + out - in} {
			if times[k], err = o.Rate.Timecode(frame); err != nil {
				return "", fmt.Errorf("film %s, clip %d: %w; write fewer or shorter clips", l.Film, i+1, err)
			}
		}
		record += out - in
		fmt.Fprintf(&b, "\n%03d  %-8s V     C        %s\n", i-first+1, reel(l.Film), strings.Join(times, " "))
		fmt.Fprintf(&b, "* FROM CLIP NAME: %s\n", oneLine(l.Name))
		for _, line := range o.caption(i+1, l.Clips[i]) {
			fmt.Fprintf(&b, "* COMMENT: %s\n", line)
		}
	}
	return b.String(), nil
}

// reel makes a reel name of a film's id; AX, an auxiliary source, where the id
// has no letter or digit.
func reel(film string) string {
	name := strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, strings.ToUpper(film))
	if name == "" {
		return "AX"
	}
	return name[:min(len(name), edlReel)]
}

func shorten(text string, letters int) string {
	if r := []rune(text); len(r) > letters {
		return strings.TrimSpace(string(r[:letters]))
	}
	return text
}
