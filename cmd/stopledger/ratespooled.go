package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"stopledger/metrics"
	"stopledger/metrics/definition"
)

// targetAsked is the target to pool, or "" for none.
func targetAsked(c *cobra.Command, pooled bool, target string) (metrics.Target, error) {
	if !pooled {
		if c.Flags().Changed("target") {
			return "", errors.New("--target says what is pooled; it wants --pooled beside it")
		}
		return "", nil
	}
	return metrics.ParseTarget(target)
}

// ratesOf counts, and pools if a target is named.
func ratesOf(d *definition.Definition, s *season, by []string, t metrics.Target) (*metrics.RateTable, *metrics.Study, error) {
	if t == "" {
		table, err := metrics.Rates(d, s.columns, by)
		return table, nil, err
	}
	st := metrics.NewStudy(d, s.columns, metrics.StudyOptions{})
	table, err := st.Rates(by, t)
	return table, st, err
}

// printFit says what was fitted, and what went less than well.
func (a *app) printFit(st *metrics.Study, t metrics.Target) error {
	fmt.Fprintf(a.out, "fitted: the %s pooled over the ledger, for the film seen; q10 to q90 is its 80 %% interval\n", t)
	warnings, err := st.Warnings(t)
	for _, text := range warnings {
		fmt.Fprintf(a.out, "the fit of the %s: %s\n", t, text)
	}
	return err
}

// fittedOf writes what the pooled model says of a group.
func (c cells) fittedOf(g *metrics.Rate) []string {
	out := make([]string, 5)
	if p := g.Pooled; p != nil {
		out[0], out[1], out[2], out[3] = c.rateOf(p.Mean), c.rateOf(p.SD), c.rateOf(p.Q10), c.rateOf(p.Q90)
	}
	if p := g.PooledPoints; p != nil {
		out[4] = fmt.Sprintf(c.number, p.Mean)
	}
	return out
}
