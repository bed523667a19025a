// Package film finds charted play on film and writes clip lists that an editor
// or a player can open.
//
// [Film] holds what ties a film to the game clock: its anchors. [Film.Place]
// turns a moment of play into a film time with a stated doubt; [Cut] turns
// chances into one clip list a film; the writers ([WriteWebVTT], [EDL],
// [WriteOTIO], [WriteLinks], [WriteCutScript]) put a list into open formats.
// Every writer carries the notice in [Options.Mark] where a reader of the result
// will see it.
//
// Film times are seconds from the film's first frame, which every format here
// counts as 00:00:00:00. Frame arithmetic is exact: see [Rate]. The package takes
// plain values and touches no ledger, clock, network or disk.
package film
