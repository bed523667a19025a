package main

import (
	"bufio"
	"io"
	"iter"

	"stopledger/events"
)

// buffered writes through a buffer and flushes it.
func buffered(to io.Writer, write func(io.Writer) error) error {
	w := bufio.NewWriterSize(to, 1<<18)
	if err := write(w); err != nil {
		w.Flush() // what came before the error is still worth having
		return err
	}
	return w.Flush()
}

// sequence yields events that are in memory.
func sequence(list []events.Event) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	}
}

// counted counts events as they pass.
func counted(in iter.Seq2[events.Event, error], n *int, p *progress) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for e, err := range in {
			if err == nil {
				*n++
				p.at(*n, 0)
			}
			if !yield(e, err) {
				return
			}
		}
	}
}
