package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stopledger/metrics/audit"
	"stopledger/replay"
)

func newCharters(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "charters --ledger X",
		Short: "each charter's agreement, speed and corrections over time",
		Args:  cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	asOfFlag(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		season, err := replay.Fold(a.read(c.Context(), l))
		if err != nil {
			return err
		}
		reports := audit.Charters(season.Games, audit.Options{})
		if a.format == "json" {
			return writeJSON(a.out, reports)
		}
		t := table{head: []string{"charter", "charts", "actions", "a minute of play", "corrections", "with others", "readings alike", "low", "high"}, words: 1}
		for _, r := range reports {
			row := []string{string(r.Charter), fmt.Sprint(r.Charts), fmt.Sprint(r.Actions), number(r.PerPlayMinute, "%.1f"), fmt.Sprint(r.Corrections),
				fmt.Sprintf("%d games", r.Against.Games), "", "", ""}
			if k := r.Against.Order.Kappa; k != nil {
				row[6], row[7], row[8] = fmt.Sprintf("%.2f", k.Value), number(k.Lo, "%.2f"), number(k.Hi, "%.2f")
			}
			t.add(row...)
		}
		return t.write(a.out)
	}
	return c
}
