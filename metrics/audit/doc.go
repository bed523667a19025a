// Package audit is where a chart earns trust before anyone quotes it: is it
// complete, does it add up to the official totals, and would another charter
// have charted it alike?
//
// Call [Review] for one chart of a folded game: findings with place and likely
// cause, how much of the game it covers, and the official totals line by line
// with the likeliest explanation of a difference. Call [Agree] for two or more
// charts of one game: what each saw, and how alike they labelled what both saw.
// [Agreement.Settle] turns their disagreements into choices, ordered by how far
// each moves a number ([Settling.Weigh]), and into the events of a new chart
// ([Settling.Events]). [Charters] follows the people over a season, [Train]
// holds a learner's chart against a settled one.
//
// Every rule follows what a chart set out to hold (chart-scoped): a one-player
// chart is not blamed for the other nine, a chart of one half not for the other.
// Two charts are compared in what both set out to hold and nowhere else.
//
// Charts are aligned without their ids: chances by period and clock after one
// constant offset between the two clocks was found, then actions within a chance
// by an assignment. Nothing here is NaN; where a figure cannot be had it is
// absent, and a note beside it says why.
//
// There is no clock, network or disk here: folded charts in, plain values out,
// which encode as JSON.
package audit
