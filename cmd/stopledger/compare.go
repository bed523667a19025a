package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/metrics/contrast"
)

func newCompare(a *app) *cobra.Command {
	var by []string
	var from, to string
	var flips int
	c := &cobra.Command{
		Use:   "compare --ledger X --from A --to B",
		Short: "old and new numbers of two definitions, and the chances that flipped",
		Long: "Sets two definitions side by side over the same film: every group's old and new\n" +
			"numbers, what moved most first, and the trials whose verdict flipped, each with the\n" +
			"expression that decided it. A definition is a file or the name of a shipped one.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json", "csv")
	asOfFlag(c)
	c.Flags().StringVar(&from, "from", "", "the old definition")
	c.Flags().StringVar(&to, "to", "", "the new definition")
	c.Flags().StringSliceVar(&by, "by", []string{"kind"}, "group by any of "+dimensionNames()+", or by a field such as chance.tempo")
	c.Flags().IntVar(&flips, "flips", 20, "how many flipped trials a table lists; json has all")
	must(c.MarkFlagRequired("from"))
	must(c.MarkFlagRequired("to"))
	c.RunE = func(c *cobra.Command, _ []string) error {
		old, err := a.definition(from)
		if err != nil {
			return err
		}
		next, err := a.definition(to)
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
		began := time.Now()
		r, err := contrast.Of(old, next, s.columns, by)
		if err != nil {
			return err
		}
		a.log.Debug().Dur("took", time.Since(began)).Int("actions", s.columns.Actions.Rows).Msg("compared")
		switch a.format {
		case "json":
			return writeJSON(a.out, a.compareJSON(r, s))
		case "csv":
			return compareTable(r, exact).writeCSV(a.out)
		}
		return a.printCompare(r, s, flips)
	}
	return c
}

// compareTable lays the groups out, what moved most first.
func compareTable(r *contrast.Result, c cells) *table {
	out := &table{words: len(r.By)}
	out.head = append(append([]string{}, r.By...), "old stops", "of", "old rate", "low", "high", "new stops", "of", "new rate", "low", "high", "moved", "old points", "new points")
	for i := range r.Groups {
		g := &r.Groups[i]
		out.add(append(append([]string{}, g.Key...), compareCells(g, c)...)...)
	}
	return out
}

func compareCells(g *contrast.Group, c cells) []string {
	side := func(r *metrics.Rate) (stops []string, points string) {
		if r == nil || r.Judged == 0 {
			return []string{"", "", "", "", ""}, ""
		}
		low, high := "", ""
		if e := r.Effective; e != nil {
			low, high = c.rateOf(e.Wilson[0]), c.rateOf(e.Wilson[1])
		}
		return []string{fmt.Sprintf(c.weight, r.Stops), fmt.Sprintf(c.weight, r.Judged), c.rateOf(r.StopRate), low, high}, fmt.Sprintf(c.weight, r.Points)
	}
	old, oldPoints := side(g.Old)
	next, nextPoints := side(g.New)
	return append(append(append([]string{}, old...), next...), fmt.Sprintf(c.weight, g.Moved), oldPoints, nextPoints)
}

func (a *app) printCompare(r *contrast.Result, s *season, most int) error {
	t := compareTable(r, rounded)
	t.add(append(append(make([]string, 0, len(t.head)), totalKey(len(r.By))...), compareCells(&r.Total, rounded)...)...)
	if err := t.write(a.out); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "\n%d trials flipped; the intervals are on the sample that the film is worth\n", len(r.Flips))
	for _, rule := range r.Rules {
		fmt.Fprintf(a.out, "%6d by %s: %s\n       now %s\n", rule.Rows, rule.Rule, rule.Old, rule.New)
	}
	if len(r.Flips) > 0 && most > 0 {
		fmt.Fprintln(a.out)
		list := &table{head: []string{"game", "chance", "kind", "defender", "outcome", "was", "is", "decided by"}, words: 8}
		for _, f := range r.Flips[:min(most, len(r.Flips))] {
			j := flipOf(f, s)
			list.add(string(j.Game), string(j.Chance), j.Kind, j.Defender, j.Outcome, j.From, j.To, j.Rule)
		}
		if err := list.write(a.out); err != nil {
			return err
		}
		if len(r.Flips) > most {
			fmt.Fprintf(a.out, "and %d more; --flips %d lists them\n", len(r.Flips)-most, len(r.Flips))
		}
	}
	for _, d := range []*metrics.RateTable{r.From, r.To} {
		fmt.Fprintf(a.out, "definition %s %s\n", d.Definition.Name, d.Definition.Hash()[:12])
		for _, u := range d.Undecided {
			fmt.Fprintf(a.out, "  %d rows undecided by %s: %s\n", u.Rows, u.Rule, u.Reason)
		}
	}
	fmt.Fprintf(a.out, "ledger %s (%d events)\n", s.digest[:12], s.events)
	if s.invented {
		fmt.Fprintln(a.out, inventedNotice)
	}
	return nil
}

