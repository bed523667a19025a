package evidence

import (
	"slices"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// Want says which chances of the charts of record are meant. A list that is
// empty asks nothing. A chance is found if one action of it is everything that
// is asked of an action, or, where nothing is asked of one, for itself.
type Want struct {
	Games     []events.Token
	Chances   []events.ID
	Players   []events.Token // defenders
	Opponents []events.Token
	Roles     []events.Role // of the opponent
	Kinds     []events.Kind
	Outcomes  []events.Outcome
	Readings  []events.Reading
}

// Find picks the chances of folded games, by date, game and order of play. The
// actions that were asked for are marked.
func Find(games []*replay.Game, w Want) []Row {
	rows := []Row{}
	for _, g := range games {
		if c := g.OfRecord(); c != nil && among(w.Games, g.ID) {
			rows = append(rows, w.inGame(g, c)...)
		}
	}
	Sort(rows)
	return rows
}

func (w Want) inGame(g *replay.Game, c *replay.Chart) []Row {
	roles := map[events.Token]events.Role{}
	for _, p := range g.Info.Players {
		roles[p.ID] = p.Role
	}
	asked := func(a *replay.Action) bool {
		return w.ofActions() && among(w.Players, a.Defender) && among(w.Opponents, a.Opponent) && among(w.Roles, roles[a.Opponent]) &&
			among(w.Kinds, a.Kind) && among(w.Outcomes, a.Outcome) && among(w.Readings, a.Reading)
	}
	var films []film.Film
	var rows []Row
	for i := range c.Chances {
		ch := &c.Chances[i]
		if !among(w.Chances, ch.ID) || w.ofActions() && !anyAction(c, ch, asked) {
			continue
		}
		if films == nil {
			films = filmsOf(c)
		}
		rows = append(rows, rowOf(g, c, i, films, asked))
	}
	return rows
}

// ofActions reports whether anything is asked of an action.
func (w Want) ofActions() bool {
	return len(w.Players)+len(w.Opponents)+len(w.Roles)+len(w.Kinds)+len(w.Outcomes)+len(w.Readings) > 0
}

func anyAction(c *replay.Chart, ch *replay.Chance, is func(*replay.Action) bool) bool {
	for j := ch.First; j < ch.First+ch.Actions; j++ {
		if is(&c.Actions[j]) {
			return true
		}
	}
	return false
}

func among[T comparable](list []T, v T) bool { return len(list) == 0 || slices.Contains(list, v) }

// Untested lists the chances of folded games in which a player was on the floor
// on defence, as far as line-ups are known, and nobody tried him.
func Untested(games []*replay.Game, player events.Token) []Row {
	rows := []Row{}
	for _, g := range games {
		c := g.OfRecord()
		if c == nil {
			continue
		}
		films := filmsOf(c)
		for i := range c.Chances {
			ch := &c.Chances[i]
			if !ch.Opportunity() || !slices.Contains(ch.OnFloor, player) {
				continue
			}
			if !anyAction(c, ch, func(a *replay.Action) bool { return a.Defender == player }) {
				rows = append(rows, rowOf(g, c, i, films, func(*replay.Action) bool { return false }))
			}
		}
	}
	Sort(rows)
	return rows
}
