// Package metrics turns a folded season and a definition into numbers that say
// how much film is behind them.
//
// Begin with [Rates]: stop rates, points and readings of any grouping, with
// intervals on the sample that the film is really worth. Everything here is a
// value made of values: no clock, no network, no disk, and the same columns and
// definition always give the same bytes.
package metrics
