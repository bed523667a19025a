package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stopledger/charting/outline"
	"stopledger/events"
)

func newOutline(a *app) *cobra.Command {
	var plays, totals, rules, game, home, date, out string
	c := &cobra.Command{
		Use:   "outline --plays FILE --game ID --rules NAME --out FILE.jsonl",
		Short: "read official play-by-play into a chart whose chances are there already",
		Long: "Reads a plays.csv into the events of one game: its chances with their ends, line-ups\n" +
			"as far as they can be known, shots outside chances, official totals. A charter then\n" +
			"adds only what the defence did. The same file gives the same events, so loading it\n" +
			"twice adds nothing.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			set, ok := events.RuleSet(events.RuleName(rules))
			if !ok {
				return fmt.Errorf("--rules %q: want one of %v", rules, events.RuleName("").Words())
			}
			if out == "" && a.ledger == "" {
				return fmt.Errorf("say where the events go: --out FILE.jsonl or --ledger DIR")
			}
			o := outline.Options{Game: events.Token(game), Rules: set, Home: events.Token(home), Date: date}
			if totals != "" {
				t, err := readTotals(totals)
				if err != nil {
					return err
				}
				o.Totals = t
			}
			list, err := a.readOutline(plays, o)
			if err != nil {
				return err
			}
			return a.keepOutline(c, list, out)
		},
	}
	f := c.Flags()
	f.StringVar(&plays, "plays", "", "the official play-by-play, a plays.csv")
	f.StringVar(&game, "game", "", "the game's id")
	f.StringVar(&rules, "rules", "", "the rule set: fiba, nba, ncaa-men, ncaa-women, nfhs")
	f.StringVar(&totals, "totals", "", "official totals, {\"A\":{\"points\":…},…}")
	f.StringVar(&home, "home", "", "the home team, a or b")
	f.StringVar(&date, "date", "", "the date, such as 2031-01-14")
	f.StringVar(&out, "out", "", "a .jsonl file for the events, - for standard output")
	f.String("ledger", "", "a ledger to add them to: a directory or a nats:// address")
	for _, name := range []string{"plays", "game", "rules"} {
		must(c.MarkFlagRequired(name))
	}
	return c
}

func readTotals(name string) (map[events.Token]events.Totals, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	t, err := outline.ReadTotals(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return t, nil
}

func (a *app) readOutline(plays string, o outline.Options) ([]events.Event, error) {
	f, err := os.Open(plays)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	feed, err := outline.Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", plays, err)
	}
	list, remarks, err := feed.Events(o)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", plays, err)
	}
	for _, r := range remarks {
		fmt.Fprintf(a.errs, "%s: %s\n", plays, r)
	}
	return list, nil
}

func (a *app) keepOutline(c *cobra.Command, list []events.Event, out string) error {
	write := func(w io.Writer) error {
		for _, e := range list {
			if _, err := w.Write(append(e.Raw, '\n')); err != nil {
				return err
			}
		}
		return nil
	}
	switch out {
	case "":
	case "-":
		if err := buffered(a.out, write); err != nil {
			return err
		}
	default:
		if err := writeFile(out, write); err != nil {
			return err
		}
	}
	if a.ledger == "" {
		fmt.Fprintf(a.errs, "%d events written to %s\n", len(list), out)
		return nil
	}
	l, err := a.openForWriting(c.Context())
	if err != nil {
		return err
	}
	defer l.Close()
	r, err := l.Load(c.Context(), sequence(list), nil)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.errs, "%d events added to %s, %d already there\n", r.Added, a.ledger, r.AlreadyThere)
	return nil
}
