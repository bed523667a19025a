package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"stopledger/metrics/audit"
	"stopledger/replay"
)

func newAudit(a *app) *cobra.Command {
	var game, chart, failOn string
	c := &cobra.Command{
		Use:   "audit --ledger X --game G",
		Short: "is a chart complete, and does it add up to the official totals",
		Long: "Lists what is missing, odd or impossible in each chart of a game, each with its place and\n" +
			"the likely cause; how much of the game the chart covers; and the official totals line by\n" +
			"line, with the likeliest explanation of a difference. A chart is held to what it set out\n" +
			"to hold. Exits with 1 where a finding is at least as grave as --fail-on.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	gameFlag(c, &game)
	c.Flags().StringVar(&chart, "chart", "", "one chart only; else all of the game's")
	c.Flags().StringVar(&failOn, "fail-on", "serious", "how grave a finding makes the command fail: serious, odd, remark or never")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if failOn != "never" && replay.Severity(failOn).Rank() == 0 {
			return fmt.Errorf("--fail-on %q: want serious, odd, remark or never", failOn)
		}
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		g, err := a.oneGame(c.Context(), l, game)
		if err != nil {
			return err
		}
		charts := g.Charts
		if chart != "" {
			if charts, err = chartsOf(g, chart); err != nil {
				return err
			}
		}
		return a.sayAudit(audit.ReviewGame(g, charts, audit.Limits{}), failOn)
	}
	return c
}

func (a *app) sayAudit(out *audit.GameReport, failOn string) error {
	if a.format == "json" {
		if err := writeJSON(a.out, out); err != nil {
			return err
		}
	} else {
		for i, r := range out.Charts {
			if i > 0 {
				fmt.Fprintln(a.out)
			}
			printReport(a.out, r)
		}
		if out.Invented {
			fmt.Fprintln(a.out, inventedNotice)
		}
	}
	n := 0
	if failOn != "never" {
		for _, r := range out.Charts {
			n += r.AtLeast(replay.Severity(failOn))
		}
	}
	if n > 0 {
		return findingsError{fmt.Sprintf("%d findings of severity %s or graver", n, failOn)}
	}
	return nil
}

func printReport(w io.Writer, r *audit.Report) {
	fmt.Fprintf(w, "%s/%s: %s\n", r.Game, r.Chart, r.Holds)
	fmt.Fprintf(w, "  coverage: %s\n", coverage(r.Coverage))
	if r.Totals != nil {
		printComparison(w, r.Totals)
	} else if r.NoTotals != "" {
		fmt.Fprintf(w, "  totals: %s\n", r.NoTotals)
	}
	if len(r.Findings) == 0 {
		fmt.Fprintln(w, "  nothing to look at")
	}
	for _, f := range r.Findings {
		fmt.Fprintf(w, "  %s: %s: %s: %s\n", f.Severity, f.Place, f.Code, f.Text)
		if f.Cause != "" {
			fmt.Fprintf(w, "      likely: %s\n", f.Cause)
		}
	}
}

func coverage(c audit.Coverage) string {
	text := fmt.Sprintf("%d chances with their end, %d with the defence charted", c.Held, c.Defended)
	if c.Share != nil {
		text += fmt.Sprintf("; of %.1f played (%s) that is %.0f%%", c.Played, c.Basis, 100**c.Share)
	}
	if c.Charted != nil {
		text += fmt.Sprintf(" and %.0f%%", 100**c.Charted)
	}
	return text
}

func printComparison(w io.Writer, c *audit.Comparison) {
	if c.Agrees {
		fmt.Fprintln(w, "  totals: as the official ones, line by line")
	} else {
		for _, d := range c.Differing() {
			fmt.Fprintf(w, "  totals: %s\n", d)
		}
		if len(c.Explanations) > 0 {
			fmt.Fprintf(w, "      likely: %s\n", c.Explanations[0].Text)
		}
	}
	fmt.Fprintf(w, "  possessions a side: %.1f charted, %.1f estimated from the official totals\n", c.MeanCharted, c.MeanOfficial)
}
