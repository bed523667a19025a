package definition

import (
	"crypto/sha256"
	"encoding/hex"

	"stopledger/events"
)

// Definition is one checked definition, ready to be applied. It is safe for
// use by several goroutines.
type Definition struct {
	Name        string
	About       string
	Even        float64 // what an even reading counts in the process model, 0 to 1
	Level       Level
	Reference   ByKind       // process rates to stand in for peers where there are fewer than five
	Scheme      *Scheme      // the scheme projections are for; nil: a neutral one
	Assignments []Assignment // its own, or the shipped ones
	Examples    []Example
	File        string // where it was read from

	keep, count, decided, weight *expression // decided may be nil
	stop, cost                   perKind
	blame                        string // the named rule, or ""
	canonical                    []byte
}

// ByKind is a number for each kind, with a default for those not named.
type ByKind struct {
	Default float64
	Kinds   map[events.Kind]float64
	Stated  bool // whether the file says anything
}

// Of is the number of a kind.
func (b ByKind) Of(k events.Kind) float64 {
	if v, ok := b.Kinds[k]; ok {
		return v
	}
	return b.Default
}

// Level is the step from the film's level of competition to the target's: a
// judgement, in log-odds of the process, with its doubt.
type Level struct {
	From, To events.Level
	Shift    ByKind
	SD       float64
}

// Scheme is the scheme of the team a projection is for.
type Scheme struct {
	Base      events.Base
	Principle events.Principle
}

// Assignment is a job a defender could be given, as a mix of actions against
// roles. The shares sum to 1.
type Assignment struct {
	Name  string
	About string
	Asks  []Ask
}

// Ask is one part of an assignment.
type Ask struct {
	Kind   events.Kind
	Role   events.Role // of the opponent; empty: any
	CameBy string      // how he came to the man, such as "switch"; empty: any way
	Share  float64
}

// perKind is an expression for each kind.
type perKind struct {
	list   []*expression // the default first
	byKind map[events.Kind]int
}

// Rule is one expression of a definition, for pages that show which rule
// decided.
type Rule struct {
	Label string `json:"label"` // "keep", "stop.contest"
	Text  string `json:"text"`
}

// Rules lists the expressions in the order of the documentation, with what is
// left unsaid filled in.
func (d *Definition) Rules() []Rule {
	var rules []Rule
	for _, e := range d.expressions() {
		rules = append(rules, Rule{e.label, e.text})
	}
	return rules
}

func (d *Definition) expressions() []*expression {
	list := []*expression{d.keep, d.count}
	list = append(list, d.stop.list...)
	if d.decided != nil {
		list = append(list, d.decided)
	}
	list = append(list, d.cost.list...)
	return append(list, d.weight)
}

// Blame is the named blame rule, or "" where the file gives a weight.
func (d *Definition) Blame() string { return d.blame }

// Canonical is the definition without comments, layout, order of keys and
// spelling of expressions, with defaults filled in: JSON, always the same
// bytes for the same meaning.
func (d *Definition) Canonical() []byte { return append([]byte(nil), d.canonical...) }

// Hash is the SHA-256 of the canonical form, in hexadecimal.
func (d *Definition) Hash() string {
	sum := sha256.Sum256(d.canonical)
	return hex.EncodeToString(sum[:])
}

// BlameRule is a named blame rule and the weight it stands for.
type BlameRule struct {
	Name   string `json:"name"`
	Weight string `json:"weight"`
	Gloss  string `json:"gloss"`
}

// BlameRules lists the named blame rules. Weights are shares once divided by
// their sum within the chance.
var BlameRules = []BlameRule{
	{"everyone", `1`, "every action of the chance answers alike"},
	{"first-break", `action.first_break ? 1 : 0`, "the first action that reads broken answers for all of it"},
	{"last-on-ball", `action.last_on_ball ? 1 : 0`, "the last action that guarded the ball answers for all of it"},
	{"split", `action.reading == "broken" ? 1 : 0`, "the actions that read broken answer for it in equal parts"},
}

func blameNames() []string {
	names := make([]string, len(BlameRules))
	for i, r := range BlameRules {
		names[i] = r.Name
	}
	return names
}
