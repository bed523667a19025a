package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/metrics"
)

func newPeers(a *app) *cobra.Command {
	var kind, role, own, target, def string
	c := &cobra.Command{
		Use:   "peers --ledger X --kind KIND --role ROLE",
		Short: "the field of a kind and role in order, and how sure the order is",
		Long: "Everybody with film of a kind against a role, compared in the same scheme. Beside\n" +
			"each stands his interval and the probability that he is truly in the top third:\n" +
			"the order alone says little.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	asOfFlag(c)
	definitionFlag(c, &def)
	c.Flags().StringVar(&kind, "kind", "", "what was asked: "+strings.Join(events.Kind("").Words(), ", ")+"; a part of the word will do")
	c.Flags().StringVar(&role, "role", "", "the opponents' role: "+strings.Join(events.Role("").Words(), ", ")+" (default: as everybody meets them)")
	c.Flags().StringVar(&own, "own", "", "only defenders of this role")
	targetFlag(c, &target, metrics.Process)
	must(c.MarkFlagRequired("kind"))
	must(c.RegisterFlagCompletionFunc("kind", cobra.FixedCompletions(events.Kind("").Words(), cobra.ShellCompDirectiveNoFileComp)))
	c.RunE = func(c *cobra.Command, _ []string) error {
		t, err := metrics.ParseTarget(target)
		if err != nil {
			return err
		}
		st, s, err := a.study(c, def)
		if err != nil {
			return err
		}
		f, err := st.Field(metrics.FieldQuery{Kind: kindMeant(kind), Role: events.Role(role), Own: events.Role(own), Target: t})
		if err != nil {
			return err
		}
		if a.format == "json" {
			return writeJSON(a.out, fieldReport{a.reportHead(st, s), f, metrics.Cautions})
		}
		return a.printField(st, s, f)
	}
	return c
}

// kindMeant takes a part of a kind's word for the kind, if only one has it.
func kindMeant(text string) events.Kind {
	var found []string
	for _, w := range events.Kind("").Words() {
		if text != "" && strings.Contains(w, text) {
			found = append(found, w)
		}
		if w == text {
			return events.Kind(w)
		}
	}
	if len(found) == 1 {
		return events.Kind(found[0])
	}
	return events.Kind(text)
}

// targetFlag adds --target.
func targetFlag(c *cobra.Command, target *string, standard metrics.Target) {
	c.Flags().StringVar(target, "target", string(standard), "what is pooled: result (stops) or process (readings)")
	must(c.RegisterFlagCompletionFunc("target", cobra.FixedCompletions(metrics.Targets(), cobra.ShellCompDirectiveNoFileComp)))
}

type fieldReport struct {
	reportHead
	*metrics.Field
	Cautions []string `json:"cautions"`
}

func (a *app) printField(st *metrics.Study, s *season, f *metrics.Field) error {
	if len(f.List) > 0 {
		t := &table{words: 3, head: []string{"defender", "team", "own role", "rate", "low", "high", "top third", "counted", "actions", "chances", "games"}}
		for i := range f.List {
			p := &f.List[i]
			top, raw := "", ""
			if p.TopThird != nil {
				top = rounded.rateOf(*p.TopThird)
			}
			if p.Raw != nil {
				raw = rounded.rateOf(*p.Raw)
			}
			t.add(string(p.Player), string(p.Team), string(p.Own), rounded.rateOf(p.Rate.Mean), rounded.rateOf(p.Rate.Q10), rounded.rateOf(p.Rate.Q90),
				top, raw, fmt.Sprint(p.Actions), fmt.Sprint(p.Chances), fmt.Sprint(p.Games))
		}
		if err := t.write(a.out); err != nil {
			return err
		}
		fmt.Fprintln(a.out)
	}
	fmt.Fprintf(a.out, "%s.\nThe rate is of the %s, pooled, %s scheme; low to high is an 80 %% interval.\n", f.Text, f.Target, f.Scheme)
	return a.modelFooter(a.out, st, s)
}
