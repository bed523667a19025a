package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/metrics"
)

func newFilmPlan(a *app) *cobra.Command {
	var player, def string
	c := &cobra.Command{
		Use:   "filmplan --ledger X --player ID",
		Short: "what to watch next to settle a player's assignments",
		Long: "For each assignment that is unsettled or has not enough film: how many chances of\n" +
			"which kind against which role would settle it with 80 % probability, the most\n" +
			"informative first, and which games on the ledger still hold such chances.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	asOfFlag(c)
	definitionFlag(c, &def)
	playerFlag(c, &player)
	c.RunE = func(c *cobra.Command, _ []string) error {
		st, s, err := a.study(c, def)
		if err != nil {
			return err
		}
		plan, err := st.FilmPlan(events.Token(player))
		if err != nil {
			return err
		}
		if a.format == "json" {
			return writeJSON(a.out, filmPlanReport{a.reportHead(st, s), plan, metrics.Cautions})
		}
		return a.printFilmPlan(st, s, plan)
	}
	return c
}

type filmPlanReport struct {
	reportHead
	*metrics.FilmPlan
	Cautions []string `json:"cautions"`
}

func (a *app) printFilmPlan(st *metrics.Study, s *season, plan *metrics.FilmPlan) error {
	if plan.Text != "" {
		fmt.Fprintf(a.out, "%s: %s\n", plan.Player, plan.Text)
	}
	for i, p := range plan.Assignments {
		if i > 0 {
			fmt.Fprintln(a.out)
		}
		fmt.Fprintf(a.out, "%s: %s: %s\n  %s\n", p.Assignment, p.Word, p.Why, p.Text)
		t := &table{words: 3, head: []string{"  kind", "role", "came by", "chances", "games", "alone"}}
		for _, step := range p.Steps {
			n := ""
			if step.Games != nil {
				n = fmt.Sprint(*step.Games)
			}
			role := string(step.Role)
			if role == "" {
				role = "any"
			}
			t.add("  "+string(step.Kind), role, step.CameBy, fmt.Sprint(step.Chances), n, rounded.rateOf(step.Alone))
		}
		if len(t.rows) > 0 {
			if err := t.write(a.out); err != nil {
				return err
			}
		}
	}
	if len(plan.Assignments) > 0 {
		fmt.Fprint(a.out, "\nalone: how likely any amount of that film by itself would decide it; under 80 % it will not.\n")
		printUncharted(a, plan)
	}
	return a.modelFooter(a.out, st, s)
}

func printUncharted(a *app, plan *metrics.FilmPlan) {
	if len(plan.Uncharted) == 0 {
		fmt.Fprintln(a.out, "No game on this ledger holds uncharted chances against his team.")
		return
	}
	fmt.Fprintln(a.out, "Uncharted on this ledger, about how much of it each game holds:")
	for _, u := range plan.Uncharted {
		what := "chances against his team"
		if u.OnFloor {
			what = "chances with him on the floor"
		}
		fmt.Fprintf(a.out, "  %s %s: %d %s", u.Game, u.Date, u.Chances, what)
		for i, e := range u.Expected {
			sep := ", "
			if i == 0 {
				sep = "; "
			}
			fmt.Fprintf(a.out, "%s%s %s %.0f", sep, e.Kind, e.Role, e.Chances)
		}
		fmt.Fprintln(a.out)
	}
}
