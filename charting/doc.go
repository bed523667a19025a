// Package charting is a charting session as a pure state machine: commands in,
// events out, no clock, network or disk.
//
// [Open] takes a seat at a chart with the events that are known of it. Tell the
// session where the game stands with [Session.At], then give commands:
// [Session.Begin] a chance, [Session.Act], [Session.End], [Session.Substitute]
// and so on. Each returns the events to append, numbered for this pad, or a
// [*events.FieldError] that names the field and the reason, and then nothing has
// changed. [Session.Next] says which commands may come and what they default
// to. Mistakes are put right by corrections only: [Session.Undo],
// [Session.Amend], [Session.Reassign], [Session.Split], [Session.Join].
//
// A session refuses what its own chart contradicts. What is merely odd (a
// defender who is not in the line-up) it lets pass, as the Pad must: the man on
// the floor is right and the line-up wrong, and the fold has a finding for it.
//
// [Gate] is the other side: what a server checks of an event that a pad sent.
package charting
