package definition

import (
	"slices"
	"strings"

	"stopledger/replay"
)

// source is the table that a field is read from, and by which link.
type source uint8

const (
	fromGame source = iota
	fromChance
	fromAction
	fromDefender
	fromOpponent
)

// fieldRef is one field as expressions see it.
type fieldRef struct {
	name   string // "defender.role"
	root   string // "defender"
	short  string // "role"
	column string // "player.role"
	field  replay.Field
	from   source
	slot   int // its place in a row
}

// decidedField is computed: the definition's own "decided" for the chance.
const decidedField = "chance.decided"

// roots are the six things, in the order of the documentation.
var roots = []string{"chance", "possession", "action", "defender", "opponent", "game"}

// fieldRefs is every field, by root; slots are indices into it.
var fieldRefs, fieldsByName = layFields()

func layFields() ([]*fieldRef, map[string]*fieldRef) {
	var list []*fieldRef
	add := func(root string, from source, f replay.Field) {
		_, short, _ := strings.Cut(f.Name, ".")
		list = append(list, &fieldRef{
			name: root + "." + short, root: root, short: short, column: f.Name, field: f, from: from, slot: len(list),
		})
	}
	for _, root := range roots {
		if root == "chance" {
			add(root, fromChance, replay.Field{
				Name: decidedField, Of: replay.OfChance, Shape: replay.Truth, Gloss: "what the definition's decided expression says of it",
			})
		}
		for _, f := range replay.Fields {
			owner, _, _ := strings.Cut(f.Name, ".")
			switch {
			case owner == "player" && root == "defender":
				add(root, fromDefender, f)
			case owner == "player" && root == "opponent":
				add(root, fromOpponent, f)
			case owner != root:
			case root == "game":
				add(root, fromGame, f)
			case root == "action":
				add(root, fromAction, f)
			default:
				add(root, fromChance, f)
			}
		}
	}
	byName := make(map[string]*fieldRef, len(list))
	for _, f := range list {
		byName[f.name] = f
	}
	return list, byName
}

// shortNames lists the fields of a root.
func shortNames(root string) []string {
	var names []string
	for _, f := range fieldRefs {
		if f.root == root {
			names = append(names, f.short)
		}
	}
	return names
}

// FieldDoc describes one field that expressions may read, for editors and help.
type FieldDoc struct {
	Name  string   `json:"name"`            // "action.kind"
	Type  string   `json:"type"`            // number, word, words, or truth
	Words []string `json:"words,omitempty"` // the closed list, where there is one
	Gloss string   `json:"gloss"`
}

// FieldDocs lists every field that expressions may read, made from the same
// table that the checker uses.
func FieldDocs() []FieldDoc {
	docs := make([]FieldDoc, len(fieldRefs))
	for i, f := range fieldRefs {
		docs[i] = FieldDoc{Name: f.name, Type: typeWord(f.field.Shape), Words: slices.Clone(f.field.Words), Gloss: f.field.Gloss}
	}
	return docs
}

func typeWord(s replay.Shape) string {
	if s == replay.Real {
		return string(replay.Number)
	}
	return string(s)
}
