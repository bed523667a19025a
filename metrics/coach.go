package metrics

import (
	"fmt"
	"slices"
	"strings"

	"stopledger/events"
)

// Tally is a count as a coach quotes it: so many of so many.
type Tally struct {
	What  string `json:"what"`
	Count int    `json:"count"`
	Of    int    `json:"of"`
	Games int    `json:"games"`
	Text  string `json:"text"`
}

// tally writes one; where there is nothing to count, it is nil.
func tally(what string, count, of, played int) []Tally {
	if of == 0 {
		return nil
	}
	return []Tally{{what, count, of, played, fmt.Sprintf("%s: %d of %d, %s", what, count, of, games(played))}}
}

// coach counts what a coach asks for first. Every count is of actions that the
// definition counts.
func (s *Study) coach(p int) []Tally {
	out := s.handTallies(p)
	for _, k := range []events.Kind{events.BallScreen, events.Chase} {
		out = append(out, s.hitTallies(p, k)...)
	}
	fouls, of, played := s.tallyActions(p, func(r *row) bool { return isKind(r, events.Drive) }, func(r *row) bool {
		return s.film.word(r.action, "action.outcome") == string(events.Fouled)
	})
	out = append(out, tally("fouls per drive", fouls, of, played)...)
	return append(out, s.bodies(p)...)
}

func isKind(r *row, k events.Kind) bool { return events.Kinds[r.kind].Kind == k }

// tallyActions counts actions: those of a sort, those of them that are so, and
// the games.
func (s *Study) tallyActions(p int, sort, is func(*row) bool) (count, of, played int) {
	last := noChance
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if !sort(r) {
			continue
		}
		of++
		if r.game != last {
			last = r.game
			played++
		}
		if is(r) {
			count++
		}
	}
	return count, of, played
}

// handTallies are how often he was beaten off the dribble, by the attacker's
// hand.
func (s *Study) handTallies(p int) (out []Tally) {
	for _, hand := range []string{"strong", "weak", ""} {
		what := "beaten on drives to the " + hand + " hand"
		if hand == "" {
			what = "beaten on drives, hand not charted"
		}
		count, of, played := s.tallyActions(p, func(r *row) bool {
			return isKind(r, events.Drive) && s.film.word(r.action, "action.hand") == hand
		}, func(r *row) bool { return r.reading == isBroken && s.film.word(r.action, "action.outcome") == "beaten" })
		out = append(out, tally(what, count, of, played)...)
	}
	return out
}

// hitTallies are how often a screen hit him, and why.
func (s *Study) hitTallies(p int, k events.Kind) []Tally {
	screen := func(r *row) bool { return isKind(r, k) }
	hit := func(r *row) bool { return s.film.word(r.action, "action.outcome") == "hit" }
	count, of, played := s.tallyActions(p, screen, hit)
	out := tally("hit on "+noun(k), count, of, played)
	if count == 0 {
		return out
	}
	for _, why := range []string{"saw-late", "feet", "size", "no-call", "illegal-screen"} {
		n, _, _ := s.tallyActions(p, screen, func(r *row) bool {
			return hit(r) && slices.Contains(strings.Fields(s.film.word(r.action, "action.why")), why)
		})
		if n > 0 {
			out = append(out, tally("hit on "+noun(k)+", "+whyText[why], n, count, played)...)
		}
	}
	return out
}

// whyText says a cause in words; two of the five are a matter of teaching.
var whyText = map[string]string{
	"saw-late": "saw it late", "feet": "his feet", "size": "the screener's size", "no-call": "nobody called it", "illegal-screen": "the screen was illegal",
}

// bodies counts the misses with him on the floor on which he put a body on a man
// or went and got the ball, as far as line-ups are known.
func (s *Study) bodies(p int) []Tally {
	put, of, played := s.tallyActions(p, func(r *row) bool { return isKind(r, events.BoxOut) }, func(r *row) bool {
		return r.reading == isHeld || r.reading == isEven
	})
	out := tally("bodies put on, of box-outs charted", put, of, played)
	if e, ok := s.floor.of(s.film.players[p].id); ok && e.Misses > 0 {
		out = append(out, tally("bodies put on, per miss with him on the floor", put, e.Misses, played)...)
	}
	return out
}

// sortKinds puts the most frequent first.
func sortKinds(list []KindCount) {
	slices.SortStableFunc(list, func(a, b KindCount) int { return b.Count - a.Count })
}
