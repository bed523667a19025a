package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"
)

// size says how much of everything.
type size struct {
	short bool
	seed  uint64
}

// of chooses between the long and the short run.
func (s size) of(long, short int) int {
	if s.short {
		return short
	}
	return long
}

// round is one way to torment a ledger, in a directory of its own.
type round struct {
	name string
	do   func(ctx context.Context, dir string, s size, r *row) error
}

var rounds = []round{
	{"eight pads chart, the server is killed", chartAndKill},
	{"a load is killed and run again", loadAndKill},
	{"pads offline past the duplicate window", offline},
	{"two tabs send one queue", twoTabs},
	{"clocks two minutes wrong, and set back", wrongClocks},
	{"a pad's storage is cleared", storageCleared},
	{"the disk is full, then has room", diskFull},
	{"the disk is read-only, then is not", diskReadOnly},
	{"the directory vanishes and comes back", vanished},
	{"bits flip in the store", bitFlips},
	{"the store's files are cut off", truncation},
	{"a cluster's leader is killed", leaderKilled},
	{"many processes open one directory", manyOpeners},
}

// row is what a round found.
type row struct {
	name       string
	times      int // kills, cuts, flips: whatever the round does to the ledger
	acked      int // events that a pad was told are safe
	lost       int // of these, not there
	doubled    int // stored more than once
	disordered int // stored behind a later one of the same pad
	findings   int // of the fold, beyond what an undisturbed run has
	took       time.Duration
	note       string
	wrong      []string
}

func (r *row) wrongf(format string, args ...any) {
	r.wrong = append(r.wrong, fmt.Sprintf(format, args...))
}

func (r *row) clean() bool {
	return r.lost == 0 && r.doubled == 0 && r.disordered == 0 && r.findings == 0 && len(r.wrong) == 0
}

// run plays a round in a new directory.
func run(ctx context.Context, one round, s size) (row, error) {
	r := row{name: one.name}
	dir, err := os.MkdirTemp("", "torture")
	if err != nil {
		return r, err
	}
	defer os.RemoveAll(dir)
	began := time.Now()
	err = one.do(ctx, dir, s, &r)
	r.took = time.Since(began)
	return r, err
}

func printHead(w io.Writer) {
	fmt.Fprintln(w, "| what is done to it | times | acknowledged | lost | doubled | out of order | findings | took | |")
	fmt.Fprintln(w, "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |")
}

func (r row) print(w io.Writer) {
	fmt.Fprintf(w, "| %s | %d | %d | %d | %d | %d | %d | %.0f s | %s |\n",
		r.name, r.times, r.acked, r.lost, r.doubled, r.disordered, r.findings, r.took.Seconds(), r.note)
}
