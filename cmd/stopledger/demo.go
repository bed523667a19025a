package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"stopledger/charting/synth"
	"stopledger/events/bus"
)

func newDemo(a *app) *cobra.Command {
	var listen string
	o := synth.Defaults()
	c := &cobra.Command{
		Use:   "demo",
		Short: "serve an invented season, to look around",
		Long: "Makes a ledger with an invented season, serves it on this machine and prints the\n" +
			"links. Run again, it goes on with the same ledger and whatever was charted in it.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			l, err := a.openForWriting(c.Context())
			if err != nil {
				return err
			}
			defer l.Close()
			if err := a.fillDemo(c.Context(), l, o); err != nil {
				return err
			}
			fmt.Fprintln(a.out, inventedNotice)
			return a.serve(c.Context(), l, listen)
		},
	}
	c.Flags().String("ledger", "ledger/demo", "the directory of the demo's ledger")
	c.Flags().StringVar(&listen, "listen", "127.0.0.1:8080", "a loopback address; port 0 takes a free one")
	c.Flags().IntVar(&o.Games, "games", o.Games, "how many games, 1 to 3000; 0 for none, to chart your own")
	c.Flags().Uint64Var(&o.Seed, "seed", o.Seed, "the season to invent")
	return c
}

func (a *app) fillDemo(ctx context.Context, l *bus.Ledger, o synth.Options) error {
	if o.Games == 0 {
		return nil
	}
	season, err := synth.New(o)
	if err != nil {
		return err
	}
	p := a.progress("invented events loaded")
	r, err := l.Load(ctx, season.Events(), func(r bus.LoadReport) { p.at(r.Read, 0) })
	p.done()
	if err != nil {
		return fmt.Errorf("load the invented season: %w", err)
	}
	fmt.Fprintf(a.errs, "%d events of %d invented games, %d of them new\n", r.Read, o.Games, r.Added)
	_, err = putPeople(ctx, l, season.People())
	return err
}
