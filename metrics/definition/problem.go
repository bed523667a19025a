package definition

import (
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"
)

// Problem is one mistake in a definition file. Line and Column count from 1,
// the column in characters.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Text   string `json:"text"`   // what is wrong, what was expected, the nearest right word
	Source string `json:"source"` // the line itself
}

// Error prints the place, the reason, the line and a caret under the place.
func (p Problem) Error() string {
	place := fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Column, p.Text)
	if p.Source == "" {
		return place
	}
	var gap strings.Builder
	for i, r := range []rune(p.Source) {
		if i >= p.Column-1 {
			break
		}
		if r != '\t' {
			r = ' '
		}
		gap.WriteRune(r)
	}
	return fmt.Sprintf("%s\n  %s\n  %s^", place, p.Source, gap.String())
}

// Problems is every mistake of one file, in the order of the file. Parse
// returns its errors as this type.
type Problems []Problem

func (p Problems) Error() string {
	texts := make([]string, len(p))
	for i := range p {
		texts[i] = p[i].Error()
	}
	return strings.Join(texts, "\n")
}

// report collects the problems of a file.
type report struct {
	file  string
	lines []string
	list  Problems
}

// place is a position in the file, both counted from 1.
type place struct{ line, column int }

// maxProblems keeps a file of nothing but mistakes from filling the screen.
const maxProblems = 50

func newReport(file string, text []byte) *report {
	return &report{file: file, lines: strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")}
}

func (r *report) add(at place, format string, args ...any) {
	p := Problem{File: r.file, Line: at.line, Column: max(at.column, 1), Text: fmt.Sprintf(format, args...)}
	if at.line >= 1 && at.line <= len(r.lines) {
		p.Source = shorten(r.lines[at.line-1])
	}
	r.list = append(r.list, p)
}

// shorten keeps a huge line from being printed whole.
func shorten(line string) string {
	const most = 240
	if utf8.RuneCountInString(line) <= most {
		return line
	}
	return string([]rune(line)[:most]) + "…"
}

// err returns the problems in the order of the file, each once, or nil.
func (r *report) err() error {
	if len(r.list) == 0 {
		return nil
	}
	sort.SliceStable(r.list, func(i, j int) bool {
		a, b := r.list[i], r.list[j]
		return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
	})
	var once Problems
	for _, p := range r.list {
		if len(once) == 0 || once[len(once)-1] != p {
			once = append(once, p)
		}
	}
	if len(once) > maxProblems {
		once = once[:maxProblems]
	}
	return once
}
