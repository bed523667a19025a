package definition

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Only the plain part of YAML is read: one document of mappings, sequences and
// scalars. Anchors, aliases, merges and tags are refused, so that what stands
// in the file is what is meant and no small file means a huge one.

// Limits on a file, checked before the YAML parser sees it.
const (
	maxFile    = 64 << 10 // bytes
	maxLine    = 4096     // bytes
	maxNesting = 12       // brackets within brackets, dashes on a line
)

// document reads the bytes of one file into its top mapping, or reports why not.
func document(rep *report, text []byte) *ast.MappingNode {
	if !acceptable(rep, text) {
		return nil
	}
	file, err := parseYAML(text)
	if err != nil {
		reportYAML(rep, err)
		return nil
	}
	var body ast.Node
	for _, doc := range file.Docs {
		switch {
		case doc.Body == nil:
		case body != nil:
			rep.add(placeOf(doc.Body), "a second document; a file holds one definition")
			return nil
		default:
			body = doc.Body
		}
	}
	if body == nil {
		rep.add(place{1, 1}, "the file is empty; a definition begins with its name")
		return nil
	}
	ast.Walk(forbidden{rep}, body)
	if len(rep.list) > 0 {
		return nil
	}
	switch top := body.(type) {
	case *ast.MappingNode:
		return top
	case *ast.MappingValueNode:
		return ast.Mapping(top.Start, false, top)
	}
	rep.add(placeOf(body), "a definition is a list of keys and values, such as name: ball-won")
	return nil
}

func acceptable(rep *report, text []byte) bool {
	switch {
	case len(text) > maxFile:
		rep.add(place{}, "the file has %d bytes; a definition may have %d", len(text), maxFile)
		return false
	case !utf8.Valid(text):
		rep.add(place{}, "the file is not text in UTF-8")
		return false
	}
	depth := 0
	for n, line := range strings.Split(string(text), "\n") {
		if len(line) > maxLine {
			rep.add(place{n + 1, 1}, "the line has %d bytes; a line may have %d", len(line), maxLine)
			return false
		}
		dashes := 0
		for i, r := range line {
			switch r {
			case '[', '{':
				depth++
			case ']', '}':
				depth = max(depth-1, 0)
			case '-', '?':
				if i+1 < len(line) && line[i+1] == ' ' {
					dashes++
				}
			case 0:
				rep.add(place{n + 1, 1}, "the line holds a zero byte")
				return false
			}
			if depth > maxNesting || dashes > maxNesting {
				rep.add(place{n + 1, utf8.RuneCountInString(line[:i]) + 1}, "nested more than %d deep", maxNesting)
				return false
			}
		}
	}
	return true
}

// parseYAML turns a panic of the parser, should there be one, into an error.
func parseYAML(text []byte) (file *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = errors.New("not readable as YAML")
		}
	}()
	return parser.ParseBytes(text, 0, parser.AllowDuplicateMapKey())
}

func reportYAML(rep *report, err error) {
	var syntax yaml.Error
	if errors.As(err, &syntax) && syntax.GetToken() != nil {
		at := syntax.GetToken().Position
		rep.add(place{at.Line, at.Column}, "not readable as YAML: %s", syntax.GetMessage())
		return
	}
	rep.add(place{}, "%v", err)
}

// forbidden refuses what is not plain.
type forbidden struct{ rep *report }

// Visit implements ast.Visitor.
func (f forbidden) Visit(n ast.Node) ast.Visitor {
	switch n := n.(type) {
	case *ast.AnchorNode, *ast.AliasNode:
		f.rep.add(placeOf(n), "anchors and aliases are not used here; write it out")
		return nil
	case *ast.MergeKeyNode:
		f.rep.add(placeOf(n), "merging mappings is not used here; write it out")
		return nil
	case *ast.TagNode:
		f.rep.add(placeOf(n), "%s is a YAML tag here; an expression that begins with ! needs quotes around it", n.Start.Value)
		return nil
	case *ast.DirectiveNode:
		f.rep.add(placeOf(n), "directives are not used here")
		return nil
	}
	return f
}

