package evidence

import (
	"fmt"
	"math"
	"strings"

	"stopledger/events"
)

// Title is the row in a few words: when, and what was asked of whom. Where
// actions were asked for it names these, else the first that broke, else the
// last.
func (r *Row) Title() string {
	var told []string
	for _, a := range r.Acts {
		if a.Asked {
			told = append(told, a.String())
		}
	}
	if len(told) == 0 && len(r.Acts) > 0 {
		told = append(told, r.telling().String())
	}
	if len(told) == 0 {
		told = append(told, "nothing charted")
	}
	return r.At() + " " + strings.Join(told, ", ")
}

func (r *Row) telling() *Act {
	for i := range r.Acts {
		if r.Acts[i].Reading == events.Broken {
			return &r.Acts[i]
		}
	}
	return &r.Acts[len(r.Acts)-1]
}

// At is the row's place on the game clock: "P2 6:52".
func (r *Row) At() string {
	switch {
	case r.Period == 0:
		return "no clock"
	case r.Clock == nil:
		return fmt.Sprintf("P%d", r.Period)
	}
	return fmt.Sprintf("P%d %s", r.Period, Clock(*r.Clock))
}

// Clock writes seconds as a scoreboard does.
func Clock(seconds float64) string {
	whole := int(math.Floor(seconds))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// Score is the defence's lead before the chance, in words.
func (r *Row) Score() string {
	switch {
	case r.Margin == nil:
		return "score not charted"
	case *r.Margin > 0:
		return fmt.Sprintf("defence up %d", *r.Margin)
	case *r.Margin < 0:
		return fmt.Sprintf("defence down %d", -*r.Margin)
	}
	return "level"
}

// Ended is how the chance ended: "missed 2, defence's ball".
func (r *Row) Ended() string {
	words := strings.ReplaceAll(string(r.End), "-", " ")
	switch {
	case r.End == "":
		return "no end charted"
	case r.Turn != "":
		words += " (" + strings.ReplaceAll(string(r.Turn), "-", " ") + ")"
	}
	switch {
	case r.Points == 1:
		words += ", 1 point"
	case r.Points > 1:
		words += fmt.Sprintf(", %d points", r.Points)
	case r.Ball == events.Offence:
		words += ", the offence keeps the ball"
	case r.Ball == events.Defence:
		words += ", the defence has the ball"
	}
	return words
}

// Match is the game in words.
func (r *Row) Match() string {
	name := func(t events.Team) string {
		if t.Name != "" {
			return t.Name
		}
		return string(t.ID)
	}
	match := name(r.Home) + " – " + name(r.Away)
	if r.Date != "" {
		match = r.Date + " " + match
	}
	return match
}

// Note is what a clip says under its title.
func (r *Row) Note() string {
	var acts []string
	for i := range r.Acts {
		acts = append(acts, r.Acts[i].String())
	}
	return strings.Join([]string{r.Match(), r.Score(), strings.Join(acts, " → "), r.Ended()}, " | ")
}

// String is the action in words: "harbour-12 chase hit (millstone-3)".
func (a *Act) String() string {
	who := string(a.Defender)
	if who == "" {
		who = "nobody"
	}
	text := fmt.Sprintf("%s %s %s", who, strings.ReplaceAll(string(a.Kind), "-", " "), strings.ReplaceAll(string(a.Outcome), "-", " "))
	if a.Opponent != "" {
		text += " (" + string(a.Opponent) + ")"
	}
	return text
}
