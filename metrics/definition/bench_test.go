package definition

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"stopledger/events"
	"stopledger/replay"
)

// The question of the benchmarks: over many actions of 500 defenders, from the
// text of a changed definition (stop, keep and blame all different) to the
// table by defender, kind and role.
const changed = `
name: changed-%d
about: A definition that an analyst has just changed.
keep: 'chance.tempo != "break" && !chance.heave && (chance.period < 4 || abs(chance.margin) <= %d)'
stop:
  default: 'chance.points <= 1 && chance.ball == "defence"'
  contest: 'chance.points == 0 || action.reading == "held"'
blame: 'action.first_break ? 2 : action.last_on_ball ? 1 : 0'
`

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
			put(first, 1+b2i(r == 3 && !isBroken))
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

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

const bigRows = 10_000_000

var big = sync.OnceValue(func() *replay.Columns { return bigColumns(bigRows) })

// BenchmarkChangedDefinition asks one question in three ways, turn by turn, so
// that a busy machine is as busy for all of them, and reports the medians:
//
//	tally  this package, from the text of the definition to the table
//	bare   the same table by a Go loop written for this one question
//	plain  a Go loop that counts actions, stops and points alone
//
// CPU time (both processors together) stands beside the time that passed.
func BenchmarkChangedDefinition(b *testing.B) {
	cols := big()
	by := []string{"defender", "kind", "role"}
	ways := []struct {
		name string
		run  func(i int) func() check
	}{
		{"tally", func(i int) func() check {
			d, err := Parse("changed.yaml", fmt.Appendf(nil, changed, i, 15+i%10))
			if err != nil {
				b.Fatal(err)
			}
			t, err := Tally(d, cols, by)
			if err != nil {
				b.Fatal(err)
			}
			return func() check { return checkTable(t) }
		}},
		{"bare", func(i int) func() check { return bareTable(cols, float64(15+i%10), true) }},
		{"plain", func(i int) func() check { return bareTable(cols, float64(15+i%10), false) }},
	}
	wall, cpu := make([][]float64, len(ways)), make([][]float64, len(ways))
	b.ResetTimer()
	for i := range b.N {
		var want check
		for k, way := range ways {
			runtime.GC()
			began, used := time.Now(), processorTime()
			answer := way.run(i)
			wall[k] = append(wall[k], time.Since(began).Seconds()*1000)
			cpu[k] = append(cpu[k], (processorTime()-used)*1000)
			got := answer()
			if way.name == "plain" {
				got.trials, got.weight, got.stops, got.chances, got.games = want.trials, want.weight, want.stops, want.chances, want.games
			}
			if k == 0 {
				want = got
			} else if got != want {
				b.Fatalf("%s: %+v, want %+v", way.name, got, want)
			}
		}
	}
	for k, way := range ways {
		b.ReportMetric(median(wall[k]), way.name+"-ms")
		b.ReportMetric(median(cpu[k]), way.name+"-cpu-ms")
		b.ReportMetric(slices.Min(cpu[k]), way.name+"-least-cpu-ms")
	}
}

func median(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

func processorTime() float64 {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	seconds := func(t syscall.Timeval) float64 { return float64(t.Sec) + float64(t.Usec)/1e6 }
	return seconds(u.Utime) + seconds(u.Stime)
}

// check is what tables are compared by: sums over groups, each group weighed by
// its place, so that two groups cannot stand in for each other.
type check struct {
	groups, actions, games, chances, trials, stopTrials int
	points, weight, stops                               float64
	mixed                                               uint64
}

func (c *check) add(key string, actions, games, chances, trials, stopTrials int, points, weight, stops float64) {
	c.groups++
	c.actions += actions
	c.games += games
	c.chances += chances
	c.trials += trials
	c.stopTrials += stopTrials
	c.points += points
	c.weight += math.Round(weight * trialUnit)
	c.stops += math.Round(stops * trialUnit)
	h := fnv.New64a()
	fmt.Fprint(h, key, actions, stopTrials, math.Round(points*1000))
	c.mixed += h.Sum64()
}

func checkTable(t *Table) check {
	var c check
	for _, g := range t.Groups {
		c.add(strings.Join(g.Key, "|"), g.Actions, g.Games, g.Chances, g.Trials, g.StopTrials, g.Points, g.Weight, g.Stops)
	}
	return c.rounded()
}