func totalKey(n int) []string {
	key := make([]string, n)
	if n > 0 {
		key[0] = "all"
	}
	return key
}

// compareReport is compare for programs.
type compareReport struct {
	From     definitionRef      `json:"from"`
	To       definitionRef      `json:"to"`
	Ledger   ledgerRef          `json:"ledger"`
	By       []string           `json:"by"`
	Invented bool               `json:"invented,omitempty"`
	Groups   []compareGroupJSON `json:"groups"`
	Total    compareGroupJSON   `json:"total"`
	Rules    []ruleJSON         `json:"rules"`
	Flips    []flipJSON         `json:"flips"`
}

type compareGroupJSON struct {
	Key   []string  `json:"key"`
	Old   *rateJSON `json:"old"`
	New   *rateJSON `json:"new"`
	Moved float64   `json:"moved"`
}

type ruleJSON struct {
	Rule string `json:"rule"`
	Old  string `json:"old"`
	New  string `json:"new"`
	Rows int    `json:"rows"`
}

type flipJSON struct {
	Game     events.Token `json:"game"`
	Chance   events.ID    `json:"chance"`
	Action   events.ID    `json:"action"`
	Kind     string       `json:"kind"`
	Outcome  string       `json:"outcome"`
	Defender string       `json:"defender"`
	From     string       `json:"from"`
	To       string       `json:"to"`
	Rule     string       `json:"rule"`
}

func (a *app) compareJSON(r *contrast.Result, s *season) compareReport {
	out := compareReport{
		From:   definitionRef{r.From.Definition.Name, r.From.Definition.Hash()},
		To:     definitionRef{r.To.Definition.Name, r.To.Definition.Hash()},
		Ledger: a.ledgerRef(s), By: r.By, Invented: s.invented, Groups: []compareGroupJSON{}, Total: compareGroupOf(&r.Total), Rules: []ruleJSON{}, Flips: []flipJSON{},
	}
	for i := range r.Groups {
		out.Groups = append(out.Groups, compareGroupOf(&r.Groups[i]))
	}
	for _, rule := range r.Rules {
		out.Rules = append(out.Rules, ruleJSON(rule))
	}
	for _, f := range r.Flips {
		out.Flips = append(out.Flips, flipOf(f, s))
	}
	return out
}

func compareGroupOf(g *contrast.Group) compareGroupJSON {
	out := compareGroupJSON{Key: g.Key, Moved: g.Moved}
	if g.Old != nil {
		out.Old = &rateJSON{rate: g.Old}
	}
	if g.New != nil {
		out.New = &rateJSON{rate: g.New}
	}
	return out
}

// flipOf looks up what a flipped action is.
func flipOf(f contrast.Flip, s *season) flipJSON {
	cols := s.columns
	chance := cols.ActionChance[f.Action]
	word := func(field string) string {
		c := cols.Actions.Column(field)
		return c.Words[c.Code(f.Action)]
	}
	ids := cols.Players.Column("player.id")
	out := flipJSON{
		Game: cols.GameIDs[cols.ChanceGame[chance]], Kind: word("action.kind"), Outcome: word("action.outcome"),
		Defender: ids.Words[ids.Code(int(cols.ActionDefender[f.Action]))], From: string(f.From), To: string(f.To), Rule: f.Rule,
	}
	if cols.ChanceIDs != nil {
		out.Chance, out.Action = cols.ChanceIDs[chance], cols.ActionIDs[f.Action]
	}
	return out
}
