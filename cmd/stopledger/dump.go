package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
)

func newDump(a *app) *cobra.Command {
	var out, peopleFile string
	c := &cobra.Command{
		Use:   "dump --ledger X",
		Short: "write a ledger out: its events, or a data frame with one row an action",
		Long: "As jsonl, writes every event byte for byte as it was stored. As csv or parquet,\n" +
			"writes one row for each action of the charts of record, with all that is known of\n" +
			"the chance, the game and both players.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "jsonl", "csv", "parquet")
	asOfFlag(c)
	c.Flags().StringVar(&out, "out", "-", "where it goes, - for standard output")
	c.Flags().StringVar(&peopleFile, "people", "", "where names and measurements go, as people.jsonl")
	c.RunE = func(c *cobra.Command, _ []string) error {
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		if peopleFile != "" {
			list, err := people(c.Context(), l)
			if err != nil {
				return err
			}
			if err := writeFile(peopleFile, func(w io.Writer) error { return events.WritePeople(w, list) }); err != nil {
				return err
			}
		}
		write := func(w io.Writer) error { return a.dump(c.Context(), l, w) }
		if out == "-" {
			return buffered(a.out, write)
		}
		return writeFile(out, write)
	}
	return c
}

func (a *app) dump(ctx context.Context, l *bus.Ledger, w io.Writer) error {
	if a.format != "jsonl" {
		return a.dumpFrame(ctx, l, w)
	}
	p := a.progress("events written")
	defer p.done()
	n, unreadable := 0, 0
	for e, err := range a.read(ctx, l) {
		var line *events.LineError
		switch {
		case errors.As(err, &line):
			unreadable++
			fmt.Fprintf(a.errs, "%s: not written: %v\n", l, err)
			continue
		case err != nil:
			return fmt.Errorf("read %s: %w", l, err)
		}
		if _, err := w.Write(append(e.Raw, '\n')); err != nil {
			return fmt.Errorf("write: %w", err)
		}
		n++
		p.at(n, 0)
	}
	if unreadable > 0 {
		return findingsError{fmt.Sprintf("%d entries of %s are no events and were not written; verify says where", unreadable, l)}
	}
	return nil
}
