package brief

import (
	"fmt"
	"math"
	"strings"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/replay/evidence"
)

func spaced(word string) string {
	return strings.NewReplacer("-", " ", "_", " ").Replace(word)
}

func percent(p float64) string { return fmt.Sprintf("%.0f %%", 100*p) }

// span is an 80 % interval.
func span(p metrics.Pooled) string {
	return fmt.Sprintf("%.0f–%.0f %%", 100*p.Q10, 100*p.Q90)
}

func likely(p *float64) string {
	switch {
	case p == nil:
		return "–"
	case *p > 0.99:
		return "> 99 %"
	case *p < 0.01:
		return "< 1 %"
	}
	return percent(*p)
}

// about is the heading of a fact.
func about(what string) string {
	return map[string]string{metrics.TakesAway: "Takes away", metrics.Attack: "Attack", metrics.Unknown: "Not known yet"}[what]
}

// cost is points per 100 of his chances against the field.
func cost(p *metrics.Pooled) string {
	if p == nil {
		return "–"
	}
	return fmt.Sprintf("%+.1f (%+.1f to %+.1f)", zero(p.Mean), zero(p.Q10), zero(p.Q90))
}

// zero takes the minus from what rounds to nothing.
func zero(x float64) float64 {
	if math.Abs(x) < 0.05 {
		return 0
	}
	return x
}

// onFilm is where a row is to be found.
func onFilm(r evidence.Row) string {
	if r.Film == nil {
		return "no film: " + strings.TrimPrefix(r.NoFilm, "cannot be placed on film: ")
	}
	text := fmt.Sprintf("%s at %s", r.Film.Name, filmTime(r.Film.At))
	if r.Film.Doubt >= 1 {
		text += fmt.Sprintf(" ± %.0f s", r.Film.Doubt)
	}
	return text
}

func filmTime(seconds float64) string {
	s := int(math.Max(0, seconds))
	return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
}

// acts is what happened, in order.
func acts(r evidence.Row) string {
	var list []string
	for i := range r.Acts {
		list = append(list, r.Acts[i].String())
	}
	return strings.Join(list, " → ")
}

func counts(c metrics.Counts) string {
	return fmt.Sprintf("%s, %s, %s", plural(c.Actions, "action"), plural(c.Chances, "chance"), plural(c.Games, "game"))
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// lines are the short statements between the tables.
func (b *Brief) lines() []line {
	list := []line{
		{"Process against result", b.Compared.Text},
		{"Opponents’ threes", b.Compared.Threes.Text},
		{"Second efforts", b.Recovery.Text},
		{"First breaks", b.Breaks.Text},
		{"In a row", b.Streaks.Text},
	}
	if b.Compared.Readings > 0 {
		list = append(list, line{"Read blind", fmt.Sprintf("%s of %d readings were taken before the result was seen.", percent(b.Compared.Blind), b.Compared.Readings)})
	}
	if u := b.Untested; u != nil {
		list = append(list, line{"Not tested", fmt.Sprintf("In %d of %d chances with him on the floor nobody tried him.", u.OnFloor-u.Acted, u.OnFloor)})
	}
	var counted []string
	for _, t := range b.Coach {
		if t.Of >= fewTries {
			counted = append(counted, fmt.Sprintf("%s %d of %d", t.What, t.Count, t.Of))
		}
	}
	list = append(list, line{"Counted", strings.Join(counted, "; ")})
	kept := list[:0]
	for _, l := range list {
		if l.Text = sentence(l.Text); l.Text != "" {
			kept = append(kept, l)
		}
	}
	return kept
}

// fewTries is from how many on a count is worth its line in print.
const fewTries = 5

type line struct{ Label, Text string }

func capital(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// film is how much film there is, short.
func film(c metrics.Counts) string {
	return fmt.Sprintf("%d actions, %d chances, %d games", c.Actions, c.Chances, c.Games)
}

// reason is why no word is said; where one is said, or the probability alone
// decides, the table has it already.
func reason(p metrics.Projection) string {
	if p.Word == metrics.NotEnoughFilm || p.Word == metrics.NoVerdict {
		return strings.TrimSuffix(p.Why, ".")
	}
	return strings.Join(p.Notes, "; ")
}

// broken is "9 of 16, 4 games (5 hit)".
func broken(k metrics.KindReport) string {
	text := fmt.Sprintf("%d of %d, %s", k.Broken, k.Actions, plural(k.Games, "game"))
	for _, o := range k.Outcomes {
		if o.Reading == events.Broken {
			text += fmt.Sprintf(" (%d %s)", o.Count, spaced(string(o.Outcome)))
			break
		}
	}
	if k.Unclear > 0 {
		text += fmt.Sprintf(", %d unclear", k.Unclear)
	}
	return text
}

// Level is the step in level that the projections take, in words, or "".
func (b *Brief) Level() string {
	for _, a := range b.Assignments {
		if l := a.Level; l != nil {
			return fmt.Sprintf("The step from %s to %s is the definition's judgement, with a doubt of %.2f in log-odds.", spaced(string(l.From)), spaced(string(l.To)), l.SD)
		}
	}
	return ""
}
