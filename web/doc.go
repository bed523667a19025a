// Package web puts the ledger on the network: the Pad's and the Board's
// websockets, a JSON API for the pages, and the pages themselves.
//
// Begin with [New], which takes a [Config] and gives a [Server]; call
// [Server.Serve] with a listener. The server reads the whole ledger once,
// follows it, and answers from what it has read, so that events appended by
// another process show up as its own do:
//
//	pad ──append──▶ gate ──▶ ledger ──follow──▶ desk ──▶ pads of the chart, boards
//
// A request passes the same stations in this order, one file each: guard.go
// (host, headers, how much and how fast), access.go (who asks), routes.go
// (what for). Errors become HTTP codes in errors.go and nowhere else.
package web
