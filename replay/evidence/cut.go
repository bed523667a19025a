package evidence

import (
	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/film"
)

// Mark is the notice of clips of invented games.
const Mark = "INVENTED demo data, no real players"

// Reel is the clips of one film of one game.
type Reel struct {
	Game     events.Token `json:"game"`
	Match    string       `json:"match"`
	Invented bool         `json:"invented,omitempty"`
	film.List
}

// Left is a chance that no film shows, and why.
type Left struct {
	Game   events.Token `json:"game"`
	Chance events.ID    `json:"chance"`
	Title  string       `json:"title"`
	Why    string       `json:"why"`
}

// Cut turns rows into one clip list for each film of each game, in the order of
// the games given. What cannot be shown comes back with the reason.
func Cut(games []*replay.Game, rows []Row, m film.Margins) ([]Reel, []Left) {
	byGame := map[events.Token][]*Row{}
	for i := range rows {
		byGame[rows[i].Game] = append(byGame[rows[i].Game], &rows[i])
	}
	reels, left := []Reel{}, []Left{}
	for _, g := range games {
		of := byGame[g.ID]
		c := g.OfRecord()
		if len(of) == 0 || c == nil {
			continue
		}
		chances := make([]film.Chance, len(of))
		for i, r := range of {
			chances[i] = film.Chance{From: r.from, To: r.to, Title: r.Title(), Note: r.Note()}
		}
		lists, without := film.Cut(filmsOf(c), chances, m)
		for _, l := range lists {
			reels = append(reels, Reel{Game: g.ID, Match: of[0].Match(), Invented: of[0].Invented, List: l})
		}
		for _, w := range without {
			r := of[w.Chance]
			left = append(left, Left{Game: r.Game, Chance: r.Chance, Title: w.Title, Why: w.Why})
		}
	}
	return reels, left
}
