package synth

import (
	"fmt"
	"stopledger/events"
	"testing"
)

func TestX(t *testing.T) {
	s, _ := New(Options{Seed: 1, Games: 60, DoubleCharted: 0.1})
	n := 0
	types := map[events.Type]int{}
	asks := 0
	ch := 0
	kinds := map[events.Kind]int{}
	ends := map[events.End]int{}
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		n++
		if err := events.Check(&e); err != nil {
			t.Fatalf("%v %s", err, e.Raw)
		}
		if e.Chart != "main" {
			continue
		}
		types[e.Type]++
		if a, ok := e.Body.(*events.Action); ok {
			kinds[a.Kind]++
			asks++
		}
		if a, ok := e.Body.(*events.ChanceEnded); ok {
			ends[a.End]++
			ch++
		}
	}
	fmt.Println(n, types, float64(asks)/float64(ch))
	fmt.Println(kinds)
	fmt.Println(ends)
	var tot events.Totals
	var pts []int
	pc := 0
	for i := range 60 {
		g := s.playGame(s.plan(i))
		tt := g.totals()
		for _, l := range tt.Teams {
			tot = plus(tot, l)
			pts = append(pts, l.Points)
		}
		for _, m := range g.moments {
			if m.chance != nil {
				pc++
			}
		}
	}
	fmt.Printf("%+v per game chances %v ppc %.3f\n", tot, pc/60, float64(tot.Points)/float64(pc))
	fmt.Println(pts)
}
func BenchmarkEvents(b *testing.B) {
	n := 0
	for b.Loop() {
		s, _ := New(Options{Seed: 1, Games: 60, DoubleCharted: 0.1})
		for range s.Events() {
			n++
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "events/s")
}
