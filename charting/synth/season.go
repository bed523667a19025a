package synth

import (
	"encoding/json"
	"fmt"
	"iter"
	"runtime"

	"stopledger/events"
)

// Options say which season to invent.
type Options struct {
	Seed          uint64
	Games         int          // 1 to 3000
	DoubleCharted float64      // share of games with a second chart, 0 to 1
	FocusOn       events.Token // whose focus charts there are; empty: the flattered prospect's
}

// maxGames bounds the calendar: beyond it dates and seasons lose their sense.
const maxGames = 3000

// Defaults is a season of a size a person can look through.
func Defaults() Options { return Options{Seed: 1, Games: 40, DoubleCharted: 0.1} }

// Season is an invented season. It holds the league and its truth; games are
// played and charted as [Season.Events] streams them, so it stays small
// however many there are.
type Season struct {
	options Options
	teams   [teamCount]*team
	effects effects
}

// New invents a league and draws its truth. The first games of a season do not
// depend on how many follow.
func New(o Options) (*Season, error) {
	switch {
	case o.Games < 1 || o.Games > maxGames:
		return nil, fmt.Errorf("games: %d; want 1 to %d", o.Games, maxGames)
	case !(o.DoubleCharted >= 0 && o.DoubleCharted <= 1):
		return nil, fmt.Errorf("double charted: %g; want a share from 0 to 1", o.DoubleCharted)
	}
	s := &Season{options: o}
	d := newDice(o.Seed, streamLeague)
	s.makeEffects(d)
	s.makeLeague(d)
	if o.FocusOn == "" {
		s.options.FocusOn = s.named(FlatteredByResults).id
	} else if s.player(o.FocusOn) == nil {
		return nil, fmt.Errorf("focus on: %q plays in no invented team; players of seed %d are %s and the like", o.FocusOn, o.Seed, s.teams[0].players[0].id)
	}
	return s, nil
}

// Options returns what the season was made from, with its defaults filled in.
func (s *Season) Options() Options { return s.options }

// Events streams the season game by game, each event with its stored bytes in
// Raw: the game's main chart first, then what was charted later. The same
// options give the same bytes. An error would be a mistake of this package.
func (s *Season) Events() iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for game := range s.inOrder() {
			for _, e := range game.events {
				if !yield(e, game.err) {
					return
				}
			}
		}
	}
}

// charted is one game's events in the order they were recorded chart by chart.
type charted struct {
	events []events.Event
	err    error
}

// inOrder charts games ahead on every processor and hands them over in order.
// Only a few games are in memory at a time.
func (s *Season) inOrder() iter.Seq[charted] {
	return func(yield func(charted) bool) {
		ahead := max(1, runtime.GOMAXPROCS(0))
		queue := make(chan chan charted, ahead)
		stop := make(chan struct{})
		defer close(stop)
		go func() {
			defer close(queue)
			for i := range s.options.Games {
				slot := make(chan charted, 1)
				select {
				case queue <- slot:
					go func() { slot <- s.chartGame(i) }()
				case <-stop:
					return
				}
			}
		}()
		for slot := range queue {
			if !yield(<-slot) {
				return
			}
		}
	}
}

// chartGame plays a game and charts it.
func (s *Season) chartGame(i int) charted {
	book := s.book(s.plan(i))
	for j := range book.events {
		raw, err := json.Marshal(&book.events[j])
		if err != nil {
			return charted{book.events[j : j+1], fmt.Errorf("write an event of game %d: %w", i, err)}
		}
		book.events[j].Raw = raw
	}
	return charted{book.events, nil}
}

func (s *Season) named(story Story) *player {
	for _, t := range s.teams {
		for _, p := range t.players {
			if p.story == story {
				return p
			}
		}
	}
	return nil
}
