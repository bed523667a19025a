package definition

import (
	"regexp"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/operators"
)

// This file puts the parser's and the type checker's complaints into words for
// people who write definitions.

func reportSyntax(rep *report, src written, issues *cel.Issues) {
	// The parser tries to go on after a mistake and reports its own confusion;
	// only the first complaint is the writer's.
	first := issues.Errors()[0]
	text := strings.TrimPrefix(first.Message, "Syntax error: ")
	at := src.at(offsetOf(src.text, first.Location.Line(), first.Location.Column()))
	switch {
	case strings.Contains(text, "recursion limit"):
		rep.add(at, "nested more than %d deep", maxDepth)
		return
	case text == first.Message:
		rep.add(at, "%s", text)
		return
	}
	text = strings.NewReplacer("mismatched input", "unexpected", "extraneous input", "unexpected",
		"no viable alternative at input", "unexpected", "token recognition error at:", "unexpected", "'<EOF>'", "end").Replace(text)
	if i := strings.Index(text, " expecting"); i >= 0 {
		text = text[:i]
	}
	if strings.HasPrefix(text, "unexpected '='") || strings.HasPrefix(text, "unexpected '= ") {
		text = "unexpected =; two of them compare: =="
	}
	rep.add(at, "not an expression: %s", text)
}

// offsetOf turns a line (from 1) and column (from 0) of an expression into a
// count of characters.
func offsetOf(text string, line, column int) int {
	offset := 0
	for n, l := range strings.Split(text, "\n") {
		if n == line-1 {
			return offset + column
		}
		offset += len([]rune(l)) + 1
	}
	return 0
}

var noOverload = regexp.MustCompile(`^found no matching overload for '(.+?)' applied to '(.*)'`)

func (c *checker) reportTypes(issues *cel.Issues) {
	for _, issue := range issues.Errors() {
		text := issue.Message
		if m := noOverload.FindStringSubmatch(text); m != nil {
			text = overloadText(m[1], m[2])
		} else {
			text = plainTypes(text)
		}
		offset := offsetOf(c.src.text, issue.Location.Line(), issue.Location.Column())
		if at, ok := c.info.GetOffsetRange(issue.ExprID); ok {
			offset = int(at.Start)
		}
		c.failed = true
		c.rep.add(c.src.at(offset), "%s", text)
	}
}

func overloadText(function, arguments string) string {
	symbol, isOperator := operators.FindReverse(function)
	switch {
	case function == operators.Conditional:
		return "a ? b : c needs a truth before the ? and two alike behind it; got " + plainTypes(arguments)
	case function == operators.Index:
		return "[ ] takes a list and a number, or a map and one of its keys; got " + plainTypes(arguments)
	case isOperator && symbol != "":
		return symbol + " does not go with " + plainTypes(arguments)
	}
	return function + " does not take " + plainTypes(strings.Replace(arguments, ".(", " and (", 1))
}

var celTypes = regexp.MustCompile(`list\(string\)|stopledger\.\w+|\b(double|string|bool|int)\b`)

// plainTypes replaces CEL's type names by the words of FieldDocs.
func plainTypes(text string) string {
	return celTypes.ReplaceAllStringFunc(text, plainType)
}

func plainType(name string) string {
	switch name {
	case "double", "int":
		return "number"
	case "string":
		return "word"
	case "bool":
		return "truth"
	case "list(string)":
		return "words"
	}
	return strings.TrimPrefix(name, "stopledger.")
}
