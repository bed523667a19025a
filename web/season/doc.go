// Package season keeps the ledger's games in columns for the pages: the season
// as it is now, as it was, and the part of it that a page asks for, each with
// the study of it under a definition.
//
// Begin with New; Room.Now gives the season as it stands, Room.Past as it
// stood. A View is a value: a page that holds one is not disturbed by what is
// charted meanwhile. Only games that changed are laid out anew.
package season
