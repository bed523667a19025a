package metrics

import (
	"fmt"
	"math"
	"strings"

	"stopledger/events"
)

// percent writes a share for people.
func percent(p float64) string { return fmt.Sprintf("%.0f %%", 100*p) }

// likely writes a probability for people; nothing is ever certain.
func likely(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return percent(p)
}

// plural writes a number with its word.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func games(n int) string   { return plural(n, "game", "games") }
func chances(n int) string { return plural(n, "chance", "chances") }
func actions(n int) string { return plural(n, "action", "actions") }

// worth writes an effective number.
func worth(n float64) string {
	if n < 10 {
		return fmt.Sprintf("%.1f", n)
	}
	return fmt.Sprintf("%.0f", n)
}

// signed writes a number of points with its sign, and no minus before a zero.
func signed(x float64) string {
	x = math.Round(10*x) / 10
	if x == 0 {
		return "0.0"
	}
	return fmt.Sprintf("%+.1f", x)
}

// nouns say what a kind is called when several are counted; terms of the trade.
var nouns = map[events.Kind]string{
	events.Drive: "drives", events.Deny: "denials and cuts", events.Post: "post-ups", events.BallScreen: "ball screens on the handler",
	events.Coverage: "ball screens on the screener's man", events.Chase: "off-ball screens", events.Closeout: "closeouts",
	events.Contest: "shots contested", events.GapHelp: "helps from the gap", events.Rotation: "rotations",
	events.BoxOut: "box-outs", events.Transition: "chances in transition",
}

// noun is what a kind is called when several are counted.
func noun(k events.Kind) string {
	if n, ok := nouns[k]; ok {
		return n
	}
	return string(k)
}

// against adds a role: "drives by guards".
func against(k events.Kind, r events.Role) string {
	if r == "" {
		return noun(k)
	}
	by := "by"
	switch k {
	case events.BoxOut, events.Closeout, events.Contest, events.Deny, events.Chase, events.Post, events.Coverage, events.Rotation, events.GapHelp, events.Transition:
		by = "against"
	}
	return fmt.Sprintf("%s %s %ss", noun(k), by, r)
}

// list joins words as a sentence does.
func list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// sentence begins with a capital and ends with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:] + "."
}
