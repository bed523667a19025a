// Package access keeps who may do what: passes, each opened by a link with an
// unguessable key and worn as a token by the devices that opened it. It knows
// no HTTP; package web hands it keys and tokens.
//
// Begin with [Open] over the ledger's bucket of that name. [Book.Grant] makes a
// pass and its key, [Book.Enter] changes the key into a device's token,
// [Book.Who] says whose token it is, [Book.Revoke] ends a pass at once, in every
// process that follows the same ledger with [Book.Follow].
//
// # What is stored
//
// One value a pass, under its id. Of keys and tokens only the SHA-256 is kept:
// both are 256 random bits, which no dictionary holds, so that a slow hash
// would add nothing. Who copies the bucket learns who may do what and cannot do
// it himself.
//
// A link opens as many devices as its pass allows, one by default, and is spent
// then: found later in a mailbox or a browser's history it opens nothing.
package access
