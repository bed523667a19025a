package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/metrics"
	"stopledger/metrics/definition"
)

func newRates(a *app) *cobra.Command {
	var by []string
	var def, target string
	var pooled bool
	c := &cobra.Command{
		Use:   "rates --ledger X",
		Short: "stop rates, points and readings of any grouping",
		Long: "Counts the charts of record under a definition. Actions, chances and games stand side\n" +
			"by side; the interval is on the sample that the film is worth, since a man's trials\n" +
			"of one game are alike. One game has counts and no interval. With --pooled each group\n" +
			"also gets the rate that the pooled model fits to the film seen, which borrows from\n" +
			"the field by as much as the data say.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json", "csv")
	asOfFlag(c)
	definitionFlag(c, &def)
	c.Flags().StringSliceVar(&by, "by", []string{"defender", "kind"}, "group by any of "+dimensionNames()+", or by a field such as chance.tempo")
	c.Flags().BoolVar(&pooled, "pooled", false, "add the fitted rate of each group; groups by defender, kind, role and scheme only")
	targetFlag(c, &target, metrics.Result)
	c.RunE = func(c *cobra.Command, _ []string) error {
		fitted, err := targetAsked(c, pooled, target)
		if err != nil {
			return err
		}
		d, err := a.definition(def)
		if err != nil {
			return err
		}
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		s, err := a.season(c.Context(), l)
		if err != nil {
			return err
		}
		t, st, err := ratesOf(d, s, by, fitted)
		if err != nil {
			return err
		}
		switch a.format {
		case "json":
			report := a.ratesJSON(t, s)
			report.Target = fitted
			return writeJSON(a.out, report)
		case "csv":
			rates := ratesTable(t, exact)
			return rates.writeCSV(a.out)
		}
		if err := a.printRates(t, s); err != nil || st == nil {
			return err
		}
		return a.printFit(st, fitted)
	}
	return c
}

// definitionFlag adds --definition.
func definitionFlag(c *cobra.Command, def *string) {
	c.Flags().StringVar(def, "definition", definition.DefaultName, "a definition file, or the name of a shipped one")
	must(c.RegisterFlagCompletionFunc("definition", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		var names []string
		for _, d := range definition.Shipped() {
			names = append(names, d.Name)
		}
		return names, cobra.ShellCompDirectiveDefault
	}))
}

// definition reads a definition file, or takes a shipped one by name.
func (a *app) definition(nameOrFile string) (*definition.Definition, error) {
	if !strings.ContainsAny(nameOrFile, "./\\") {
		return definition.ByName(nameOrFile)
	}
	text, err := os.ReadFile(nameOrFile)
	if err != nil {
		return nil, fmt.Errorf("read definition: %w", err)
	}
	return definition.Load(nameOrFile, text)
}

func dimensionNames() string {
	var names []string
	for _, d := range definition.Dimensions {
		names = append(names, d.Name)
	}
	return strings.Join(names, ", ")
}

// ratesReport is rates for programs; see the README for its fields.
type ratesReport struct {
	Definition definitionRef          `json:"definition"`
	Ledger     ledgerRef              `json:"ledger"`
	By         []string               `json:"by"`
	Target     metrics.Target         `json:"target,omitempty"` // what is pooled
	Invented   bool                   `json:"invented,omitempty"`
	Groups     []rateJSON             `json:"groups"`
	Total      rateJSON               `json:"total"`
	TeamPoints float64                `json:"team_points"`
	Undecided  []definition.Undecided `json:"undecided"`
}

type definitionRef struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

type ledgerRef struct {
	Digest string `json:"digest"`
	Events int    `json:"events"`
	Games  int    `json:"games"`
	// Position is how far the ledger was read, and Command what was asked, so
	// that the result can be computed again.
	Position uint64   `json:"position"`
	AsOf     string   `json:"as_of,omitempty"`
	Command  []string `json:"command"`
}

// rateJSON is one group: its keys by dimension name, then its numbers.
type rateJSON struct {
	by   []string
	rate *metrics.Rate
}

func (r rateJSON) MarshalJSON() ([]byte, error) {
	g := r.rate
	keys := make(map[string]string, len(r.by))
	for i, dim := range r.by {
		keys[dim] = g.Key[i]
	}
	numbers := struct {
		Actions         int            `json:"actions"`
		Games           int            `json:"games"`
		Chances         int            `json:"chances"`
		Trials          int            `json:"trials"`
		Weight          float64        `json:"weight"`
		Stops           float64        `json:"stops"`
		StopRate        *float64       `json:"stop_rate"`
		Wilson          *[2]float64    `json:"wilson"`
		Effective       *effectiveJSON `json:"effective"`
		Points          float64        `json:"points"`
		PointsPerChance *float64       `json:"points_per_chance"`
		PointsInterval  *[2]float64    `json:"points_interval"`
		Held            int            `json:"held"`
		Even            int            `json:"even"`
		Broken          int            `json:"broken"`
		Unclear         int            `json:"unclear"`
		Undecided       int            `json:"undecided"`

		Pooled       *metrics.Pooled `json:"pooled,omitempty"`
		PooledPoints *metrics.Pooled `json:"pooled_points_per_chance,omitempty"`
	}{
		Actions: g.Actions, Games: g.Games, Chances: g.Chances, Trials: g.Trials, Weight: g.Judged, Stops: g.Stops, Points: g.Points,
		Held: g.Held, Even: g.Even, Broken: g.Broken, Unclear: g.Unclear, Undecided: g.Group.Undecided,
		PointsInterval: g.PointsInterval, Pooled: g.Pooled, PooledPoints: g.PooledPoints,
	}
	if g.Judged > 0 {
		numbers.StopRate, numbers.Wilson = &g.StopRate, &g.Wilson
	}
	if g.Chances > 0 {
		ppc := g.PointsPerChance()
		numbers.PointsPerChance = &ppc
	}
	if e := g.Effective; e != nil {
		numbers.Effective = &effectiveJSON{e.N, e.Design, e.Rho, e.Wilson, e.Jeffreys}
	}
	return joinObjects(keys, numbers)
}

