package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"stopledger/metrics/audit"
)

func newAgree(a *app) *cobra.Command {
	var game, names string
	var o audit.Options
	c := &cobra.Command{
		Use:   "agree --ledger X --game G --charts A,B[,C]",
		Short: "would another charter have charted it alike",
		Long: "Lays charts of one game beside each other without trusting their ids: what each saw, and\n" +
			"how alike they labelled what both saw. Compares only what both set out to hold.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	gameFlag(c, &game)
	c.Flags().StringVar(&names, "charts", "", "two or more charts, such as main,second")
	must(c.MarkFlagRequired("charts"))
	c.Flags().Float64Var(&o.Tolerance, "tolerance", 0, "seconds that two clocks of one chance may differ, 0 for the default")
	c.Flags().Uint64Var(&o.Seed, "seed", 0, "of the resampling behind the intervals")
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
		charts, err := chartsOf(g, names)
		if err != nil {
			return err
		}
		if len(charts) < 2 {
			return fmt.Errorf("--charts %q: name at least two of %s", names, chartNames(g))
		}
		result := audit.Agree(charts, o)
		if a.format == "json" {
			return writeJSON(a.out, struct {
				Game     string `json:"game"`
				Digest   string `json:"digest"`
				Invented bool   `json:"invented,omitempty"`
				*audit.Agreement
			}{string(g.ID), g.Digest, g.Info.Invented, result})
		}
		printAgreement(a.out, result)
		if g.Info.Invented {
			fmt.Fprintln(a.out, inventedNotice)
		}
		return nil
	}
	return c
}

func printAgreement(w io.Writer, r *audit.Agreement) {
	if !r.Comparable {
		fmt.Fprintf(w, "they cannot be compared: %s\n", r.Why)
	}
	for _, p := range r.Pairs {
		printPair(w, &p)
	}
	for _, f := range r.Alpha {
		if f.Alpha != nil && len(r.Charts) > 2 {
			fmt.Fprintf(w, "alpha of %s over all charts: %s\n", f.Name, figure(f.Alpha))
		}
	}
	fmt.Fprintf(w, "%d disagreements; settle orders them by what they move\n", len(r.Disagreed))
}

func printPair(w io.Writer, p *audit.Pair) {
	fmt.Fprintf(w, "%s beside %s", p.A, p.B)
	if !p.Comparable {
		fmt.Fprintf(w, ": not compared: %s\n", p.Why)
		return
	}
	fmt.Fprintf(w, " in %s; %s\n", p.Common, p.Offset.Text)
	for _, s := range []struct {
		what string
		seen audit.Seen
	}{{"chances", p.Chances}, {"actions", p.Actions}} {
		fmt.Fprintf(w, "  %s seen: %d and %d, both %d; precision %s, recall %s\n", s.what, s.seen.InA, s.seen.InB, s.seen.Both, figure(s.seen.Precision), figure(s.seen.Recall))
	}
	t := table{head: []string{"labelled alike", "pairs", "raw", "kappa", "se", "low", "high", "note"}, words: 1}
	for _, f := range append(p.Fields[:len(p.Fields):len(p.Fields)], p.Order) {
		t.add(fieldRow(f)...)
	}
	for _, f := range p.Blind {
		t.add(fieldRow(f)...)
	}
	_ = t.write(w) // a failing writer shows in what follows
	for i, k := range p.Kinds {
		if i < 3 && k.Either > 0 {
			fmt.Fprintf(w, "  most disputed: %s, %.0f%% of %d (%.0f to %.0f)\n", k.Kind, 100*k.Disputed, k.Either, 100*k.Lo, 100*k.Hi)
		}
	}
}

func fieldRow(f audit.Field) []string {
	row := []string{f.Name, fmt.Sprint(f.N), number(f.Raw, "%.2f"), "", "", "", "", f.Note}
	if k := f.Kappa; k != nil {
		row[3], row[4] = fmt.Sprintf("%.2f", k.Value), number(k.SE, "%.2f")
		row[5], row[6] = number(k.Lo, "%.2f"), number(k.Hi, "%.2f")
	}
	return row
}

func number(v *float64, format string) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf(format, *v)
}

func figure(f *audit.Figure) string {
	if f == nil {
		return "none"
	}
	text := fmt.Sprintf("%.2f", f.Value)
	if f.Lo != nil && f.Hi != nil {
		text += fmt.Sprintf(" (%.2f to %.2f)", *f.Lo, *f.Hi)
	}
	return text
}
