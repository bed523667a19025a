package audit

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"stopledger/events"
)

// Place is where in the game something is, so that a page can open it.
type Place struct {
	Period int              `json:"period,omitempty"`
	Clock  *float64         `json:"clock,omitempty"` // seconds left in the period
	Film   *events.FilmTime `json:"film,omitempty"`
	Chance events.ID        `json:"chance,omitempty"`
	Event  events.ID        `json:"event,omitempty"` // the action or other event it is about
}

func placeAt(w events.When, chance, event events.ID) Place {
	return Place{Period: w.Period, Clock: w.Clock, Film: w.Film, Chance: chance, Event: event}
}

// String writes a place as a coach would say it: "period 3, 4:12".
func (p Place) String() string {
	switch {
	case p.Period == 0:
		return "no moment known"
	case p.Clock == nil:
		return fmt.Sprintf("period %d", p.Period)
	}
	return fmt.Sprintf("period %d, %s", p.Period, clockText(*p.Clock))
}

// clockText writes seconds left as on a scoreboard: 4:12, or 4:12.3.
func clockText(seconds float64) string {
	tenths := int(math.Round(seconds * 10))
	text := fmt.Sprintf("%d:%02d", tenths/600, tenths/10%60)
	if tenths%10 != 0 {
		text += fmt.Sprintf(".%d", tenths%10)
	}
	return text
}

// inPlay compares two places in the order of play; a place without a clock
// comes before the clocks of its period.
func inPlay(a, b Place) int {
	return cmp.Or(cmp.Compare(a.Period, b.Period), cmp.Compare(playClock(b), playClock(a)))
}

func playClock(p Place) float64 {
	if p.Clock == nil {
		return math.Inf(1)
	}
	return *p.Clock
}

// few counts something in words: "1 chance", "4 chances".
func few(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// listed joins words as a sentence does: "a, b and c".
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
