package bench

import (
	"sync"

	"stopledger/replay"
)

// bareTable answers the question of the benchmarks as a programmer would who
// had to answer no other: a table of what chance and action codes mean is
// rebuilt from the rules, then one loop on two goroutines.
func bareTable(cols *replay.Columns, lead float64, whole bool) func() check {
	kind, reading := cols.Actions.Column("action.kind"), cols.Actions.Column("action.reading")
	first, last := cols.Actions.Column("action.first_break").Codes.U8, cols.Actions.Column("action.last_on_ball").Codes.U8
	tempo, ball := cols.Chances.Column("chance.tempo"), cols.Chances.Column("chance.ball")
	points, period := cols.Chances.Column("chance.points"), cols.Chances.Column("chance.period")
	margin, heave := cols.Chances.Column("chance.margin"), cols.Chances.Column("chance.heave")
	role := cols.Players.Column("player.role")

	// What a chance means by its codes: 0 not kept, else 1 + points + 4 if the
	// defence has the ball.
	tempos, balls, pts, periods, margins, heaves := len(tempo.Words), len(ball.Words), len(points.Numbers), len(period.Numbers), len(margin.Numbers), len(heave.Numbers)
	keep := make([]bool, tempos*periods*margins*heaves)
	at := 0
	for h := range heaves {
		for m := range margins {
			for p := range periods {
				for t := range tempos {
					far := margin.Numbers[m] > lead || margin.Numbers[m] < -lead
					keep[at] = tempo.Words[t] != "break" && heave.Numbers[h] == 0 && (period.Numbers[p] < 4 || !far)
					at++
				}
			}
		}
	}
	meaning := make([]uint8, balls*pts)
	for b := range balls {
		for p := 1; p < pts; p++ {
			meaning[b*pts+p] = uint8(1 + points.Numbers[p])
			if ball.Words[b] == "defence" {
				meaning[b*pts+p] += 4
			}
		}
	}
	// Whether an action is a stop, by meaning, kind and reading.
	kinds, readings := len(kind.Words), len(reading.Words)
	stops := make([]uint8, 9*kinds*readings)
	for m := 1; m < 9; m++ {
		cost, theirs := (m-1)%4, m > 4
		for k := range kinds {
			for r := range readings {
				stop := cost <= 1 && theirs
				if kind.Words[k] == "contest" {
					stop = cost == 0 || reading.Words[r] == "held"
				}
				stops[(m*kinds+k)*readings+r] = uint8(number(stop))
			}
		}
	}
	weigh := func(first, last uint8) float64 {
		switch {
		case whole && first == 2:
			return 2
		case last == 2:
			return 1
		}
		return 0
	}
	const roles = 4
	parts := halves(cols)
	tables := make([][]bareCell, len(parts))
	var wait sync.WaitGroup
	for part, s := range parts {
		wait.Go(func() {
			cells := make([]bareCell, 501*kinds*roles)
			for a := s[0]; a < s[1]; {
				chance := cols.ActionChance[a]
				end := a + 1
				for end < s[1] && cols.ActionChance[end] == chance {
					end++
				}
				c := int(chance)
				k := ((int(heave.Codes.U8[c])*margins+int(margin.Codes.U8[c]))*periods+int(period.Codes.U8[c]))*tempos + int(tempo.Codes.U8[c])
				if !keep[k] {
					a = end
					continue
				}
				m := int(meaning[int(ball.Codes.U8[c])*pts+int(points.Codes.U8[c])])
				cost := float64((m - 1) % 4)
				sum := 0.0
				for i := a; i < end; i++ {
					sum += weigh(first[i], last[i])
				}
				for i := a; i < end; i++ {
					k, d := int(kind.Codes.U8[i]), cols.ActionDefender[i]
					cell := &cells[(int(d)*kinds+k)*roles+int(role.Codes.U8[cols.ActionOpponent[i]])]
					stop := stops[(m*kinds+k)*readings+int(reading.Codes.U8[i])]
					cell.actions++
					cell.stopTrials += uint32(stop)
					if w := weigh(first[i], last[i]); w > 0 {
						cell.points += cost * w / sum
					}
					if !whole {
						continue
					}
					trials := uint32(0)
					for o := a; o < end; o++ {
						if cols.ActionDefender[o] == d {
							trials++ // no kind comes twice here
						}
					}
					if cell.chance != chance+1 {
						cell.chance = chance + 1
						cell.chances++
					}
					if game := cols.ChanceGame[c]; cell.game != game+1 {
						cell.game = game + 1
						cell.games++
					}
					cell.readings[reading.Codes.U8[i]]++
					cell.readWeights[reading.Codes.U8[i]] += units / trials
					if stop > 0 {
						cell.stops += units / trials
					}
				}
				a = end
			}
			tables[part] = cells
		})
	}
	wait.Wait()
	return func() check { return checkCells(cols, tables, kinds, roles, whole) }
}

// halves cuts the actions in two between games.
func halves(cols *replay.Columns) [][2]int {
	n := cols.Actions.Rows
	game := func(a int) uint32 { return cols.ChanceGame[cols.ActionChance[a]] }
	cut := n / 2
	for cut < n && game(cut) == game(cut-1) {
		cut++
	}
	return [][2]int{{0, cut}, {cut, n}}
}

type bareCell struct {
	actions, stopTrials uint32
	chance, game        uint32
	chances, games      uint32
	readings            [5]uint32
	readWeights         [5]uint32
	stops               uint32
	points              float64
}

func checkCells(cols *replay.Columns, tables [][]bareCell, kinds, roles int, whole bool) check {
	var c check
	id, kind, role := cols.Players.Column("player.id"), cols.Actions.Column("action.kind"), cols.Players.Column("player.role")
	for i := range tables[0] {
		var sum bareCell
		weight := uint32(0)
		for _, table := range tables {
			part := &table[i]
			sum.actions += part.actions
			sum.stopTrials += part.stopTrials
			sum.games += part.games
			sum.stops += part.stops
			sum.points += part.points
			for _, w := range part.readWeights {
				weight += w
			}
		}
		if sum.actions > 0 {
			c.add(row{
				id.Words[i/roles/kinds], kind.Words[i/roles%kinds], role.Words[i%roles], int(sum.actions), int(sum.games), int(sum.stopTrials),
				sum.points, float64(weight) / units, float64(sum.stops) / units,
			}, whole)
		}
	}
	return c
}
