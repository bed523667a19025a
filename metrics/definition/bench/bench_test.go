package bench

import (
	"fmt"
	"hash/fnv"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"syscall"
	"testing"
	"time"

	"stopledger/metrics/definition"
)

// A question is what the ways are timed at: from the text of a changed
// definition (stop, keep and blame all different) to a table by defender, kind
// and role over ten million actions.
type question struct {
	name  string
	blame string
	// whole: the table that the program prints, with games, trials by their
	// weights, and blame divided within the chance. Otherwise actions, stops and
	// points alone, one man at a time answering for a chance: the plainest
	// question of this kind. The tally gives the whole table either way.
	whole bool
}

var questions = []question{
	{"whole", "action.first_break ? 2 : action.last_on_ball ? 1 : 0", true},
	{"plain", "last-on-ball", false},
}

// Every run is asked with another lead, so that nothing can be kept.
func leadOf(i int) int { return 15 + i%10 }

func (q question) text(i int) []byte {
	return fmt.Appendf(nil, `
name: changed-%d
about: A definition that an analyst has just changed.
keep: 'chance.tempo != "break" && !chance.heave && (chance.period < 4 || abs(chance.margin) <= %d)'
stop:
  default: 'chance.points <= 1 && chance.ball == "defence"'
  contest: 'chance.points == 0 || action.reading == "held"'
blame: '%s'
`, i, leadOf(i), q.blame)
}

// BenchmarkChangedDefinition asks turn by turn, so that a busy machine is as
// busy for all ways, and reports the medians of the time that passed and, for
// Go, of processor time (all processors together):
//
//	tally  package definition
//	bare   a Go loop written for this one question
//	duck   DuckDB in memory, as many threads as processors
func BenchmarkChangedDefinition(b *testing.B) {
	cols := big()
	duck := startDuck(b, cols)
	for _, q := range questions {
		b.Run(q.name, func(b *testing.B) {
			t := newTimes()
			for i := range b.N {
				var want check
				t.time("tally", func() func() check {
					d, err := definition.Parse("changed.yaml", q.text(i))
					if err != nil {
						b.Fatal(err)
					}
					table, err := definition.Tally(d, cols, []string{"defender", "kind", "role"})
					if err != nil {
						b.Fatal(err)
					}
					return func() check { want = checkTable(table, q.whole); return want }
				})
				got := t.time("bare", func() func() check { return bareTable(cols, float64(leadOf(i)), q.whole) })
				if got != want {
					b.Fatalf("bare: %+v, want %+v", got, want)
				}
				if duck == nil {
					continue
				}
				if got := t.duck(duck, q, i); got != want {
					b.Fatalf("duck: %+v, want %+v", got, want)
				}
			}
			t.report(b)
		})
	}
}

// times keeps what was measured, by way.
type times struct{ wall, cpu map[string][]float64 }

func newTimes() *times { return &times{map[string][]float64{}, map[string][]float64{}} }

// time runs one way and what it answers; comparing the answer is not timed.
func (t *times) time(way string, run func() func() check) check {
	runtime.GC()
	began, used := time.Now(), processorTime()
	answer := run()
	t.wall[way] = append(t.wall[way], time.Since(began).Seconds()*1000)
	t.cpu[way] = append(t.cpu[way], (processorTime()-used)*1000)
	return answer()
}

func (t *times) duck(d *duck, q question, i int) check {
	ms, rows := d.ask(q, leadOf(i))
	t.wall["duck"] = append(t.wall["duck"], ms)
	return checkDuck(big(), rows, q.whole)
}

func (t *times) report(b *testing.B) {
	for way, list := range t.wall {
		b.ReportMetric(median(list), way+"-ms")
	}
	for way, list := range t.cpu {
		b.ReportMetric(median(list), way+"-cpu-ms")
	}
	b.ReportMetric(median(t.wall["tally"])/median(t.wall["bare"]), "tally/bare")
	if t.wall["duck"] != nil {
		b.ReportMetric(median(t.wall["duck"])/median(t.wall["tally"]), "duck/tally")
	}
	b.ReportMetric(0, "ns/op") // of all ways together: it says nothing
}

func median(list []float64) float64 {
	sorted := slices.Sorted(slices.Values(list))
	return sorted[len(sorted)/2]
}

func processorTime() float64 {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	seconds := func(t syscall.Timeval) float64 { return float64(t.Sec) + float64(t.Usec)/1e6 }
	return seconds(u.Utime) + seconds(u.Stime)
}

// check is what tables are compared by: sums over groups, and a sum of hashes
// of the groups, so that two cannot stand in for each other.
type check struct {
	groups, actions, games, stopTrials int
	points, weight, stops              float64
	mixed                              uint64
}

// units of a trial's weight: divisible by every number of trials a man can
// have in a chance.
const units = 27720

// row is one group as the ways give it. Games and weights are for the whole
// question only.
type row struct {
	defender, kind, role       string
	actions, games, stopTrials int
	points, weight, stops      float64
}

func (c *check) add(r row, whole bool) {
	if !whole {
		r.games, r.weight, r.stops = 0, 0, 0
	}
	c.groups++
	c.actions += r.actions
	c.games += r.games
	c.stopTrials += r.stopTrials
	c.points = math.Round(1000*(c.points+r.points)) / 1000
	c.weight += math.Round(r.weight * units)
	c.stops += math.Round(r.stops * units)
	h := fnv.New64a()
	fmt.Fprint(h, r.defender, r.kind, r.role, r.actions, r.games, r.stopTrials, math.Round(r.points*1000), math.Round(r.weight*units))
	c.mixed += h.Sum64()
}

func checkTable(t *definition.Table, whole bool) check {
	var c check
	for _, g := range t.Groups {
		c.add(row{g.Key[0], g.Key[1], g.Key[2], g.Actions, g.Games, g.StopTrials, g.Points, g.Weight, g.Stops}, whole)
	}
	return c
}

// startDuck loads the rows into DuckDB; nil where its node package is missing,
// which is said.
func startDuck(b *testing.B, cols columns) *duck {
	if _, err := os.Stat("node_modules"); err != nil {
		b.Log("measured without DuckDB: run npm ci in metrics/definition/bench first")
		return nil
	}
	path := filepath.Join(b.TempDir(), "actions.csv")
	if err := writeCSV(cols, path); err != nil {
		b.Fatal(err)
	}
	d, err := newDuck(path)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(d.stop)
	return d
}
