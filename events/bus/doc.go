// Package bus keeps the ledger: the append-only log of everything charted, on
// NATS JetStream. Nothing above this package knows that.
//
// Begin with [Open]. It takes a directory (the server then runs inside this
// process and listens on no port), a nats:// address of an existing server or
// cluster, or a .jsonl file, which can only be read. [Ledger.Append] returns
// when an event is safe on disk; [Ledger.Load] brings in many at once;
// [Ledger.Read] and [Ledger.ReadGame] give what is there, [Ledger.Follow] goes
// on with what comes. [Ledger.Bucket] opens what may be changed or erased:
// definitions, people, access keys.
//
// # One opener
//
// The embedded server takes no lock of its own: two of them on one directory
// both acknowledge, and one loses its events. So whoever opens a directory
// first takes an exclusive lock on DIR/lock and serves DIR/ledger.sock, and a
// process that finds the lock held works through that socket. When the process
// that serves ends or dies, one of the others takes its place. The lock belongs
// to the process, not to a file's presence: after a crash it is free. A
// directory on a network file system must not be used.
//
// # What "safe" means
//
// The embedded server writes through to the disk before it acknowledges. A
// load does so once for each batch of up to 1,000 events, all or none of them.
// What a server at a nats:// address does before it acknowledges is that
// server's configuration.
//
// The server cuts a damaged file off at the first place it cannot read. Before
// it opens a directory, damaged files are therefore copied to DIR/damaged, and
// the sound events behind the damage are stored again. [Ledger.Inspect] tells.
//
// # Duplicates
//
// The server drops a message whose message id it has seen within its window of
// two minutes, and acknowledges it as if stored. With the event's id alone as
// message id, a second event of the same id and other content would vanish
// that way, acknowledged. So the message id is the event's id and the beginning
// of the SHA-256 of its bytes: a repeated event is recognised, a conflicting
// one is stored, and the fold reports it. Beyond the window a repeated Append
// stores the event again; every reader takes the same id and bytes for one event.
package bus
