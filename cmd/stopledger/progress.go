package main

import (
	"fmt"
	"io"
	"time"
)

// progress tells a person how far long work has come, a few times a second. On
// anything but a terminal it is silent.
type progress struct {
	w     io.Writer
	what  string
	next  time.Time
	began time.Time
	shown bool
}

func (a *app) progress(what string) *progress {
	p := &progress{what: what, began: time.Now()}
	if a.onTerminal() {
		p.w = a.errs
	}
	return p
}

// at reports how much is done; of is 0 while the whole is not known.
func (p *progress) at(done, of int) {
	if p.w == nil || time.Now().Before(p.next) {
		return
	}
	p.next = time.Now().Add(200 * time.Millisecond)
	p.shown = true
	if of > 0 {
		fmt.Fprintf(p.w, "\r\x1b[K%s: %d of %d", p.what, done, of)
		return
	}
	fmt.Fprintf(p.w, "\r\x1b[K%s: %d", p.what, done)
}

// done clears the line.
func (p *progress) done() {
	if p.shown {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
