package bench

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"sync"

	"stopledger/events"
	"stopledger/replay"
)

// bigColumns lays an invented season out: games of 200 chances between two of
// 50 teams, five of ten men on the floor at a time, four actions a chance on
// average, no man asked the same kind twice in one chance.
func bigColumns(actions int) *replay.Columns {
	dice := rand.New(rand.NewPCG(3, 1))
	c := replay.NewColumns()
	column := func(t *replay.Table, name string, words ...string) *replay.Column {
		col := t.Column(name)
		col.Words = append(col.Words, words...)
		return col
	}
	numbers := func(t *replay.Table, name string, from, to int) *replay.Column {
		col := t.Column(name)
		for v := from; v <= to; v++ {
			col.Numbers = append(col.Numbers, float64(v))
		}
		return col
	}
	put := func(col *replay.Column, code int) { col.Codes.U8 = append(col.Codes.U8, uint8(code)) }
	pick := func(col *replay.Column) {
		n := max(len(col.Words), len(col.Numbers)) - 1
		put(col, 1+dice.IntN(n))
	}
	tempo := column(&c.Chances, "chance.tempo", events.Tempo("").Words()...)
	ball := column(&c.Chances, "chance.ball", "offence", "defence")
	points, period := numbers(&c.Chances, "chance.points", 0, 3), numbers(&c.Chances, "chance.period", 1, 4)
	margin, heave := numbers(&c.Chances, "chance.margin", -40, 40), numbers(&c.Chances, "chance.heave", 0, 1)
	kind := column(&c.Actions, "action.kind", events.Kind("").Words()...)
	reading := column(&c.Actions, "action.reading", events.Reading("").Words()...)
	first, last := numbers(&c.Actions, "action.first_break", 0, 1), numbers(&c.Actions, "action.last_on_ball", 0, 1)
	id, role := c.Players.Column("player.id"), column(&c.Players, "player.role", events.Role("").Words()...)
	id.Codes.U16, role.Codes.U8 = []uint16{0}, []uint8{0}
	for p := range 500 {
		id.Words = append(id.Words, fmt.Sprintf("player-%03d", p))
		id.Codes.U16 = append(id.Codes.U16, uint16(p+1))
		put(role, 1+p%3)
	}
	c.Players.Rows = 501
	game := c.Games.Column("game.id")
	var teams [2]int
	for c.Actions.Rows < actions {
		if len(c.ChanceGame)%200 == 0 {
			name := fmt.Sprintf("game-%05d", c.Games.Rows)
			c.GameIDs, c.Digests = append(c.GameIDs, events.Token(name)), append(c.Digests, "")
			game.Words, game.Codes.U16 = append(game.Words, name), append(game.Codes.U16, uint16(len(game.Words)))
			c.Games.Rows++
			teams = [2]int{dice.IntN(50), dice.IntN(50)}
		}
		chance := uint32(c.Chances.Rows)
		c.ChanceGame = append(c.ChanceGame, uint32(c.Games.Rows-1))
		for _, col := range []*replay.Column{tempo, ball, points, period, margin} {
			pick(col)
		}
		put(heave, 1)
		c.Chances.Rows++
		side, bench := int(chance)%2, int(chance)/20%2*5
		man := func(team int) uint32 { return uint32(1 + 10*teams[team] + (bench+dice.IntN(5))%10) }
		n, isBroken, onBall := 1+dice.IntN(7), false, -1
		asked := map[[2]int]bool{}
		for range n {
			k, d := 1+dice.IntN(12), man(side)
			if asked[[2]int{k, int(d)}] {
				continue
			}
			asked[[2]int{k, int(d)}] = true
			put(kind, k)
			r := 1 + dice.IntN(4)
			put(reading, r)
			put(first, 1+number(r == 3 && !isBroken))
			isBroken = isBroken || r == 3
			put(last, 1)
			if events.Kind(kind.Words[k]).OnBall() {
				onBall = c.Actions.Rows
			}
			c.ActionChance = append(c.ActionChance, chance)
			c.ActionDefender = append(c.ActionDefender, d)
			c.ActionOpponent = append(c.ActionOpponent, man(1-side))
			c.Actions.Rows++
		}
		if onBall >= 0 {
			last.Codes.U8[onBall] = 2
		}
	}
	return c
}

func number(b bool) int {
	if b {
		return 1
	}
	return 0
}

const bigRows = 10_000_000

var big = sync.OnceValue(func() *replay.Columns { return bigColumns(bigRows) })

// writeCSV writes the rows as DuckDB reads them: one line an action, codes as
// integers, what belongs to the chance repeated on each.
func writeCSV(cols *replay.Columns, path string) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	defer file.Close()
	out := bufio.NewWriterSize(file, 1<<20)
	fmt.Fprintln(out, "chance,game,defender,kind,role,reading,first,last,tempo,ball,points,period,margin,heave")
	chance := func(name string, c uint32) int {
		column := cols.Chances.Column(name)
		if code := column.Code(int(c)); column.Numbers != nil {
			return int(column.Numbers[code])
		} else {
			return int(code)
		}
	}
	action := func(name string, row int) int { return int(cols.Actions.Column(name).Code(row)) }
	line := make([]byte, 0, 100)
	for row, c := range cols.ActionChance {
		role := cols.Players.Column("player.role").Code(int(cols.ActionOpponent[row]))
		line = line[:0]
		for _, v := range []int{
			int(c), int(cols.ChanceGame[c]), int(cols.ActionDefender[row]), action("action.kind", row), int(role), action("action.reading", row),
			action("action.first_break", row) - 1, action("action.last_on_ball", row) - 1, chance("chance.tempo", c), chance("chance.ball", c),
			chance("chance.points", c), chance("chance.period", c), chance("chance.margin", c), chance("chance.heave", c),
		} {
			line = append(strconv.AppendInt(line, int64(v), 10), ',')
		}
		line[len(line)-1] = '\n'
		if _, err := out.Write(line); err != nil {
			return err
		}
	}
	return out.Flush()
}
