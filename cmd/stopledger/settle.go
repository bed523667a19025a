package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/metrics/audit"
	"stopledger/replay"
	"stopledger/web/stamp"
)

type settleFlags struct {
	game, charts, base, choices, write, by, def, player string
	adopt                                               bool
}

func newSettle(a *app) *cobra.Command {
	var o settleFlags
	c := &cobra.Command{
		Use:   "settle --ledger X --game G --charts A,B --base A",
		Short: "turn the disagreements of charts into one settled chart",
		Long: "Orders the disagreements by how far settling each would move the stop rates under the\n" +
			"definition in force. With --choices, a JSON object of disagreement to chart, it says what\n" +
			"those choices move together; with --write NAME it writes the settled chart as a new chart\n" +
			"of the game, its origin noted, and with --adopt makes it the chart of record.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	gameFlag(c, &o.game)
	definitionFlag(c, &o.def)
	f := c.Flags()
	f.StringVar(&o.charts, "charts", "", "two or more charts, such as main,second")
	f.StringVar(&o.base, "base", "", "the chart that is right where nobody chose otherwise")
	f.StringVar(&o.player, "player", "", "move this player's rates only")
	f.StringVar(&o.choices, "choices", "", `a file such as {"0198…":"second"}`)
	f.StringVar(&o.write, "write", "", "the name of the settled chart to write")
	f.StringVar(&o.by, "by", "", "who settled, an id")
	f.BoolVar(&o.adopt, "adopt", false, "make the settled chart the chart of record")
	must(c.MarkFlagRequired("charts"))
	must(c.MarkFlagRequired("base"))
	c.RunE = func(c *cobra.Command, _ []string) error { return a.settle(c.Context(), o) }
	return c
}

func (a *app) settle(ctx context.Context, o settleFlags) error {
	if o.write != "" && (!events.Token(o.write).Valid() || !events.Token(o.by).Valid()) {
		return fmt.Errorf("--write %q --by %q: want two ids of a-z, 0-9 and -", o.write, o.by)
	}
	d, err := a.definition(o.def)
	if err != nil {
		return err
	}
	open := a.open
	if o.write != "" {
		open = a.openForWriting
	}
	l, err := open(ctx)
	if err != nil {
		return err
	}
	defer l.Close()
	g, err := a.oneGame(ctx, l, o.game)
	if err != nil {
		return err
	}
	charts, err := chartsOf(g, o.charts)
	if err != nil {
		return err
	}
	agreed := audit.Agree(charts, audit.Options{Resamples: -1})
	if !agreed.Comparable {
		return fmt.Errorf("the charts cannot be settled: %s", agreed.Why)
	}
	s, err := agreed.Settle(events.Token(o.base))
	if err != nil {
		return err
	}
	choices, err := readChoices(o.choices)
	if err != nil {
		return err
	}
	if o.write != "" {
		return a.writeSettled(ctx, l, g, s, choices, o)
	}
	return a.weigh(s, choices, audit.StopRates(d, events.Token(o.player)), o)
}

func readChoices(file string) (audit.Choices, error) {
	choices := audit.Choices{}
	if file == "" {
		return choices, nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(text, &choices); err != nil {
		return nil, fmt.Errorf("%s: want an object of disagreement to chart: %w", file, err)
	}
	return choices, nil
}

func (a *app) weigh(s *audit.Settling, choices audit.Choices, m []audit.Measure, o settleFlags) error {
	if len(choices) > 0 {
		together, err := s.Effect(choices, m)
		if err != nil {
			return err
		}
		if a.format == "json" {
			return writeJSON(a.out, together)
		}
		for _, c := range together {
			if !moved(c) {
				continue
			}
			fmt.Fprintf(a.out, "settling these %d moves the %s\n", len(choices), change(c))
		}
		return nil
	}
	moves, err := s.Weigh(m)
	if err != nil {
		return err
	}
	if a.format == "json" {
		return writeJSON(a.out, struct {
			Moves         []audit.Move         `json:"moves"`
			Disagreements []audit.Disagreement `json:"disagreements"`
		}{moves, s.Disagreements})
	}
	at := make(map[events.ID]audit.Disagreement)
	for _, d := range s.Disagreements {
		at[d.ID] = d
	}
	for _, move := range moves {
		d := at[move.ID]
		fmt.Fprintf(a.out, "%s  %s\n", move.ID, d.Place)
		for _, v := range d.Versions {
			fmt.Fprintf(a.out, "    %s: %s\n", v.Chart, v.Text)
		}
		for _, c := range move.Changes {
			if !moved(c) {
				continue
			}
			fmt.Fprintf(a.out, "    if %s is right, the %s\n", move.Chart, change(c))
		}
	}
	return nil
}

// moved reports whether a measure changes by what a page would show.
func moved(c audit.Change) bool {
	if c.From == nil || c.To == nil {
		return c.From != c.To
	}
	return math.Abs(*c.To-*c.From) >= 0.0005
}

func change(c audit.Change) string {
	from, to := "no film", "no film"
	if c.From != nil {
		from = fmt.Sprintf("%.1f%%", 100**c.From)
	}
	if c.To != nil {
		to = fmt.Sprintf("%.1f%%", 100**c.To)
	}
	return fmt.Sprintf("%s goes from %s to %s", c.Name, from, to)
}

func (a *app) writeSettled(ctx context.Context, l *bus.Ledger, g *replay.Game, s *audit.Settling, choices audit.Choices, o settleFlags) error {
	if g.Chart(events.Token(o.write)) != nil {
		return fmt.Errorf("game %s has a chart %q already; give the settled one another name", g.ID, o.write)
	}
	w := audit.Writing{By: o.by}
	if o.adopt {
		w.Adopt = events.Token(o.write)
	}
	list, err := s.Events(choices, stamp.New(g.ID, events.Token(o.write), events.Token(o.by), "settle"), w)
	if err != nil {
		return err
	}
	r, err := l.Load(ctx, sequence(list), nil)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "chart %s of %s written: %d events, %d disagreements settled\n", o.write, g.ID, r.Added, len(choices))
	return nil
}
