package definition

import (
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// expressionText reads a scalar as an expression: quoted or plain text, or a
// bare true, false or number.
func (r *reader) expressionText(n ast.Node, what string) (written, bool) {
	switch n.(type) {
	case *ast.StringNode, *ast.LiteralNode, *ast.BoolNode, *ast.IntegerNode, *ast.FloatNode:
	default:
		r.rep.add(placeOf(n), "%s is %s; want an expression in quotes", what, describe(n))
		return written{}, false
	}
	text := scalarText(n)
	at := placeOf(n)
	_, block := n.(*ast.LiteralNode)
	return written{text: text, at: func(offset int) place { return r.rep.align(text, at, block, offset) }}, true
}

// align finds the place in the file of a character of a scalar's value. The
// value is matched against the file character by character; what the file has
// more (quotes, indentation, the backslash of an escape) is passed over, and a
// line break may stand for a space.
func (rep *report) align(value string, start place, block bool, offset int) place {
	line, column := start.line, start.column-1
	if block {
		line, column = line+1, 0
	}
	at := func() (rune, bool) {
		if line < 1 || line > len(rep.lines) {
			return 0, false
		}
		runes := []rune(rep.lines[line-1])
		if column < len(runes) {
			return runes[column], true
		}
		return '\n', line < len(rep.lines)
	}
	next := func() {
		if r, _ := at(); r == '\n' {
			line, column = line+1, 0
			return
		}
		column++
	}
	if r, ok := at(); ok && !block && (r == '\'' || r == '"') && !strings.HasPrefix(value, string(r)) {
		next()
	}
	for i, want := range []rune(value) {
		for {
			got, ok := at()
			if !ok {
				return start
			}
			if got == want || want == ' ' && got == '\n' {
				break
			}
			next()
		}
		if i == offset {
			return place{line, column + 1}
		}
		next()
	}
	return place{line, column + 1}
}
