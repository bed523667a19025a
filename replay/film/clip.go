package film

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Clip is a stretch of one film.
type Clip struct {
	Start float64 `json:"start"` // seconds from the film's start
	End   float64 `json:"end"`
	Title string  `json:"title"`
	Note  string  `json:"note,omitempty"`
	Doubt float64 `json:"doubt"` // the play may lie this many seconds earlier or later
}

// List is the clips of one film, in film order.
type List struct {
	Film   string  `json:"film"`             // the film's id
	Name   string  `json:"name"`             // its file name or address
	Length float64 `json:"length,omitempty"` // seconds; 0: not known
	Clips  []Clip  `json:"clips"`
}

// Chance is one chance to be shown, from its first moment to its last.
type Chance struct {
	Film  string `json:"film,omitempty"` // the film wanted; empty: the one that places it best
	From  Moment `json:"from"`
	To    Moment `json:"to"`
	Title string `json:"title"`
	Note  string `json:"note,omitempty"`
}

// Left is a chance that got no clip, and why.
type Left struct {
	Chance int    `json:"chance"` // its place in the chances given, from 0
	Title  string `json:"title"`
	Why    string `json:"why"`
}

// Margins says how much film to show around a chance, in seconds.
type Margins struct {
	Before   float64 // lead-in
	After    float64 // lead-out
	MaxDoubt float64 // a chance in more doubt than this gets no clip
}

// DefaultMargins is a lead-in of five seconds, a lead-out of three, and no clip
// for a chance that may lie more than half a minute away: a judgement.
var DefaultMargins = Margins{Before: 5, After: 3, MaxDoubt: 30}

// Cut turns chances into clip lists, one for each film that shows any, in the
// order of the films. A chance plays whole: its clip runs from the lead-in before
// it to the lead-out after it, or to the edge of its doubt where that is farther,
// within the film. Clips that overlap or touch become one, titles and notes
// joined. Chances that cannot be shown are returned with the reason.
func Cut(films []Film, chances []Chance, m Margins) ([]List, []Left) {
	clips := make([][]Clip, len(films))
	var left []Left
	for i, c := range chances {
		film, clip, err := best(films, c, m)
		if err != nil {
			left = append(left, Left{Chance: i, Title: c.Title, Why: err.Error()})
			continue
		}
		clips[film] = append(clips[film], clip)
	}
	var lists []List
	for i, f := range films {
		if len(clips[i]) > 0 {
			lists = append(lists, List{Film: f.ID, Name: f.Name, Length: f.Length, Clips: merge(clips[i])})
		}
	}
	return lists, left
}

// best is the clip of the film that shows a chance with the least doubt, the
// first such film winning.
func best(films []Film, c Chance, m Margins) (film int, clip Clip, err error) {
	film = -1
	for i, f := range films {
		if c.Film != "" && c.Film != f.ID {
			continue
		}
		got, why := f.clip(c, m)
		switch {
		case why == nil && (film < 0 || got.Doubt < clip.Doubt):
			film, clip = i, got
		case why != nil && err == nil:
			err = why
		}
	}
	switch {
	case film >= 0:
		return film, clip, nil
	case err == nil && c.Film != "":
		err = notPlaced("film %s is not linked", c.Film)
	case err == nil:
		err = notPlaced("no film is linked")
	}
	return film, clip, err
}

// clip is a chance on this film, with its margins.
func (f Film) clip(c Chance, m Margins) (Clip, error) {
	from, err := f.Place(c.From)
	if err != nil {
		return Clip{}, err
	}
	to, err := f.Place(c.To)
	if err != nil {
		return Clip{}, err
	}
	worse := from
	if to.Doubt > from.Doubt {
		worse = to
	}
	if worse.Doubt > m.MaxDoubt {
		return Clip{}, notPlaced("it may lie %.0f seconds away on film %s (%s); set an anchor nearer to it", worse.Doubt, f.ID, worse.By)
	}
	// Doubt can turn the two ends round; the chance is somewhere in both.
	clip := Clip{
		Start: math.Min(from.At-math.Max(m.Before, from.Doubt), to.At),
		End:   math.Max(to.At+math.Max(m.After, to.Doubt), from.At),
		Title: c.Title, Note: c.Note, Doubt: worse.Doubt,
	}
	// Its margins alone do not make a clip: the chance must be on the film.
	outside := to.At+to.Doubt <= 0 || (f.Length > 0 && from.At-from.Doubt >= f.Length)
	clip.Start = math.Max(0, clip.Start)
	if f.Length > 0 {
		clip.End = math.Min(f.Length, clip.End)
	}
	if outside || !(clip.End > clip.Start) {
		return Clip{}, notPlaced("it lies outside film %s (%s)", f.ID, worse.By)
	}
	return clip, nil
}

// merge sorts clips and joins those that overlap or touch.
func merge(clips []Clip) []Clip {
	slices.SortStableFunc(clips, func(a, b Clip) int { return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End)) })
	var merged []Clip
	for _, c := range clips {
		if len(merged) == 0 || c.Start > merged[len(merged)-1].End {
			merged = append(merged, c)
			continue
		}
		last := &merged[len(merged)-1]
		last.End = math.Max(last.End, c.End)
		last.Doubt = math.Max(last.Doubt, c.Doubt)
		last.Title = join(last.Title, c.Title, " + ")
		last.Note = join(last.Note, c.Note, "; ")
	}
	return merged
}

// join appends a text that is not there yet.
func join(all, text, between string) string {
	switch {
	case text == "" || slices.Contains(strings.Split(all, between), text):
		return all
	case all == "":
		return text
	}
	return all + between + text
}

// check refuses a list that no format can carry.
func (l List) check() error {
	if len(l.Clips) == 0 {
		return fmt.Errorf("film %s has no clips to write", l.Film)
	}
	previous := 0.0
	for i, c := range l.Clips {
		if !(c.Start >= previous && c.End > c.Start && c.End <= longest) {
			return fmt.Errorf("film %s, clip %d runs from %g to %g s; want an end after the start, and clips in film order", l.Film, i+1, c.Start, c.End)
		}
		previous = c.Start
	}
	return nil
}