// placeOf is where a node begins.
func placeOf(n ast.Node) place {
	switch n := n.(type) {
	case nil:
		return place{1, 1}
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 {
			return placeOf(n.Values[0])
		}
	case *ast.MappingValueNode:
		return placeOf(n.Key)
	}
	if t := n.GetToken(); t != nil {
		return place{t.Position.Line, t.Position.Column}
	}
	return place{1, 1}
}

// entry is one key of a mapping with its value.
type entry struct {
	key   string
	at    place
	value ast.Node
}

// entries reads a mapping whose keys are among the allowed; what says whose
// keys they are. Unknown and repeated keys are reported.
func (r *reader) entries(n ast.Node, what string, allowed []string) []entry {
	var values []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		r.rep.add(placeOf(n), "%s is %s; want keys and values", what, describe(n))
		return nil
	}
	var list []entry
	first := map[string]place{}
	for _, v := range values {
		key, at := keyOf(v.Key), placeOf(v.Key)
		if before, twice := first[key]; twice {
			r.rep.add(at, "%q stands twice in %s, first on line %d", key, what, before.line)
			continue
		}
		first[key] = at
		if allowed != nil && !contains(allowed, key) {
			r.rep.add(at, "%s has no %q; %s", what, key, meantWord(key, allowed))
			continue
		}
		list = append(list, entry{key, at, v.Value})
	}
	return list
}

func keyOf(n ast.MapKeyNode) string {
	if s, ok := n.(ast.ScalarNode); ok {
		return scalarText(s)
	}
	return n.String()
}

// scalarText is a scalar as it stands in the file.
func scalarText(n ast.Node) string {
	switch s := n.(type) {
	case *ast.StringNode:
		return s.Value
	case *ast.LiteralNode:
		return s.Value.Value
	}
	return strings.TrimSpace(n.GetToken().Value)
}

func describe(n ast.Node) string {
	switch n := n.(type) {
	case nil, *ast.NullNode:
		return "nothing"
	case *ast.SequenceNode:
		return "a list"
	case *ast.MappingNode, *ast.MappingValueNode:
		return "keys and values"
	case *ast.BoolNode, *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode:
		return scalarText(n)
	case *ast.StringNode, *ast.LiteralNode:
		return strconv.Quote(shorten(scalarText(n)))
	}
	return fmt.Sprintf("a %s", n.Type())
}

// items reads a list.
func (r *reader) items(n ast.Node, what string) []ast.Node {
	if s, ok := n.(*ast.SequenceNode); ok {
		return s.Values
	}
	r.rep.add(placeOf(n), "%s is %s; want a list", what, describe(n))
	return nil
}

// word reads a short text; if words are given it must be one of them.
func (r *reader) word(n ast.Node, what string, words []string) string {
	s, ok := n.(*ast.StringNode)
	if !ok || strings.TrimSpace(s.Value) == "" {
		r.rep.add(placeOf(n), "%s is %s; want a word%s", what, describe(n), oneOf(words))
		return ""
	}
	if words != nil && !contains(words, s.Value) {
		r.rep.add(placeOf(n), "%s is never %q; %s", what, s.Value, meantWord(s.Value, words))
		return ""
	}
	return s.Value
}

func oneOf(words []string) string {
	if len(words) == 0 {
		return ""
	}
	return ", one of " + strings.Join(words, ", ")
}

// text reads prose.
func (r *reader) text(n ast.Node, what string) string {
	switch n.(type) {
	case *ast.StringNode, *ast.LiteralNode:
		return strings.TrimSpace(scalarText(n))
	}
	r.rep.add(placeOf(n), "%s is %s; want a text", what, describe(n))
	return ""
}

// number reads a number within bounds.
func (r *reader) number(n ast.Node, what string, least, most float64) float64 {
	switch n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		v, err := strconv.ParseFloat(scalarText(n), 64)
		if err == nil && v >= least && v <= most {
			return v
		}
		r.rep.add(placeOf(n), "%s is %s; want a number from %v to %v", what, scalarText(n), least, most)
	default:
		r.rep.add(placeOf(n), "%s is %s; want a number from %v to %v", what, describe(n), least, most)
	}
	return least
}