type effectiveJSON struct {
	N        float64    `json:"n"`
	Design   float64    `json:"design_effect"`
	Rho      float64    `json:"rho"`
	Wilson   [2]float64 `json:"wilson"`
	Jeffreys [2]float64 `json:"jeffreys"`
}

// joinObjects writes two JSON objects as one.
func joinObjects(a, b any) ([]byte, error) {
	left, err := json.Marshal(a)
	if err != nil {
		return nil, err
	}
	right, err := json.Marshal(b)
	if err != nil || len(left) == 2 {
		return right, err
	}
	return append(append(left[:len(left)-1], ','), right[1:]...), nil
}

func (a *app) ratesJSON(t *metrics.RateTable, s *season) ratesReport {
	r := ratesReport{
		Definition: definitionRef{t.Definition.Name, t.Definition.Hash()}, Ledger: a.ledgerRef(s), By: t.By, Invented: s.invented,
		Groups: []rateJSON{}, Total: rateJSON{nil, &t.Total}, TeamPoints: t.Team, Undecided: t.Undecided,
	}
	for i := range t.Groups {
		r.Groups = append(r.Groups, rateJSON{t.By, &t.Groups[i]})
	}
	if r.Undecided == nil {
		r.Undecided = []definition.Undecided{}
	}
	return r
}

func (a *app) ledgerRef(s *season) ledgerRef {
	return ledgerRef{Digest: s.digest, Events: s.events, Games: len(s.columns.GameIDs), Position: uint64(s.position), AsOf: a.asOf, Command: a.args}
}

func (a *app) printRates(t *metrics.RateTable, s *season) error {
	rates := ratesTable(t, rounded)
	if err := rates.write(a.out); err != nil {
		return err
	}
	return printFooter(a.out, t, s)
}

func printFooter(w io.Writer, t *metrics.RateTable, s *season) error {
	total := &t.Total
	fmt.Fprintf(w, "\nall: %d actions, %d chances, %d games; %.1f points are the team's account\n", total.Actions, total.Chances, total.Games, t.Team)
	fmt.Fprintf(w, "definition %s %s, ledger %s (%d events)\n", t.Definition.Name, t.Definition.Hash()[:12], s.digest[:12], s.events)
	for _, u := range t.Undecided {
		fmt.Fprintf(w, "%d rows undecided by %s: %s\n", u.Rows, u.Rule, u.Reason)
	}
	if s.invented {
		fmt.Fprintln(w, inventedNotice)
	}
	return nil
}

// cells writes numbers for people or for programs.
type cells struct{ rate, number, weight string }

var (
	rounded = cells{"%.0f%%", "%.2f", "%.1f"}
	exact   = cells{"%v", "%v", "%v"}
)

func (c cells) rateOf(p float64) string {
	if c == rounded {
		p *= 100
	}
	return fmt.Sprintf(c.rate, p)
}

// ratesTable lays rates out. The interval is the one on the effective sample;
// for one game it stays empty, for fewer than four the games are marked.
func ratesTable(t *metrics.RateTable, c cells) *table {
	out := &table{words: len(t.By)}
	out.head = append(out.head, t.By...)
	out.head = append(out.head, "actions", "chances", "games", "stops", "of", "stop rate", "low", "high", "points", "per chance", "from", "to", "held", "even", "broken", "unclear")
	fitted := slices.ContainsFunc(t.Groups, func(r metrics.Rate) bool { return r.Pooled != nil })
	if fitted {
		out.head = append(out.head, "fitted", "sd", "q10", "q90", "fitted points")
	}
	for i := range t.Groups {
		g := &t.Groups[i]
		row := append([]string{}, g.Key...)
		games := fmt.Sprint(g.Games)
		if c == rounded && g.Games < metrics.FewGames {
			games += "!"
		}
		rate, low, high, ppc, from, to := "", "", "", "", "", ""
		if g.Judged > 0 {
			rate = c.rateOf(g.StopRate)
		}
		if e := g.Effective; e != nil {
			low, high = c.rateOf(e.Wilson[0]), c.rateOf(e.Wilson[1])
		}
		if g.Chances > 0 {
			ppc = fmt.Sprintf(c.number, g.PointsPerChance())
		}
		if g.PointsInterval != nil {
			from, to = fmt.Sprintf(c.number, g.PointsInterval[0]), fmt.Sprintf(c.number, g.PointsInterval[1])
		}
		row = append(row, fmt.Sprint(g.Actions), fmt.Sprint(g.Chances), games, fmt.Sprintf(c.weight, g.Stops), fmt.Sprintf(c.weight, g.Judged),
			rate, low, high, fmt.Sprintf(c.weight, g.Points), ppc, from, to, fmt.Sprint(g.Held), fmt.Sprint(g.Even), fmt.Sprint(g.Broken), fmt.Sprint(g.Unclear))
		if fitted {
			row = append(row, c.fittedOf(g)...)
		}
		out.add(row...)
	}
	return out
}
