package metrics

import (
	"fmt"
	"strings"

	"stopledger/events"
)

// Fact is one of the three sentences that a report begins with.
type Fact struct {
	About string `json:"about"` // takes-away, attack, unknown
	Text  string `json:"text"`
	// Kinds and Assignments are what it rests on.
	Kinds       []events.Kind `json:"kinds"`
	Assignments []string      `json:"assignments"`
}

// What the three facts are about.
const (
	TakesAway = "takes-away"
	Attack    = "attack"
	Unknown   = "unknown"
)

// facts writes the three sentences. Only what is likely at 80 % is called taken
// away or to be attacked; where nothing is, that is the fact.
func (s *Study) facts(p *Profile) []Fact {
	return []Fact{p.takesAway(), p.attack(), p.unknown()}
}

// named is how many kinds a sentence names.
const named = 2

// takesAway picks the kinds that save most against the peers.
func (p *Profile) takesAway() Fact {
	f := Fact{About: TakesAway, Kinds: []events.Kind{}, Assignments: []string{}}
	var parts []string
	for i := len(p.Kinds) - 1; i >= 0 && len(parts) < named; i-- {
		k := &p.Kinds[i]
		if k.sure() && *k.Better >= Sure {
			f.Kinds = append(f.Kinds, k.Kind)
			parts = append(parts, fmt.Sprintf("%s (held %d of %d, %s; %s likely better than the field)", noun(k.Kind), k.Held, k.Actions, games(k.Games), likely(*k.Better)))
		}
	}
	if len(parts) == 0 {
		f.Text = sentence(p.nothing("he takes nothing away that the film can tell from the field"))
		return f
	}
	f.Text = sentence("takes away " + list(parts))
	return f
}

// attack picks the kinds that cost most.
func (p *Profile) attack() Fact {
	f := Fact{About: Attack, Kinds: []events.Kind{}, Assignments: []string{}}
	var parts []string
	for i := range p.Kinds {
		k := &p.Kinds[i]
		if len(parts) < named && k.sure() && *k.Better <= 1-Sure {
			f.Kinds = append(f.Kinds, k.Kind)
			parts = append(parts, fmt.Sprintf("%s (broken on %d of %d, %s; %s likely worse than the field, %s points per 100 of his chances)",
				noun(k.Kind), k.Broken, k.Actions, games(k.Games), likely(1-*k.Better), signed(k.Cost.Mean)))
		}
	}
	if len(parts) == 0 {
		f.Text = sentence(p.nothing("nothing to attack that the film can tell from the field"))
		return f
	}
	f.Text = sentence("attack his " + list(parts))
	return f
}

func (k *KindReport) sure() bool { return (k.Sure == Clear || k.Sure == Likely) && k.Better != nil }

// nothing explains an empty fact.
func (p *Profile) nothing(otherwise string) string {
	if p.Film.Actions == 0 {
		return "no film of him on this ledger"
	}
	for i := range p.Kinds {
		if p.Kinds[i].Better != nil {
			return otherwise
		}
	}
	return fmt.Sprintf("%s on film, and too few others of his role to compare him with", actions(p.Film.Actions))
}

// unknown names the assignments that nobody can say anything of yet.
func (p *Profile) unknown() Fact {
	f := Fact{About: Unknown, Kinds: []events.Kind{}, Assignments: []string{}}
	thin, open := p.withWord(NotEnoughFilm), p.withWord(Unsettled)
	f.Assignments = append(append(f.Assignments, thin...), open...)
	without := p.withWord(NoVerdict)
	switch {
	case len(thin) > 0 && len(open) > 0:
		f.Text = sentence(fmt.Sprintf("not enough film for %s; unsettled: %s", list(plain(thin)), list(plain(open))))
	case len(thin) > 0:
		f.Text = sentence("not enough film for " + list(plain(thin)))
	case len(open) > 0:
		f.Text = sentence("unsettled: " + list(plain(open)))
	case len(without) > 0:
		f.Assignments = without
		f.Text = sentence("no verdict on anything: there is nobody to compare him with")
	default:
		f.Text = sentence("every assignment asked for is decided, one way or the other")
	}
	return f
}

func (p *Profile) withWord(w Word) []string {
	var out []string
	for i := range p.Assignments {
		if p.Assignments[i].Word == w {
			out = append(out, p.Assignments[i].Assignment)
		}
	}
	return out
}

// plain writes names of assignments as a sentence does.
func plain(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = strings.ReplaceAll(n, "-", " ")
	}
	return out
}
