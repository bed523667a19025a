package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/events/bus/keep"
)

func newLoad(a *app) *cobra.Command {
	var people string
	c := &cobra.Command{
		Use:   "load --ledger X FILE.jsonl…",
		Short: "add the events of files to a ledger",
		Long: "Adds every event that the ledger does not have. It says done only when all of them\n" +
			"are safe on disk; a load that was killed is run again and adds what was missing.\n" +
			"- reads standard input.",
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, files []string) error {
			if len(files) == 0 && people == "" {
				return fmt.Errorf("name a FILE.jsonl to load, or --people FILE")
			}
			l, err := a.openForWriting(c.Context())
			if err != nil {
				return err
			}
			defer l.Close()
			if people != "" {
				if err := a.loadPeople(c.Context(), l, people); err != nil {
					return err
				}
			}
			return a.loadFiles(c.Context(), l, files)
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&people, "people", "", "a people.jsonl with names and measurements")
	return c
}

func (a *app) loadFiles(ctx context.Context, l *bus.Ledger, files []string) error {
	refused := 0
	for _, name := range files {
		r, err := a.loadFile(ctx, l, name)
		if err != nil {
			return fmt.Errorf("load %s: %w; run the same command again to go on from there", name, err)
		}
		fmt.Fprintf(a.out, "%s: %d read, %d added, %d already there", name, r.Read, r.Added, r.AlreadyThere)
		if n := len(r.Conflicting); n > 0 {
			fmt.Fprintf(a.out, ", %d with an id that is there with other contents (kept; see verify)", n)
		}
		fmt.Fprintln(a.out)
		for _, bad := range r.Refused {
			refused++
			fmt.Fprintf(a.errs, "%s: line %d refused: %v\n", name, bad.Line, bad.Err)
		}
	}
	if refused > 0 {
		return findingsError{fmt.Sprintf("%d lines were refused; the others are in the ledger", refused)}
	}
	return nil
}

func (a *app) loadFile(ctx context.Context, l *bus.Ledger, name string) (bus.LoadReport, error) {
	var in io.Reader = a.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return bus.LoadReport{}, err
		}
		defer f.Close()
		in = f
	}
	p := a.progress("events loaded")
	defer p.done()
	return l.Load(ctx, events.ReadLines(in), func(r bus.LoadReport) { p.at(r.Read, 0) })
}

func (a *app) loadPeople(ctx context.Context, l *bus.Ledger, name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	list, err := events.ReadPeople(f)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	gone, err := putPeople(ctx, l, list)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s: %d people\n", name, len(list)-len(gone))
	if len(gone) > 0 {
		return findingsError{fmt.Sprintf("%d people of %s were forgotten and are left out: %v; after new consent: stopledger forget --lift", len(gone), name, gone)}
	}
	return nil
}

// putPeople keeps people and returns who was left out because he was forgotten.
func putPeople(ctx context.Context, l *bus.Ledger, list []events.Person) (gone []events.Token, err error) {
	bucket, err := l.Bucket(ctx, bus.People)
	if err != nil {
		return nil, fmt.Errorf("open the people of %s: %w", l, err)
	}
	forgotten, err := keep.Forgotten(ctx, l)
	if err != nil {
		return nil, err
	}
	for _, p := range list {
		if forgotten.Has(p.ID) {
			gone = append(gone, p.ID)
			continue
		}
		text, err := json.Marshal(p)
		if err != nil {
			return gone, err
		}
		if _, err := bucket.Put(ctx, string(p.ID), text, bus.AnyRevision); err != nil {
			return gone, fmt.Errorf("keep %s: %w", p.ID, err)
		}
	}
	return gone, nil
}
