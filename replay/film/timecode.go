package film

import "fmt"

// Timecode labels a frame HH:MM:SS:FF, or HH:MM:SS;FF at a drop-frame rate, the
// film's first frame being 00:00:00:00. Drop-frame leaves out labels, never
// frames: the first two (four at 59.94) of each minute but every tenth, so that
// the label keeps step with the clock on the wall (SMPTE ST 12-1). A label names
// a frame within 24 hours; a frame before or beyond them is an error.
func (r Rate) Timecode(frame int64) (string, error) {
	if err := r.valid(); err != nil {
		return "", err
	}
	if frame < 0 || frame >= r.day() {
		return "", fmt.Errorf("frame %d at %s has no timecode; labels run from 00:00:00:00 for 24 hours", frame, r)
	}
	label := frame + r.dropped(frame)
	ff, s := label%r.count, label/r.count
	return fmt.Sprintf("%02d:%02d:%02d%c%02d", s/3600, s/60%60, s%60, r.separator(), ff), nil
}

// ParseTimecode gives the frame of a label. A drop-frame rate also reads a colon
// before the frames, as edit lists that declare it once at the top may write; a
// label that drop-frame leaves out is an error.
func (r Rate) ParseTimecode(label string) (int64, error) {
	if err := r.valid(); err != nil {
		return 0, err
	}
	bad := func(why string) (int64, error) { return 0, fmt.Errorf("timecode %q: %s", label, why) }
	if len(label) != 11 || label[2] != ':' || label[5] != ':' || (label[8] != ':' && label[8] != ';') {
		return bad("want HH:MM:SS:FF, or HH:MM:SS;FF for drop-frame")
	}
	var part [4]int64
	for i := range part {
		tens, units := label[3*i]-'0', label[3*i+1]-'0' // a byte below '0' wraps past 9
		if tens > 9 || units > 9 {
			return bad("want two digits in each place")
		}
		part[i] = int64(tens)*10 + int64(units)
	}
	h, m, s, f := part[0], part[1], part[2], part[3]
	switch {
	case h > 23 || m > 59 || s > 59:
		return bad("hours run to 23, minutes and seconds to 59")
	case f >= r.count:
		return bad(fmt.Sprintf("frames run to %d at %s", r.count-1, r))
	case label[8] == ';' && r.drop == 0:
		return bad(fmt.Sprintf("a semicolon marks drop-frame, and %s is not", r))
	case r.drop > 0 && f < r.drop && s == 0 && m%10 != 0:
		return bad("drop-frame leaves this label out")
	}
	minutes := h*60 + m
	return (minutes*60+s)*r.count + f - r.drop*(minutes-minutes/10), nil
}

// dropped is how many labels are left out up to a frame.
func (r Rate) dropped(frame int64) int64 {
	if r.drop == 0 {
		return 0
	}
	tenMinutes, first := r.tenMinutes(), 60*r.count // the first of ten minutes keeps all its labels
	skips := 9 * (frame / tenMinutes)
	if rest := frame % tenMinutes; rest >= first {
		skips += 1 + (rest-first)/(first-r.drop)
	}
	return r.drop * skips
}

func (r Rate) tenMinutes() int64 { return 600*r.count - 9*r.drop }

func (r Rate) day() int64 { return 24 * 6 * r.tenMinutes() }

func (r Rate) separator() rune {
	if r.drop > 0 {
		return ';'
	}
	return ':'
}
