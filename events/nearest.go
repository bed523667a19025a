package events

import (
	"fmt"
	"strings"
)

// Nearest returns the word closest to a misspelt one, or "" when none is
// close: more than about a third of the letters would have to change.
func Nearest(word string, words []string) string {
	best, at := "", len(word)/3+2
	for _, w := range words {
		if d := editDistance(strings.ToLower(word), w, at); d < at {
			best, at = w, d
		}
	}
	return best
}

// editDistance is Levenshtein's distance, given up at limit.
func editDistance(a, b string, limit int) int {
	if d := len(a) - len(b); d >= limit || -d >= limit {
		return limit
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal = row[j]
			row[j] = min(change, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}

// notAWord says why a word is refused, and what may have been meant.
func notAWord(word string, words []string) string {
	if near := Nearest(word, words); near != "" {
		return fmt.Sprintf("%q is not a word of the vocabulary; did you mean %q?", word, near)
	}
	return fmt.Sprintf("%q is not a word of the vocabulary; want one of %s", word, strings.Join(words, ", "))
}
