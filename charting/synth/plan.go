package synth

import (
	"fmt"
	"math"
	"time"

	"stopledger/events"
)

// plan is what is settled about a game before it is played: who meets whom and
// when, who charts it and from what.
type plan struct {
	game    int
	stream  uint64 // of the dice it is played with
	round   int    // from 0
	id      events.Token
	home    *team
	away    *team
	rules   events.Rules
	tip     time.Time
	charter events.Token
	film    filmKind
	second  *habits // the second charter; nil: the game is charted once
	focus   bool
	slip    slip
}

// filmKind says whether there is film of a game.
type filmKind int

const (
	noFilm    filmKind = iota
	broadcast          // runs through the dead time
	cut                // only while the clock runs
	fromFilm           // broadcast, and the main chart was made from it
)

// slip is a mistake the main charter never put right, so that the chart does
// not add up to the official totals.
type slip string

const (
	noSlip       slip = ""
	threeAsTwo   slip = "three-charted-as-two"
	lostShot     slip = "free-throw-not-charted"
	wrongRebound slip = "defensive-rebound-charted-as-team-rebound"
	noTotals     slip = "no-totals-entered"
)

// The invented season lies in the past, so that whatever is charted on it today
// is minted later, as corrections and adoptions are.
var opening = time.Date(2021, time.October, 3, 0, 0, 0, 0, time.UTC)

// circle is the round robin's order: neighbours in the first round are the
// teams of the two prospects, and of the two switching bigs.
var circle = [teamCount]int{0, 2, 4, 6, 7, 5, 3, 1}

var mainCharters = []events.Token{"ana", "bo", "cleo", "dov"}

func (s *Season) plan(i int) plan {
	d := newDice(s.options.Seed, streamPlan+uint64(i))
	p := plan{game: i, stream: streamPlay, round: i / (teamCount / 2)}
	p.home, p.away = s.pairing(p.round, i%(teamCount/2))
	p.rules, _ = events.RuleSet("fiba")
	day := opening.AddDate(0, 0, p.round*2)
	p.tip = day.Add(time.Duration(17*60+30*d.IntN(7)) * time.Minute)
	p.id = events.Token(fmt.Sprintf("%s-%s-%s", p.home.id, p.away.id, day.Format(time.DateOnly)))
	p.charter = mainCharters[d.IntN(len(mainCharters))]
	p.film = []filmKind{noFilm, broadcast, cut, fromFilm}[d.pick(0.45, 0.2, 0.2, 0.15)]
	if share := s.options.DoubleCharted; math.Ceil(float64(i+1)*share) > math.Ceil(float64(i)*share) {
		p.second = &secondCharters[d.IntN(len(secondCharters))]
		if p.film == noFilm {
			p.film = broadcast
		}
	}
	if watched := s.player(s.options.FocusOn).team; watched == p.home.index || watched == p.away.index {
		if p.focus = d.odds(0.3); p.focus && p.film == noFilm {
			p.film = cut
		}
	}
	p.slip = slipOf(i)
	return p
}

// slipOf leaves a mistake in one game of sixteen, each sort in turn, and goes
// without official totals in one of twelve.
func slipOf(game int) slip {
	switch {
	case game%16 == 7:
		return []slip{threeAsTwo, lostShot, wrongRebound}[game/16%3]
	case game%12 == 10:
		return noTotals
	}
	return noSlip
}

// pairing is the circle method: one team stands still, the others go round.
// Every seven rounds home and away change over.
func (s *Season) pairing(round, n int) (home, away *team) {
	turn := func(seat int) int {
		if seat == 0 {
			return circle[0]
		}
		return circle[1+(seat-1+round)%(teamCount-1)]
	}
	a, b := s.teams[turn(n)], s.teams[turn(teamCount-1-n)]
	if (round%(teamCount-1)+round/(teamCount-1)+n)%2 == 1 {
		a, b = b, a
	}
	return a, b
}
