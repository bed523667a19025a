// Package replay folds the ledger: events in, games with their possessions,
// chances and actions out, together with findings about the charting.
//
// Call [Fold] for everything at once, or keep a [Live] season and hand it one
// event at a time; both fold a game with the same function over the same set
// of events, so live equals batch by construction. The fold is a function of
// the set: no result depends on the order in which events arrived, or on how
// often.
//
// A game's fold runs in four steps, one file each:
//
//	gather.go     the set: each id once, its corrections attached
//	revisions.go  corrections as a tree; what stands in the end
//	order.go      the order of play: (period, −clock, pad, n) and "after"
//	chart.go      a walk through the standing facts in that order
//
// and what follows from the sequence is worked out behind it (sequence.go,
// exposure.go, totals.go). [Columns] lays the charts of record out in
// dictionary-coded columns, one table for games, chances, actions and players,
// for whoever evaluates expressions over millions of rows.
//
// There is no clock, no network and no disk here.
package replay

// Version counts changes to what the fold says about the same events. Caches
// name it.
const Version = 2
