// Command torture charts into a ledger while everything goes wrong on purpose:
// the server is killed again and again, disks fill up and vanish, bits flip. It
// counts what was lost, doubled or out of order, prints a table and exits with
// 1 if any of these is not zero.
//
//	go run ./web/torture            # everything, some minutes
//	go run ./web/torture -short     # what go test runs
//
// The server is a process of its own, this same program with another part to
// play; pads are clients that follow the rules of the Pad: what is not
// acknowledged is kept and sent again, in order, over one line per chart. All
// of it stays on this machine and on loopback.
package main
