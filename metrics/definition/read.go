package definition

import (
	"math"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"stopledger/events"
)

// reader turns the YAML of one file into a definition.
type reader struct{ rep *report }

var topKeys = []string{
	"name", "about", "keep", "count", "stop", "decided", "cost", "blame", "even", "level", "reference", "scheme", "assignments", "examples",
}

// Parse reads and checks a definition file. File is only used to name it in
// errors, which are [Problems]: all of them together.
func Parse(file string, text []byte) (*Definition, error) {
	r := &reader{rep: newReport(file, text)}
	d := &Definition{File: file, Even: 0.5}
	if top := document(r.rep, text); top != nil {
		r.definition(d, top)
	}
	if err := r.rep.err(); err != nil {
		return nil, err
	}
	d.canonical = canonical(d)
	return d, nil
}

func (r *reader) definition(d *Definition, top *ast.MappingNode) {
	start := placeOf(top)
	has := map[string]ast.Node{}
	for _, e := range r.entries(top, "a definition", topKeys) {
		has[e.key] = e.value
	}
	for _, key := range []string{"name", "about", "stop"} {
		if has[key] == nil {
			r.rep.add(start, "%s is missing; want %s", key, map[string]string{
				"name": "a short name such as ball-won", "about": "a sentence that says what it is for",
				"stop": `what a stop is, such as stop: 'chance.points == 0'`,
			}[key])
		}
	}
	if n := has["name"]; n != nil {
		d.Name = r.name(n, "name")
	}
	if n := has["about"]; n != nil {
		if d.About = r.text(n, "about"); d.About == "" {
			r.rep.add(placeOf(n), "about is empty; want a sentence that says what it is for")
		}
	}
	if n := has["even"]; n != nil {
		d.Even = r.number(n, "even", 0, 1)
	}
	r.rules(d, has)
	r.model(d, has)
	if n := has["assignments"]; n != nil {
		d.Assignments = r.assignments(n)
	} else {
		d.Assignments = ShippedAssignments()
	}
	if n := has["examples"]; n != nil {
		d.Examples = r.examples(n)
	}
}

// name reads a name that can be part of a command and of a file's name.
func (r *reader) name(n ast.Node, what string) string {
	name := r.word(n, what, nil)
	if name == "" {
		return ""
	}
	bad := strings.IndexFunc(name, func(c rune) bool {
		return !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-')
	})
	if bad >= 0 || len(name) > 60 || name[0] == '-' {
		r.rep.add(placeOf(n), "%s %q: use small letters, digits and hyphens, at most 60", what, name)
		return ""
	}
	return name
}

// rules reads the expressions.
func (r *reader) rules(d *Definition, has map[string]ast.Node) {
	const chanceFact = "a chance is decided or not for everybody in it"
	const chanceCost = "what a chance cost is the same for everybody in it; who answers for it is said in blame"
	d.keep = r.rule("keep", has["keep"], "true", wants{})
	d.count = r.rule("count", has["count"], "true", wants{})
	if n := has["decided"]; n != nil {
		d.decided = r.rule("decided", n, "", wants{chanceOnly: chanceFact, undecided: true})
	}
	if n := has["stop"]; n != nil {
		d.stop = r.perKind("stop", n, "", wants{})
	}
	d.cost = r.perKind("cost", has["cost"], "chance.points", wants{number: true, chanceOnly: chanceCost})
	r.blame(d, has["blame"])
}

func (r *reader) rule(label string, n ast.Node, unsaid string, want wants) *expression {
	if n == nil {
		return compile(r.rep, label, written{unsaid, func(int) place { return place{1, 1} }}, want)
	}
	src, ok := r.expressionText(n, label)
	if !ok {
		return nil
	}
	return compile(r.rep, label, src, want)
}

// perKind reads one expression for all kinds, or a default and some by kind.
func (r *reader) perKind(label string, n ast.Node, unsaid string, want wants) perKind {
	p := perKind{byKind: map[events.Kind]int{}}
	switch n.(type) {
	case nil:
		p.list = append(p.list, r.rule(label+".default", nil, unsaid, want))
		return p
	case *ast.MappingNode, *ast.MappingValueNode:
	default:
		p.list = append(p.list, r.rule(label+".default", n, "", want))
		return p
	}
	entries := r.entries(n, label, append([]string{"default"}, events.Kind("").Words()...))
	var standard ast.Node
	for _, e := range entries {
		if e.key == "default" {
			standard = e.value
		}
	}
	if standard == nil && unsaid == "" {
		r.rep.add(placeOf(n), "%s has no default; want one for the kinds that are not named", label)
	} else {
		p.list = append(p.list, r.rule(label+".default", standard, unsaid, want))
	}
	for _, k := range events.Kinds { // in the vocabulary's order, whatever the file's
		for _, e := range entries {
			if e.key == string(k.Kind) {
				p.byKind[k.Kind] = len(p.list)
				p.list = append(p.list, r.rule(label+"."+e.key, e.value, "", want))
			}
		}
	}
	return p
}

