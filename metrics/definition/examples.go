package definition

import (
	"fmt"
	"strconv"

	"github.com/goccy/go-yaml/ast"

	"stopledger/replay"
)

// Example is a worked example of a definition: one chance in short form and
// what is expected of it. What it leaves unsaid is at a plain default: a
// missed two of a game by FIBA rules, from a made basket, in the set offence,
// five minutes left in the first period, no lead, no scheme known; points and
// ball follow from end and rebound; an action is a drive that was stopped, by
// one guard of another; readings, order, efforts, first break and last on ball
// follow from the actions. A field set to null is not known.
type Example struct {
	Name    string
	at      place
	fields  map[int]given // of chance, possession and game, by slot
	actions []exampleAction
	expect  []expectation // of the chance, or of its only action
}

type exampleAction struct {
	fields map[int]given
	expect []expectation
}

// given is one field that an example sets.
type given struct {
	unknown bool
	number  float64
	words   []string
}

// expectation is one expected result: a value, "undecided" or "error".
type expectation struct {
	what string // counts, stop, points, decided or team
	want string
}

var (
	exampleKeys      = []string{"name", "chance", "possession", "game", "action", "actions", "defender", "opponent", "expect"}
	expectOfAction   = []string{"counts", "stop", "points"}
	expectOfChance   = []string{"decided", "team"}
	expectOfEither   = append(append([]string{}, expectOfAction...), expectOfChance...)
	undecidedOrError = []string{"undecided", "error"}
)

func (r *reader) examples(n ast.Node) []Example {
	var list []Example
	for i, item := range r.items(n, "examples") {
		list = append(list, r.example(item, i+1))
	}
	return list
}

func (r *reader) example(n ast.Node, number int) Example {
	x := Example{Name: fmt.Sprintf("example %d", number), at: placeOf(n), fields: map[int]given{}}
	entries := r.entries(n, "an example", exampleKeys)
	single := exampleAction{fields: map[int]given{}}
	var one, many, alone bool
	var expect *entry
	for i, e := range entries {
		switch e.key {
		case "name":
			x.Name = r.text(e.value, "an example's name")
		case "chance", "possession", "game":
			r.givenFields(e.value, e.key, x.fields, nil)
		case "action":
			one = true
			r.givenFields(e.value, "action", single.fields, nil)
		case "defender", "opponent":
			alone = true
			r.givenPlayer(e.value, e.key, single.fields)
		case "actions":
			many = true
			for _, item := range r.items(e.value, "actions") {
				x.actions = append(x.actions, r.exampleAction(item))
			}
		case "expect":
			expect = &entries[i]
		}
	}
	switch {
	case many && (one || alone):
		r.rep.add(placeOf(n), "an example has one action or several actions, with each its own defender and opponent; not both")
	case !many:
		x.actions = []exampleAction{single}
	}
	if expect != nil {
		allowed := expectOfEither
		if many {
			allowed = expectOfChance
		}
		x.expect = r.expectations(expect.value, allowed)
	}
	expects := len(x.expect)
	for _, a := range x.actions {
		expects += len(a.expect)
	}
	if expects == 0 {
		r.rep.add(placeOf(n), "%s expects nothing; want expect, such as expect: {stop: true, points: 0}", x.Name)
	}
	return x
}

func (r *reader) exampleAction(n ast.Node) exampleAction {
	a := exampleAction{fields: map[int]given{}}
	r.givenFields(n, "action", a.fields, map[string]func(ast.Node){
		"defender": func(n ast.Node) { r.givenPlayer(n, "defender", a.fields) },
		"opponent": func(n ast.Node) { r.givenPlayer(n, "opponent", a.fields) },
		"expect":   func(n ast.Node) { a.expect = r.expectations(n, expectOfAction) },
	})
	return a
}

// givenPlayer reads a player's fields, or his id alone.
func (r *reader) givenPlayer(n ast.Node, root string, into map[int]given) {
	switch n.(type) {
	case *ast.NullNode:
		into[fieldsByName[root+".id"].slot] = given{unknown: true}
	case *ast.StringNode:
		into[fieldsByName[root+".id"].slot] = given{words: []string{r.word(n, root, nil)}}
	default:
		r.givenFields(n, root, into, nil)
	}
}

func (r *reader) givenFields(n ast.Node, root string, into map[int]given, others map[string]func(ast.Node)) {
	allowed := shortNames(root)
	for key := range others {
		allowed = append(allowed, key)
	}
	for _, e := range r.entries(n, root, allowed) {
		if read, ok := others[e.key]; ok {
			read(e.value)
			continue
		}
		f := fieldsByName[root+"."+e.key]
		into[f.slot] = r.given(e.value, f)
	}
}

func (r *reader) given(n ast.Node, f *fieldRef) given {
	if _, null := n.(*ast.NullNode); null || n == nil {
		return given{unknown: true}
	}
	switch f.field.Shape {
	case replay.Number, replay.Real:
		return given{number: r.number(n, f.name, -1e6, 1e6)}
	case replay.Truth:
		if b, ok := n.(*ast.BoolNode); ok {
			if b.Value {
				return given{number: 1}
			}
			return given{}
		}
		r.rep.add(placeOf(n), "%s is %s; want true or false", f.name, describe(n))
		return given{}
	case replay.Words:
		if _, list := n.(*ast.SequenceNode); list {
			var words []string
			for _, item := range r.items(n, f.name) {
				words = append(words, r.word(item, f.name, f.field.Words))
			}
			return given{words: words}
		}
	}
	if i, ok := n.(*ast.IntegerNode); ok && f.field.Words == nil {
		return given{words: []string{scalarText(i)}} // a shirt number
	}
	return given{words: []string{r.word(n, f.name, f.field.Words)}}
}

func (r *reader) expectations(n ast.Node, allowed []string) []expectation {
	var list []expectation
	for _, e := range r.entries(n, "expect", allowed) {
		list = append(list, expectation{e.key, r.expected(e)})
	}
	return list
}

func (r *reader) expected(e entry) string {
	if s, ok := e.value.(*ast.StringNode); ok && contains(undecidedOrError, s.Value) {
		return s.Value
	}
	switch e.key {
	case "points", "team":
		if _, word := e.value.(*ast.StringNode); !word {
			return printNumber(r.number(e.value, "expect."+e.key, 0, 1000))
		}
		r.rep.add(placeOf(e.value), "expect.%s is %s; want a number, undecided or error", e.key, describe(e.value))
		return ""
	}
	if b, ok := e.value.(*ast.BoolNode); ok {
		return strconv.FormatBool(b.Value)
	}
	r.rep.add(placeOf(e.value), "expect.%s is %s; want true, false, undecided or error", e.key, describe(e.value))
	return ""
}

// printNumber writes a number with at most four places.
func printNumber(v float64) string {
	text := strconv.FormatFloat(v, 'f', 4, 64)
	for text[len(text)-1] == '0' {
		text = text[:len(text)-1]
	}
	if text[len(text)-1] == '.' {
		text = text[:len(text)-1]
	}
	return text
}
