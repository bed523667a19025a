// Package metrics turns a folded season and a definition into numbers that say
// how much film is behind them. Everything here is a value made of values: no
// clock, no network, no disk, and the same columns and definition always give the
// same bytes.
//
// Begin with [Rates]: stop rates, points and readings of any grouping, with
// intervals on the sample that the film is really worth. For everything that
// borrows from the field make a [Study] of the columns and ask it:
//
//	Study.Rates          counts, and beside them the rate fitted to the film seen
//	Study.Project        a player in every assignment of the definition
//	Study.FilmPlan       what to watch next to settle what is not settled
//	Study.Field          the field of a kind and role, and how sure its order is
//	Study.Kinds          each kind against his peers, what costs most first
//	Study.ProcessResult  what he did against what the scoreboard made of it
//	Study.Profile        all of it, for a page or a printed report to lay out
//	Study.Evidence       the actions behind a number, the typical ones first
//
// A study judges every action once ([definition.Apply]), and fits the pooled model
// ([pooled.Fit]) to each target when a number first needs it: the process (how
// his actions read), which is the defender's own, and the result (stops), which
// takes five. While a game is charted, a study of the new columns with
// [StudyOptions].After solves only what changed.
//
// # How film becomes counts
//
// film.go decodes what the definition counts; cells.go sums it by defender, kind,
// opponent's role and scheme, and says what each cell is worth: weights over the
// design effect for the result, and for the process what readings tell as well.
// The correlation within games is estimated over the ledger, by kind.
//
// # What is compared with what
//
// A player's kinds are compared with his peers against the same roles in the same
// schemes as he was seen in; his projections with theirs in one scheme, at one
// level. Peers are the others of his role with film of what is asked, at least
// [MinPeers]; all comparisons are made draw by draw, so that what he and they have
// in common cancels. Where there are fewer, the definition's reference stands in,
// or there is no verdict.
//
// # Held against known truth
//
// Twelve seasons of 24 to 40 games invented by charting/synth, whose readings are
// drawn by a formula near the model's but not quite it (go test -run Truth
// -calibration.seasons 12): 80 % intervals held the truth of a cell that was seen
// in 76.4 % of 32,862, of a projection in 79.8 % of 7,084, and in 81.9 % of the
// 2,986 with film enough for a word. "Holds up" was true of 93.5 % of 1,006,
// "exposed" of 92.2 % of 741. Where the probability of being at least the peers'
// average was said to be
//
//	under 10 %, 10-20, 20-30, 30-40, 40-50, 50-60, 60-70, 70-80, 80-90, over 90 %
//
// it was so in 4, 19, 25, 33, 46, 58, 64, 73, 84 and 97 % of cases.
//
// Texts for people are made here, so that page, print and command line say the
// same; [Cautions] go with every projection.
package metrics