func (r *reader) blame(d *Definition, n ast.Node) {
	d.blame = "first-break"
	if n != nil {
		src, ok := r.expressionText(n, "blame")
		if !ok {
			return
		}
		if bare := strings.TrimSpace(src.text); isName(bare) && bare != "true" && bare != "false" {
			if d.blame = bare; !contains(blameNames(), bare) {
				r.rep.add(placeOf(n), "blame is never %q; %s", bare, meantWord(bare, blameNames()))
			}
		} else {
			d.blame = ""
			d.weight = compile(r.rep, "blame", src, wants{number: true})
			return
		}
	}
	for _, rule := range BlameRules {
		if rule.Name == d.blame {
			d.weight = compile(r.rep, "blame", written{rule.Weight, func(int) place { return placeOf(n) }}, wants{number: true})
		}
	}
}

// isName reports whether a text is a bare word, which no weight can be.
func isName(s string) bool {
	for _, c := range s {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '-' || c == '_') {
			return false
		}
	}
	return s != ""
}

// model reads what the models want to know beyond the rules.
func (r *reader) model(d *Definition, has map[string]ast.Node) {
	if n := has["level"]; n != nil {
		said := map[string]bool{}
		for _, e := range r.entries(n, "level", []string{"from", "to", "shift", "sd"}) {
			said[e.key] = true
			switch e.key {
			case "from":
				d.Level.From = events.Level(r.word(e.value, "level.from", events.Level("").Words()))
			case "to":
				d.Level.To = events.Level(r.word(e.value, "level.to", events.Level("").Words()))
			case "shift":
				d.Level.Shift = r.byKind(e.value, "level.shift", -5, 5)
			case "sd":
				d.Level.SD = r.number(e.value, "level.sd", 0, 5)
			}
		}
		if !said["from"] || !said["to"] {
			r.rep.add(placeOf(n), "level wants both from and to%s", oneOf(events.Level("").Words()))
		}
	}
	if n := has["reference"]; n != nil {
		d.Reference = r.byKind(n, "reference", 0, 1)
	}
	if n := has["scheme"]; n != nil {
		d.Scheme = &Scheme{Base: events.Unknown, Principle: events.Unknown}
		for _, e := range r.entries(n, "scheme", []string{"base", "principle"}) {
			if e.key == "base" {
				d.Scheme.Base = events.Base(r.word(e.value, "scheme.base", events.Base("").Words()))
			} else {
				d.Scheme.Principle = events.Principle(r.word(e.value, "scheme.principle", events.Principle("").Words()))
			}
		}
	}
}

// byKind reads one number for all kinds, or a default and some by kind.
func (r *reader) byKind(n ast.Node, what string, least, most float64) ByKind {
	b := ByKind{Kinds: map[events.Kind]float64{}, Stated: true}
	switch n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		b.Default = r.number(n, what, least, most)
		return b
	}
	for _, e := range r.entries(n, what, append([]string{"default"}, events.Kind("").Words()...)) {
		v := r.number(e.value, what+"."+e.key, least, most)
		if e.key == "default" {
			b.Default = v
		} else {
			b.Kinds[events.Kind(e.key)] = v
		}
	}
	return b
}

func (r *reader) assignments(n ast.Node) []Assignment {
	var list []Assignment
	first := map[string]place{}
	for _, item := range r.items(n, "assignments") {
		a := r.assignment(item)
		if before, twice := first[a.Name]; twice && a.Name != "" {
			r.rep.add(placeOf(item), "the assignment %s stands twice, first on line %d", a.Name, before.line)
		}
		first[a.Name] = placeOf(item)
		list = append(list, a)
	}
	return list
}

func (r *reader) assignment(n ast.Node) Assignment {
	var a Assignment
	asked := false
	for _, e := range r.entries(n, "an assignment", []string{"name", "about", "asks"}) {
		switch e.key {
		case "name":
			a.Name = r.name(e.value, "an assignment's name")
		case "about":
			a.About = r.text(e.value, "an assignment's about")
		case "asks":
			asked = true
			for _, item := range r.items(e.value, "asks") {
				a.Asks = append(a.Asks, r.ask(item))
			}
		}
	}
	sum := 0.0
	for _, ask := range a.Asks {
		sum += ask.Share
	}
	switch {
	case a.Name == "":
		r.rep.add(placeOf(n), "an assignment needs a name")
	case !asked || len(a.Asks) == 0:
		r.rep.add(placeOf(n), "assignment %s asks nothing; want asks, each with kind and share", a.Name)
	case math.Abs(sum-1) > 1e-6:
		r.rep.add(placeOf(n), "the shares of %s sum to %.4g; want 1", a.Name, sum)
	}
	return a
}

func (r *reader) ask(n ast.Node) Ask {
	var a Ask
	said := false
	for _, e := range r.entries(n, "an ask", []string{"kind", "role", "came_by", "share"}) {
		switch e.key {
		case "kind":
			said = true
			a.Kind = events.Kind(r.word(e.value, "kind", events.Kind("").Words()))
		case "role":
			a.Role = events.Role(r.word(e.value, "role", events.Role("").Words()))
		case "came_by":
			a.CameBy = r.word(e.value, "came_by", fieldsByName["action.came_by"].field.Words)
		case "share":
			a.Share = r.number(e.value, "share", 0, 1)
		}
	}
	if !said {
		r.rep.add(placeOf(n), "an ask needs a kind%s", oneOf(events.Kind("").Words()))
	}
	return a
}
