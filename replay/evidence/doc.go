// Package evidence opens the chances behind a number: which game, when, the
// score, what happened in order, and where it is on film.
//
// Find picks chances out of folded games; Of looks up those that a count was
// made of. Cut turns them into one clip list for each film, and Write puts a
// list into any of the open formats of package film. A chance that cannot be
// shown is never left out without a word: it comes back with the reason.
//
// There is no clock, no network and no disk here.
package evidence
