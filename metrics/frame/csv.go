package frame

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteCSV writes the frame as RFC 4180 CSV with a head line. A cell that the
// row does not say is empty. With a mark, a last column named notice repeats
// it, so that no row can be parted from it.
func (f *Frame) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	head := make([]string, 0, len(f.Columns)+1)
	for _, c := range f.Columns {
		head = append(head, c.Name)
	}
	if f.Mark != "" {
		head = append(head, "notice")
	}
	if err := out.Write(head); err != nil {
		return fmt.Errorf("write csv: %w", err)
	}
	line := make([]string, len(head))
	for row := range f.Rows {
		for i, c := range f.Columns {
			line[i] = text(c.Cell(row))
		}
		if f.Mark != "" {
			line[len(line)-1] = f.Mark
		}
		if err := out.Write(line); err != nil {
			return fmt.Errorf("write csv: %w", err)
		}
	}
	out.Flush()
	return out.Error()
}

func text(cell any) string {
	switch v := cell.(type) {
	case string:
		return v
	case float64:
		if float64(float32(v)) == v { // measured with the precision of the columns
			return strconv.FormatFloat(v, 'g', -1, 32)
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	case int64:
		return strconv.FormatInt(v, 10)
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}

// Describe is the frame's documentation as a Markdown table.
func (f *Frame) Describe() string {
	var b strings.Builder
	b.WriteString("| column | holds | meaning |\n| --- | --- | --- |\n")
	for _, c := range f.Columns {
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", c.Name, c.Type, c.Gloss)
	}
	return b.String()
}
