package metrics

import "fmt"

// Word is what is said of an assignment.
type Word string

// The words.
const (
	HoldsUp       Word = "holds up"
	Unsettled     Word = "unsettled"
	Exposed       Word = "exposed"
	NotEnoughFilm Word = "not enough film"
	// NoVerdict is said where there is nobody to compare with: fewer than
	// [MinPeers] peers, and no reference in the definition.
	NoVerdict Word = "no verdict"
)

// Words lists what may be said of an assignment.
func Words() []Word { return []Word{HoldsUp, Unsettled, Exposed, NotEnoughFilm, NoVerdict} }

// When a word is said.
const (
	Sure         = 0.80 // probability of being at least the peers' average; 1 - Sure for exposed
	MinOwnShare  = 0.5  // of a projection's variance that his own film has removed
	MinFilmGames = 2
	MinEffective = 8.0    // effective chances in what is asked
	MinCovered   = 1. / 3 // of an assignment, by its shares, in parts that he has any film of
)

// enough says what is missing before a word may be said, or "". covered is the
// part of what is asked that he has any film of.
func enough(ownShare, covered float64, film Counts) string {
	switch {
	case film.Actions == 0:
		return "no film of him doing any of this"
	case film.Games < MinFilmGames:
		return fmt.Sprintf("film of %s only; it takes %d", games(film.Games), MinFilmGames)
	case film.Effective < MinEffective:
		return fmt.Sprintf("%s worth %s effective; it takes %.0f", chances(film.Chances), worth(film.Effective), MinEffective)
	case covered < MinCovered:
		return fmt.Sprintf("film of only %s of what is asked; it takes %s", percent(covered), percent(MinCovered))
	case ownShare < MinOwnShare:
		return fmt.Sprintf("only %s of what is known here comes from his own film; it takes %s", percent(ownShare), percent(MinOwnShare))
	}
	return ""
}

// decide chooses the word.
func decide(ownShare, covered float64, film Counts, better *float64) (Word, string) {
	if lack := enough(ownShare, covered, film); lack != "" {
		return NotEnoughFilm, lack
	}
	switch {
	case better == nil:
		return NoVerdict, fmt.Sprintf("fewer than %d others of his role have film of this, and the definition states no reference", MinPeers)
	case *better >= Sure:
		return HoldsUp, fmt.Sprintf("%s likely at least as good as the field", likely(*better))
	case *better <= 1-Sure:
		return Exposed, fmt.Sprintf("%s likely below the field", likely(1-*better))
	}
	return Unsettled, fmt.Sprintf("%s likely at least as good as the field; a word takes %s either way", likely(*better), percent(Sure))
}
