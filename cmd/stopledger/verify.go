package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
)

// verification is what verify prints for programs.
type verification struct {
	Events   int              `json:"events"`
	Invented bool             `json:"invented,omitempty"`
	Storage  []string         `json:"storage"` // what is wrong with the store itself
	Findings []replay.Finding `json:"findings"`
	Games    []verifiedGame   `json:"games"`
}

type verifiedGame struct {
	Game     events.Token     `json:"game"`
	Digest   string           `json:"digest"`
	Record   events.Token     `json:"record"`
	Findings []replay.Finding `json:"findings"`
	Charts   []verifiedChart  `json:"charts"`
}

type verifiedChart struct {
	Chart    events.Token                   `json:"chart"`
	Chances  int                            `json:"chances"`
	Actions  int                            `json:"actions"`
	Findings []replay.Finding               `json:"findings"`
	Totals   map[events.Token]events.Totals `json:"totals"`
}

func newVerify(a *app) *cobra.Command {
	var failOn string
	c := &cobra.Command{
		Use:   "verify --ledger X",
		Short: "check that a ledger is whole and that its charts add up",
		Long: "Reads the whole ledger, checks what is stored, folds every chart and lists what a\n" +
			"person should look at. Exits with 1 where a finding is at least as grave as --fail-on.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	asOfFlag(c)
	grades := []string{"serious", "odd", "remark", "never"}
	c.Flags().StringVar(&failOn, "fail-on", grades[0], "how grave a finding makes the command fail: serious, odd, remark or never")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if !slices.Contains(grades, failOn) {
			return fmt.Errorf("--fail-on %q: want serious, odd, remark or never", failOn)
		}
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		v, err := a.verify(c.Context(), l)
		if err != nil {
			return err
		}
		if a.format == "json" {
			err = writeJSON(a.out, v)
		} else {
			err = v.print(a.out)
		}
		if err != nil {
			return err
		}
		if n := v.atLeast(failOn); n > 0 {
			return findingsError{fmt.Sprintf("%d findings of severity %s or graver", n, failOn)}
		}
		return nil
	}
	return c
}

func (a *app) verify(ctx context.Context, l *bus.Ledger) (*verification, error) {
	v := &verification{Storage: []string{}, Games: []verifiedGame{}, Findings: []replay.Finding{}}
	if a.asOf == "" {
		condition, err := l.Inspect(ctx)
		if err != nil {
			return nil, fmt.Errorf("inspect %s: %w", l, err)
		}
		for _, f := range condition.Faults {
			v.Storage = append(v.Storage, fmt.Sprintf("positions %d to %d: %s", f.From, f.To, f.What))
		}
	}
	p := a.progress("events read")
	season, err := replay.Fold(counted(a.read(ctx, l), &v.Events, p))
	p.done()
	if err != nil {
		return nil, err
	}
	v.Findings = append(v.Findings, season.Findings...)
	for _, g := range season.Games {
		v.Invented = v.Invented || g.Info.Invented
		v.Games = append(v.Games, verifyGame(g))
	}
	return v, nil
}

func verifyGame(g *replay.Game) verifiedGame {
	out := verifiedGame{Game: g.ID, Digest: g.Digest, Record: g.Record, Findings: append([]replay.Finding{}, g.Findings...)}
	for _, c := range g.Charts {
		out.Charts = append(out.Charts, verifiedChart{
			Chart: c.Name, Chances: len(c.Chances), Actions: len(c.Actions),
			Findings: append([]replay.Finding{}, c.Findings...), Totals: c.Totals,
		})
	}
	return out
}

// all lists every finding of the ledger.
func (v *verification) all() []replay.Finding {
	list := slices.Clone(v.Findings)
	for _, g := range v.Games {
		list = append(list, g.Findings...)
		for _, c := range g.Charts {
			list = append(list, c.Findings...)
		}
	}
	return list
}

// atLeast counts findings of at least that severity; what is wrong with the
// store is always serious.
func (v *verification) atLeast(severity string) int {
	if severity == "never" {
		return 0
	}
	n := len(v.Storage)
	for _, f := range v.all() {
		if f.Severity.Rank() >= replay.Severity(severity).Rank() {
			n++
		}
	}
	return n
}

func (v *verification) print(w io.Writer) error {
	t := table{head: []string{"game", "chart", "chances", "actions", "findings", "score"}, words: 2}
	for _, g := range v.Games {
		for _, c := range g.Charts {
			name := string(c.Chart)
			if c.Chart == g.Record {
				name += " *"
			}
			t.add(string(g.Game), name, fmt.Sprint(c.Chances), fmt.Sprint(c.Actions), fmt.Sprint(len(c.Findings)), score(c.Totals))
		}
	}
	if err := t.write(w); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%d events, %d games; * is the chart of record\n", v.Events, len(v.Games))
	if v.Invented {
		fmt.Fprintln(w, inventedNotice)
	}
	for _, s := range v.Storage {
		fmt.Fprintln(w, "storage:", s)
	}
	for _, f := range v.Findings {
		fmt.Fprintf(w, "ledger: %s: %s\n", f.What, f.Text)
	}
	for _, g := range v.Games {
		for _, f := range g.Findings {
			fmt.Fprintf(w, "%s: %s: %s: %s\n", g.Game, f.Severity, f.What, f.Text)
		}
		for _, c := range g.Charts {
			for _, f := range c.Findings {
				fmt.Fprintf(w, "%s/%s: %s: %s: %s\n", g.Game, c.Chart, f.Severity, f.What, f.Text)
			}
		}
	}
	return nil
}

func score(totals map[events.Token]events.Totals) string {
	teams := make([]events.Token, 0, 2)
	for team := range totals {
		teams = append(teams, team)
	}
	slices.Sort(teams)
	text := ""
	for i, team := range teams {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprintf("%s %d", team, totals[team].Points)
	}
	return text
}
