package metrics

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// league is a study of many defenders with film of every kind, role and scheme,
// laid out without a fold: 200 actions a game, ten men a game, 20 games a man.
func league(b testing.TB, defenders int) *Study {
	d := define(b, "")
	s := NewStudy(d, replay.NewColumns(), StudyOptions{})
	rng := rand.New(rand.NewPCG(1, uint64(defenders)))
	f := s.film
	f.schemes = []string{"man denial", "man gap", "man no-middle", "man switch-all", "zone-2-3 unknown"}
	for p := range defenders {
		id := events.Token(fmt.Sprintf("d-%05d", p))
		f.players = append(f.players, player{id: id, team: "d", role: p % 3})
		f.index[id] = p
	}
	f.of, f.games = make([][]int, defenders), make([][]int, defenders)
	for g := range 2 * defenders {
		for a := range 200 {
			p := (g*5 + a%10) % defenders
			r := row{action: len(f.rows), chance: uint32(g*100 + a/2), game: uint32(g), player: p, kind: rng.IntN(len(events.Kinds)), facing: rng.IntN(3), scheme: rng.IntN(5), trial: 1, stop: definition.No}
			if rng.Float64() < 0.3+0.4*float64(p%7)/7 {
				r.stop = definition.Yes
			} else {
				r.reading = isBroken
			}
			f.of[p] = append(f.of[p], len(f.rows))
			if n := len(f.games[p]); n == 0 || f.games[p][n-1] != g {
				f.games[p] = append(f.games[p], g)
			}
			f.rows = append(f.rows, r)
		}
	}
	return s
}

// A fit of one target, from the judged actions to joint draws.
func BenchmarkModel(b *testing.B) {
	for _, n := range []int{50, 500} {
		s := league(b, n)
		b.Run(fmt.Sprintf("defenders=%d", n), func(b *testing.B) {
			for b.Loop() {
				m := model{target: Process}
				m.fit(s)
				if m.err != nil {
					b.Fatal(m.err)
				}
			}
		})
	}
}

// A fit that begins where the last one ended, as while a game is charted.
func BenchmarkRefit(b *testing.B) {
	s := league(b, 500)
	first := model{target: Process}
	if first.fit(s); first.err != nil {
		b.Fatal(first.err)
	}
	for i := len(s.film.rows) - 100; i < len(s.film.rows); i++ { // half a game more of ten men
		s.film.rows[i].reading = isBroken - s.film.rows[i].reading
	}
	for b.Loop() {
		m := model{target: Process, after: first.current()}
		if m.fit(s); m.err != nil {
			b.Fatal(m.err)
		}
	}
}

// Every assignment of one of many, the model being fitted and the field not yet
// summed up: what a page waits for when it is first opened.
func BenchmarkFieldOfARole(b *testing.B) {
	s := league(b, 500)
	m, err := s.model(Process)
	if err != nil {
		b.Fatal(err)
	}
	jobs, err := s.jobs(m)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f := roleField{}
		if f.fill(s, m, 0, jobs, s.scheme()); f.err != nil {
			b.Fatal(f.err)
		}
	}
}
