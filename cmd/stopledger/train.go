package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"stopledger/metrics/audit"
)

func newTrain(a *app) *cobra.Command {
	var game, learner, settled string
	c := &cobra.Command{
		Use:   "train --ledger X --game G --chart LEARNER --against SETTLED",
		Short: "where a learner's chart differs from a settled one",
		Args:  cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	gameFlag(c, &game)
	c.Flags().StringVar(&learner, "chart", "", "the learner's chart")
	c.Flags().StringVar(&settled, "against", "", "the settled chart; else the chart of record")
	must(c.MarkFlagRequired("chart"))
	c.RunE = func(c *cobra.Command, _ []string) error {
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		g, err := a.oneGame(c.Context(), l, game)
		if err != nil {
			return err
		}
		if settled == "" {
			settled = string(g.Record)
		}
		charts, err := chartsOf(g, learner+","+settled)
		if err != nil {
			return err
		}
		if charts[0] == charts[1] {
			return fmt.Errorf("--chart %s is the chart it would be held against; name another with --against", learner)
		}
		t := audit.Train(charts[0], charts[1], audit.Options{})
		if a.format == "json" {
			return writeJSON(a.out, t)
		}
		printTraining(a.out, t)
		return nil
	}
	return c
}

func printTraining(w io.Writer, t *audit.Training) {
	if t.Why != "" {
		fmt.Fprintf(w, "they cannot be compared: %s\n", t.Why)
		return
	}
	printPair(w, &t.Pair)
	fmt.Fprintf(w, "of %d readings, %d harsher and %d milder than settled\n", t.Lean.Pairs, t.Lean.Harsher, t.Lean.Milder)
	for _, m := range t.Missed {
		if m.Missed+m.Extra > 0 {
			fmt.Fprintf(w, "  %s: missed %d of %d, %d that the settled chart has not\n", m.Kind, m.Missed, m.Of, m.Extra)
		}
	}
	for i, c := range t.Confusions {
		if i == 5 {
			break
		}
		fmt.Fprintf(w, "  %s: wrote %s for %s, %d of %d\n", c.Field, c.Learner, c.Settled, c.Times, c.Of)
	}
	for _, d := range t.Differs {
		fmt.Fprintf(w, "%s\n    settled: %s\n    yours:   %s\n", d.Place, d.Settled, d.Learner)
	}
}
