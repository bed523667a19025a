package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// table is rows for people: words to the left, numbers to the right.
type table struct {
	head  []string
	words int // how many columns, from the left, hold words
	rows  [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// write prints the table with two spaces between columns.
func (t *table) write(w io.Writer) error {
	widths := make([]int, len(t.head))
	for _, row := range append([][]string{t.head}, t.rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range append([][]string{t.head}, t.rows...) {
		var line strings.Builder
		for i, cell := range row {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
			if i < t.words {
				line.WriteString(cell + pad + "  ")
			} else {
				line.WriteString(pad + cell + "  ")
			}
		}
		if _, err := fmt.Fprintln(w, strings.TrimRight(line.String(), " ")); err != nil {
			return err
		}
	}
	return nil
}

func (t *table) writeCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(t.head); err != nil {
		return err
	}
	if err := out.WriteAll(t.rows); err != nil {
		return err
	}
	return out.Error()
}

// writeJSON prints a value for programs, indented, one final newline.
func writeJSON(w io.Writer, v any) error {
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	out.SetEscapeHTML(false)
	return out.Encode(v)
}
