// Package outline reads official play-by-play into a chart whose chances are
// already there, so that a charter adds only what the defence did.
//
// Call [Read] on a plays.csv, then [Feed.Events] for the events of the game.
// The columns are period, clock, team, play, made, of, player, by and note;
// testdata/plays/README.md says what stands in them.
//
// What stays true whatever the file holds: every shot, free throw, turnover and
// individual rebound that a row gives to a team is in the events exactly once,
// so that the fold's totals are the official ones. Where the rows contradict each other
// the counts win and a [Remark] says what was made of the row. What no row says
// is never guessed into a count: a rebound nobody recorded is a team's rebound,
// a lost ball without its turnover row ends no chance.
//
// The work goes in one direction:
//
//	read     text to rows            order    rows to the order of play
//	trips    free throws to trips    rebounds each rebound to its miss
//	walk     plays to chances        lineups  who must have been on the floor
//	emit     all of it to events     count    events against rows
package outline
