package replay

import (
	"math"
	"runtime"
	"strings"
	"sync"

	"stopledger/events"
)

// GameColumns lays one game's chart of record out in columns of its own, with
// nothing in them that is not in the log: what is known of people joins later.
func GameColumns(g *Game) *Columns {
	b := NewBuilder(nil, true)
	b.Add(g)
	return b.Columns()
}

// ColumnsOf lays a whole season out.
func ColumnsOf(s *Season, people []events.Person) *Columns {
	parts := make([]*Columns, len(s.Games))
	inParallel(len(parts), func(i int) { parts[i] = GameColumns(s.Games[i]) })
	return Join(parts, people)
}

// Join sets the columns of many games end to end. The parts keep their codes;
// the whole has dictionaries of its own.
func Join(parts []*Columns, people []events.Person) *Columns {
	b := NewBuilder(people, true)
	players := make([][]uint32, len(parts)) // by part and its row: the row in the whole
	for i, p := range parts {
		players[i] = b.joinPlayers(&p.Players)
	}
	c := b.cols
	var games, chances uint32
	for i, p := range parts {
		c.GameIDs = append(c.GameIDs, p.GameIDs...)
		c.Digests = append(c.Digests, p.Digests...)
		c.ChanceIDs = append(c.ChanceIDs, p.ChanceIDs...)
		c.ActionIDs = append(c.ActionIDs, p.ActionIDs...)
		c.ChanceGame = appendShifted(c.ChanceGame, p.ChanceGame, games)
		c.ActionChance = appendShifted(c.ActionChance, p.ActionChance, chances)
		c.ActionDefender = appendMapped(c.ActionDefender, p.ActionDefender, players[i])
		c.ActionOpponent = appendMapped(c.ActionOpponent, p.ActionOpponent, players[i])
		games += uint32(p.Games.Rows)
		chances += uint32(p.Chances.Rows)
	}
	joinTable(&c.Games, parts, func(p *Columns) *Table { return &p.Games })
	joinTable(&c.Chances, parts, func(p *Columns) *Table { return &p.Chances })
	joinTable(&c.Actions, parts, func(p *Columns) *Table { return &p.Actions })
	for _, col := range c.Players.Columns {
		col.finish(c.Players.Rows)
	}
	return c
}

func appendShifted(to, from []uint32, by uint32) []uint32 {
	for _, v := range from {
		to = append(to, v+by)
	}
	return to
}

func appendMapped(to, from, at []uint32) []uint32 {
	for _, v := range from {
		to = append(to, at[v])
	}
	return to
}

// joinPlayers finds or makes the rows of one part's players in the whole.
func (b *Builder) joinPlayers(t *Table) []uint32 {
	rows := make([]uint32, t.Rows)
	word := func(name string, row int) string {
		c := t.Column(name)
		return c.Words[c.Code(row)]
	}
	for row := range rows {
		rows[row] = b.player(roster{
			events.Token(word("player.id", row)), events.Token(word("player.team", row)),
			word("player.number", row), events.Role(word("player.role", row)),
		})
	}
	return rows
}

func joinTable(whole *Table, parts []*Columns, of func(*Columns) *Table) {
	for _, p := range parts {
		whole.Rows += of(p).Rows
	}
	inParallel(len(whole.Columns), func(i int) {
		c := whole.Columns[i]
		if c.Field.Shape == Real {
			c.joinReals(parts, of, whole.Rows, i)
		} else {
			c.joinCodes(parts, of, whole.Rows, i)
		}
		c.built()
	})
}

func (c *Column) joinReals(parts []*Columns, of func(*Columns) *Table, rows, at int) {
	all := make([]float32, 0, rows)
	any := false
	for _, p := range parts {
		t := of(p)
		part := t.Columns[at].Reals
		any = any || len(part) > 0
		all = append(all, part...)
		for range t.Rows - len(part) {
			all = append(all, float32(math.NaN()))
		}
	}
	if any {
		c.Reals = all
	}
}

func (c *Column) joinCodes(parts []*Columns, of func(*Columns) *Table, rows, at int) {
	maps := make([][]uint32, len(parts))
	for i, p := range parts {
		if part := of(p).Columns[at]; part.Codes.Len() > 0 {
			maps[i] = c.adopt(part)
		}
	}
	switch n := c.Cardinality(); {
	case n == 1: // absent everywhere
	case n <= math.MaxUint8+1:
		c.Codes.U8 = mapCodes[uint8](parts, of, maps, rows, at)
	case n <= math.MaxUint16+1:
		c.Codes.U16 = mapCodes[uint16](parts, of, maps, rows, at)
	default:
		c.Codes.U32 = mapCodes[uint32](parts, of, maps, rows, at)
	}
}

// adopt puts a part's dictionary into the whole's and returns, by the part's
// code, the whole's.
func (c *Column) adopt(part *Column) []uint32 {
	codes := make([]uint32, part.Cardinality())
	for old := 1; old < len(codes); old++ {
		switch c.Field.Shape {
		case Number, Truth:
			codes[old] = uint32(c.numberCode(part.Numbers[old]))
		case Words:
			codes[old] = uint32(c.listCode(part.Lists[old]))
		default:
			codes[old] = uint32(c.wordCode(part.Words[old]))
		}
	}
	return codes
}

func mapCodes[U uint8 | uint16 | uint32](parts []*Columns, of func(*Columns) *Table, maps [][]uint32, rows, at int) []U {
	all := make([]U, rows)
	row := 0
	for i, p := range parts {
		t := of(p)
		codes := &t.Columns[at].Codes
		for j := range codes.Len() {
			all[row+j] = U(maps[i][codes.At(j)])
		}
		row += t.Rows
	}
	return all
}

// wordCode, listCode and numberCode find a value's code, or give it the next.

func (c *Column) wordCode(word string) int {
	code, ok := c.ofWord[word]
	if !ok {
		code = len(c.Words)
		c.ofWord[word] = code
		c.Words = append(c.Words, word)
	}
	return code
}

func (c *Column) listCode(values []string) int {
	key := strings.Join(values, "\x00")
	code, ok := c.ofWord[key]
	if !ok {
		code = len(c.Words)
		c.ofWord[key] = code
		c.Words = append(c.Words, strings.Join(values, " "))
		c.Lists = append(c.Lists, values)
	}
	return code
}

func (c *Column) numberCode(v float64) int {
	code, ok := c.ofNumber[v]
	if !ok {
		code = len(c.Numbers)
		c.ofNumber[v] = code
		c.Numbers = append(c.Numbers, v)
	}
	return code
}

// inParallel runs work for 0 to n-1 on all processors.
func inParallel(n int, work func(int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				work(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}
