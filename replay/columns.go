package replay

import (
	"math"

	"stopledger/events"
)

// Columns holds the charts of record of many games as four tables of
// dictionary-coded columns. An action's row names its chance's row and its
// defender's and opponent's rows in Players; a chance's row names its game's.
type Columns struct {
	Games   Table
	Chances Table // the fields of chance and possession
	Actions Table
	Players Table // roster lines with what is known of the person; row 0 is nobody

	ChanceGame     []uint32 // by chance
	ActionChance   []uint32 // by action; actions of one chance are neighbours
	ActionDefender []uint32 // by action, row in Players
	ActionOpponent []uint32

	GameIDs   []events.Token // by game
	Digests   []string       // by game
	ChanceIDs []events.ID    // by chance; nil when the columns were made without
	ActionIDs []events.ID    // by action; nil when the columns were made without
}

// Table is a set of columns of one length.
type Table struct {
	Rows    int
	Columns []*Column
	byName  map[string]*Column
}

// Column returns the column of a field such as "action.kind", or nil for a
// field of another table.
func (t *Table) Column(name string) *Column { return t.byName[name] }

// Column is one field over all rows of a table. Fields of few distinct values
// hold codes into a dictionary, code 0 being absent; fields of shape [Real]
// hold plain numbers, NaN being absent.
type Column struct {
	Field Field
	Codes Codes     // one a row; of length 0 while every row is absent
	Reals []float32 // one a row, for shape Real

	Words   []string   // by code, for shapes Word and Words (values joined by a space)
	Lists   [][]string // by code, for shape Words
	Numbers []float64  // by code, for shapes Number and Truth (0 and 1)
	// While being built: the code of each word and number.
	ofWord   map[string]int
	ofNumber map[float64]int
}

// Cardinality is the number of codes, the absent one included. It is 0 for
// plain numbers.
func (c *Column) Cardinality() int {
	switch c.Field.Shape {
	case Real:
		return 0
	case Number, Truth:
		return len(c.Numbers)
	}
	return len(c.Words)
}

// Code is the code at a row: 0 where the field is absent.
func (c *Column) Code(row int) uint32 {
	if c.Codes.Len() == 0 {
		return 0
	}
	return c.Codes.At(row)
}

// Codes is a vector of small unsigned integers as narrow as its largest needs.
// Exactly one of the three slices is in use.
type Codes struct {
	U8  []uint8
	U16 []uint16
	U32 []uint32
}

// Len is the number of codes.
func (c *Codes) Len() int { return len(c.U8) + len(c.U16) + len(c.U32) }

// At returns the code at a row.
func (c *Codes) At(row int) uint32 {
	switch {
	case c.U8 != nil:
		return uint32(c.U8[row])
	case c.U16 != nil:
		return uint32(c.U16[row])
	}
	return c.U32[row]
}

// append adds a code and widens the vector when it must.
func (c *Codes) append(code int) {
	switch {
	case c.U32 != nil:
		c.U32 = append(c.U32, uint32(code))
	case c.U16 != nil && code <= math.MaxUint16:
		c.U16 = append(c.U16, uint16(code))
	case c.U16 != nil:
		c.U32 = append(widen[uint16, uint32](c.U16), uint32(code))
		c.U16 = nil
	case code <= math.MaxUint8:
		c.U8 = append(c.U8, uint8(code))
	case code <= math.MaxUint16:
		c.U16 = append(widen[uint8, uint16](c.U8), uint16(code))
		c.U8 = nil
	default:
		c.U32 = append(widen[uint8, uint32](c.U8), uint32(code))
		c.U8 = nil
	}
}

// fill appends n absent codes.
func (c *Codes) fill(n int) {
	for range n {
		c.append(0)
	}
}

func widen[A uint8 | uint16, B uint16 | uint32](narrow []A) []B {
	wide := make([]B, len(narrow), max(2*len(narrow), 8))
	for i, v := range narrow {
		wide[i] = B(v)
	}
	return wide
}

func newTable(of Of) Table {
	t := Table{byName: map[string]*Column{}}
	for _, f := range Fields {
		if f.Of == of {
			c := &Column{Field: f, ofWord: map[string]int{}, ofNumber: map[float64]int{}}
			c.reset()
			t.Columns = append(t.Columns, c)
			t.byName[f.Name] = c
		}
	}
	return t
}

func (c *Column) reset() {
	switch c.Field.Shape {
	case Number, Truth:
		c.Numbers = []float64{math.NaN()}
	case Word:
		c.Words = []string{""}
	case Words:
		c.Words, c.Lists = []string{""}, [][]string{nil}
	}
}

// NewColumns returns four tables without rows, every field absent, for whoever
// lays rows out without a fold: set Rows, and in each column that has values
// its codes and dictionary.
func NewColumns() *Columns {
	return &Columns{Games: newTable(OfGame), Chances: newTable(OfChance), Actions: newTable(OfAction), Players: newTable(OfPlayer)}
}
