package synth

import (
	"math"
	"math/rand/v2"
)

// dice is a seeded source. Each game, charter and truth table draws from a
// stream of its own, so that one may change without moving the others.
type dice struct{ *rand.Rand }

// The streams. Those of a game are offset by the game's number.
const (
	streamLeague  uint64 = 1 << 32 * iota
	streamPlan           // which games are double charted, filmed, slipped in
	streamPlay           // what happens on the floor
	streamMain           // what the main charter makes of it
	streamSecond         // and the second
	streamFocus          // and the one who watches a single player
	streamMeasure        // the simulation behind the truth's result tables
)

func newDice(seed, stream uint64) dice {
	return dice{rand.New(rand.NewPCG(seed, stream*0x9e3779b97f4a7c15+1))}
}

// odds is true with probability p.
func (d dice) odds(p float64) bool { return d.Float64() < p }

// between is uniform on [lo, hi).
func (d dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// normal draws from a normal distribution.
func (d dice) normal(mean, sd float64) float64 { return mean + sd*d.NormFloat64() }

// pick chooses an index by weight; weights need not sum to one.
func (d dice) pick(weights ...float64) int {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	u := d.Float64() * sum
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// word is one weighted word.
type word struct {
	word   string
	weight float64
}

// say chooses a word by weight.
func (d dice) say(words ...word) string {
	var sum float64
	for _, w := range words {
		sum += w.weight
	}
	u := d.Float64() * sum
	for _, w := range words {
		if u -= w.weight; u < 0 {
			return w.word
		}
	}
	return words[len(words)-1].word
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
func logit(p float64) float64    { return math.Log(p / (1 - p)) }

// tenth rounds to a tenth, as a game clock shows it.
func tenth(x float64) float64 { return math.Round(x*10) / 10 }
