// Package keep makes copies of a ledger, brings them back, and forgets people
// in both.
//
// A backup is a folder of plain files: events.jsonl is itself a ledger that
// every command reads. [Write] makes one, [Check] says whether it is as it was
// written, [Restore] brings it back into a ledger and compares the two by
// position and hash.
//
//	events.jsonl       every event that can be read, byte for byte, in its order
//	positions.txt      for each its position, the SHA-256 of its bytes, when it was stored
//	people.jsonl       names and measurements
//	definitions.jsonl  the bucket of that name
//	trail.jsonl        who changed what
//	manifest.json      written last: what the others must hash to
//
// Passes are not in it: a pass that was revoked since must not come back with a
// restore. Grant new ones.
//
// [Forget] erases what is known of a person. The trail keeps a hash of his code,
// and as every backup and every ledger carries its trail, a restore leaves out
// whoever was forgotten in either. A backup made before is told with
// [ForgetInBackup].
package keep
