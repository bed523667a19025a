// Package definition reads the files that say which chances and actions count,
// what a stop is and who answers for points, and applies them to columns.
//
// [Parse] reads a definition (YAML with expressions in CEL, the Common
// Expression Language) and refuses whatever is not exactly right, with line,
// column and the nearest right word. [Shipped] are the definitions that come
// with the program; [Check] runs a definition's own worked examples. [Apply]
// gives a verdict on every action of a [replay.Columns]; [Tally] goes straight
// to a table of groups without keeping the verdicts; an [Explainer] says which rules
// make two definitions differ on an action.
//
// # How an expression is read
//
// An expression sees six things: chance, possession, action, defender,
// opponent and game, each with the fields of [FieldDocs]. There is one kind of
// number: 1 and 1.0 are the same, and 1 / 2 is a half. A word compared with a
// field of a closed list must be one of that list. A field that a row does not
// have leaves the expression undecided, unless the rest of it decides anyway:
// what is false and unknown is false, what is true or unknown is true, and
// has(chance.margin) asks. A division by zero that can be seen in the file is
// refused; one that depends on the row leaves the row undecided, with the
// reason. Undecided rows are never counted and never false; they are counted
// by expression and reason.
//
// # Trials
//
// A trial is (chance, defender, kind), once, whatever number of actions it is
// made of. It reads as the worst of its actions (broken, even, held, unclear),
// because a man beaten once in a chance was beaten in it, whenever it was; what
// he did afterwards shows in his second efforts. The first action of that
// reading stands for the trial: its group, its stop. The trial weighs one over
// the number of its defender's trials in the chance. Only actions that count
// make trials.
//
// # Points
//
// An action answers for cost x weight / sum of the weights, over the actions
// of its chance that count and whose kinds share the cost expression. What
// nobody answers for, and what an action without a defender would, is the
// team's account, so that default cost always adds up. A kind with a cost of
// its own (a box-out's points after) is a separate account beside it.
//
// # How it is fast
//
// An expression is evaluated once for each distinct combination of the fields
// it names. Chances are first sorted into classes, then every row looks its
// verdict up by chance class, action codes and players' codes in one table
// filled as combinations appear (engine.go). What does not fit a table is looked
// up by hash or evaluated row by row (memo.go).
package definition
