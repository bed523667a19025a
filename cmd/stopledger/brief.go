package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/replay"
	"stopledger/web/brief"
)

func newBrief(a *app) *cobra.Command {
	var player, def, out string
	c := &cobra.Command{
		Use:   "brief --ledger X --player ID --out FILE.html",
		Short: "a player on one or two printed pages",
		Long: "Writes what the Board says of a player in the order a front office reads it, with the\n" +
			"chances behind it and their film times. The ending of the file says how: .html stands\n" +
			"alone and prints cleanly, .md is text, .json is every number.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	asOfFlag(c)
	definitionFlag(c, &def)
	playerFlag(c, &player)
	c.Flags().StringVar(&out, "out", "", "the file to write: .html, .md or .json")
	must(c.MarkFlagRequired("out"))
	c.RunE = func(c *cobra.Command, _ []string) error {
		write, ok := briefFormats[filepath.Ext(out)]
		if !ok {
			return fmt.Errorf("--out %s: want a file that ends in .html, .md or .json", out)
		}
		b, err := a.brief(c, def, events.Token(player))
		if err != nil {
			return err
		}
		return writeFile(out, func(w io.Writer) error { return write(b, w) })
	}
	return c
}

var briefFormats = map[string]func(*brief.Brief, io.Writer) error{
	".html": (*brief.Brief).WriteHTML,
	".md":   (*brief.Brief).WriteMarkdown,
	".json": func(b *brief.Brief, w io.Writer) error { return writeJSON(w, b.Profile) },
}

// brief folds the whole ledger, since film and line-ups are not in the columns.
func (a *app) brief(c *cobra.Command, def string, player events.Token) (*brief.Brief, error) {
	d, err := a.definition(def)
	if err != nil {
		return nil, err
	}
	l, err := a.open(c.Context())
	if err != nil {
		return nil, err
	}
	defer l.Close()
	last, err := l.Last(c.Context())
	if err != nil {
		return nil, err
	}
	games, err := a.games(c.Context(), l, nil)
	if err != nil {
		return nil, err
	}
	who, err := people(c.Context(), l)
	if err != nil {
		return nil, err
	}
	cols := replay.ColumnsOf(&replay.Season{Games: games}, who)
	study := metrics.NewStudy(d, cols, metrics.StudyOptions{Games: games})
	return brief.Make(study, player, brief.Options{Games: games, People: who, Position: uint64(last), AsOf: a.asOf})
}
