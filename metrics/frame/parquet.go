package frame

import (
	"fmt"
	"io"

	"github.com/parquet-go/parquet-go"
)

// WriteParquet writes the frame as a Parquet file: text as dictionary-coded
// UTF-8 strings, numbers as doubles, whole numbers as 64-bit integers, every
// column optional. A mark stands in the file's metadata under "notice" and in
// a column of that name.
func (f *Frame) WriteParquet(w io.Writer) error {
	columns := f.Columns
	if f.Mark != "" {
		columns = append(columns[:len(columns):len(columns)], Column{"notice", Text, "a notice", func(int) any { return f.Mark }})
	}
	group := parquet.Group{}
	cells := make(map[string]func(int) any, len(columns))
	for _, c := range columns {
		group[c.Name] = parquet.Optional(node(c.Type))
		cells[c.Name] = c.Cell
	}
	schema := parquet.NewSchema("actions", group)
	options := []parquet.WriterOption{schema, parquet.Compression(&parquet.Zstd)}
	if f.Mark != "" {
		options = append(options, parquet.KeyValueMetadata("notice", f.Mark))
	}
	out := parquet.NewGenericWriter[any](w, options...)
	if err := f.writeRows(out, schema, cells); err != nil {
		return fmt.Errorf("write parquet: %w", err)
	}
	if err := out.Close(); err != nil {
		return fmt.Errorf("write parquet: %w", err)
	}
	return nil
}

// writeRows hands rows over in batches; parquet orders columns by name.
func (f *Frame) writeRows(out *parquet.GenericWriter[any], schema *parquet.Schema, cells map[string]func(int) any) error {
	fields := schema.Fields()
	const batch = 512
	rows := make([]parquet.Row, 0, batch)
	for row := range f.Rows {
		r := make(parquet.Row, len(fields))
		for i, field := range fields {
			if cell := cells[field.Name()](row); cell != nil {
				r[i] = parquet.ValueOf(cell).Level(0, 1, i)
			} else {
				r[i] = parquet.NullValue().Level(0, 0, i)
			}
		}
		if rows = append(rows, r); len(rows) == batch || row == f.Rows-1 {
			if _, err := out.WriteRows(rows); err != nil {
				return err
			}
			rows = rows[:0]
		}
	}
	return nil
}

func node(t Type) parquet.Node {
	switch t {
	case Number:
		return parquet.Leaf(parquet.DoubleType)
	case Whole:
		return parquet.Int(64)
	case Truth:
		return parquet.Leaf(parquet.BooleanType)
	}
	return parquet.Encoded(parquet.String(), &parquet.RLEDictionary)
}
