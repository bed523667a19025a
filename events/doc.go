// Package events is what a charter writes down: the vocabulary, the event, its
// checks, its JSON, its digest.
//
// Begin with [Kinds], the table of the twelve things a defender is asked to do
// and of how each may end. Pad keys, validation, the JSON Schema ([Schema]) and
// the vocabulary document ([Handbook]) are all made from that table and from
// the word lists beside it, so adding an outcome is a change in one place.
//
// An [Event] is a fact that somebody charted. It is appended to the ledger and
// never edited; later events correct earlier ones. [Decode] reads one JSON
// line, [Check] says whether it may enter the ledger, [Seal] turns a new event
// into the bytes that are stored. What was read is kept byte for byte in
// [Event.Raw], so fields this version does not know, and events of a version
// newer than [Version], pass through untouched.
//
// The package has no clock, no network and no disk of its own, and imports
// nothing else of this project.
package events
