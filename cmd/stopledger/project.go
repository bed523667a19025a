package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/metrics"
)

func newProject(a *app) *cobra.Command {
	var player, def string
	c := &cobra.Command{
		Use:   "project --ledger X --player ID",
		Short: "what a player would do in each assignment, and how sure that is",
		Long: "Projects a player into the assignments of the definition from how his actions read:\n" +
			"pooled with the field, in a neutral scheme, with the step in level that the\n" +
			"definition states. Where his own film is too little, it says so.",
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
		list, err := st.Project(events.Token(player))
		if err != nil {
			return err
		}
		if a.format == "json" {
			return writeJSON(a.out, projectReport{a.reportHead(st, s), events.Token(player), list, metrics.Cautions})
		}
		return a.printProjections(st, s, player, list)
	}
	return c
}

// playerFlag adds --player.
func playerFlag(c *cobra.Command, player *string) {
	c.Flags().StringVar(player, "player", "", "the player's id")
	must(c.MarkFlagRequired("player"))
}

// study folds the ledger and reads the definition.
func (a *app) study(c *cobra.Command, def string) (*metrics.Study, *season, error) {
	d, err := a.definition(def)
	if err != nil {
		return nil, nil, err
	}
	l, err := a.open(c.Context())
	if err != nil {
		return nil, nil, err
	}
	defer l.Close()
	s, err := a.season(c.Context(), l)
	if err != nil {
		return nil, nil, err
	}
	return metrics.NewStudy(d, s.columns, metrics.StudyOptions{}), s, nil
}

// reportHead begins every report for programs that a model stands behind.
type reportHead struct {
	Definition definitionRef `json:"definition"`
	Ledger     ledgerRef     `json:"ledger"`
	Invented   bool          `json:"invented,omitempty"`
	Seed       string        `json:"seed"` // a whole number too large for some readers of JSON
}

func (a *app) reportHead(st *metrics.Study, s *season) reportHead {
	return reportHead{definitionRef{st.Definition.Name, st.Definition.Hash()}, a.ledgerRef(s), s.invented, fmt.Sprint(st.Seed())}
}

type projectReport struct {
	reportHead
	Player      events.Token         `json:"player"`
	Projections []metrics.Projection `json:"projections"`
	Cautions    []string             `json:"cautions"`
}

func (a *app) printProjections(st *metrics.Study, s *season, player string, list []metrics.Projection) error {
	t := &table{words: 2, head: []string{"assignment", "word", "process", "low", "high", "field", "better", "own share", "result", "counted", "actions", "chances", "games"}}
	for _, p := range list {
		field, better, counted := "", "", ""
		if p.Against != nil {
			field, better = rounded.rateOf(p.Against.Rate.Mean), rounded.rateOf(*p.Better)
		}
		if p.Raw.Rate != nil {
			counted = rounded.rateOf(*p.Raw.Rate)
		}
		t.add(p.Assignment, string(p.Word), rounded.rateOf(p.Process.Mean), rounded.rateOf(p.Process.Q10), rounded.rateOf(p.Process.Q90), field, better,
			rounded.rateOf(p.OwnShare), rounded.rateOf(p.Result.Mean), counted, fmt.Sprint(p.Film.Actions), fmt.Sprint(p.Film.Chances), fmt.Sprint(p.Film.Games))
	}
	if err := t.write(a.out); err != nil {
		return err
	}
	for _, p := range list {
		fmt.Fprintf(a.out, "\n%s: %s: %s\n", p.Assignment, p.Word, p.Why)
		fmt.Fprintf(a.out, "  %s\n", p.Raw.Text)
		for _, note := range p.Notes {
			fmt.Fprintf(a.out, "  %s\n", note)
		}
		if p.Level != nil {
			var shifts []string
			for _, ask := range p.Asks {
				shifts = append(shifts, fmt.Sprintf("%s %+.2f", ask.Kind, p.Level.Shift[ask.Kind]))
			}
			fmt.Fprintf(a.out, "  step from %s to %s, a judgement: %s in log-odds, sd %.2f\n", p.Level.From, p.Level.To, strings.Join(shifts, ", "), p.Level.SD)
		}
	}
	fmt.Fprintf(a.out, "\n%s: low to high is an 80 %% interval; field is the average of the others of his role, better the\n"+
		"probability of being at least that; own share how much of the doubt his own film has removed.\n", player)
	return a.modelFooter(a.out, st, s)
}

// modelFooter names what the numbers were made from, what went less than well,
// and the cautions that go with every projection.
func (a *app) modelFooter(w io.Writer, st *metrics.Study, s *season) error {
	fmt.Fprintf(w, "definition %s %s, ledger %s (%d events, %d games)\n", st.Definition.Name, st.Definition.Hash()[:12], s.digest[:12], s.events, len(s.columns.GameIDs))
	for _, target := range []metrics.Target{metrics.Process, metrics.Result} {
		warnings, err := st.Warnings(target)
		if err != nil {
			return err
		}
		for _, text := range warnings {
			fmt.Fprintf(w, "the fit of the %s: %s\n", target, text)
		}
	}
	fmt.Fprintln(w)
	for _, c := range metrics.Cautions {
		fmt.Fprintln(w, c)
	}
	if s.invented {
		fmt.Fprintln(w, inventedNotice)
	}
	return nil
}
