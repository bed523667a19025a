package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"stopledger/charting/synth"
	"stopledger/events"
)

func newSynth(a *app) *cobra.Command {
	o := synth.Defaults()
	var out, truth, people string
	c := &cobra.Command{
		Use:   "synth --out FILE.jsonl",
		Short: "invent a season whose truth is known",
		Long: "Invents a league of eight teams and a season of charted games, all of it marked as\n" +
			"invented. The same seed gives the same bytes. The truth file says what every player\n" +
			"can really do, so that estimates can be held against it.",
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			season, err := synth.New(o)
			if err != nil {
				return err
			}
			n, err := a.writeSeason(season, out)
			if err != nil {
				return err
			}
			if truth != "" {
				if err := writeFile(truth, func(w io.Writer) error { return json.NewEncoder(w).Encode(season.Truth()) }); err != nil {
					return err
				}
			}
			if people != "" {
				if err := writeFile(people, func(w io.Writer) error { return events.WritePeople(w, season.People()) }); err != nil {
					return err
				}
			}
			fmt.Fprintf(a.errs, "%d events of %d invented games written to %s\n", n, o.Games, out)
			return nil
		},
	}
	c.Flags().Uint64Var(&o.Seed, "seed", o.Seed, "the season to invent")
	c.Flags().IntVar(&o.Games, "games", o.Games, "how many games, 1 to 3000")
	c.Flags().Float64Var(&o.DoubleCharted, "double-charted", o.DoubleCharted, "share of games with a second chart")
	c.Flags().StringVar(&out, "out", "", "where the events go, - for standard output")
	c.Flags().StringVar(&truth, "truth", "", "where the truth goes")
	c.Flags().StringVar(&people, "people", "", "where names and measurements go")
	must(c.MarkFlagRequired("out"))
	return c
}

func (a *app) writeSeason(s *synth.Season, out string) (int, error) {
	p := a.progress("events invented")
	defer p.done()
	n := 0
	write := func(w io.Writer) error {
		for e, err := range s.Events() {
			if err != nil {
				return err
			}
			if _, err := w.Write(append(e.Raw, '\n')); err != nil {
				return err
			}
			n++
			p.at(n, 0)
		}
		return nil
	}
	if out == "-" {
		w := bufio.NewWriter(a.out)
		if err := write(w); err != nil {
			return n, err
		}
		return n, w.Flush()
	}
	return n, writeFile(out, write)
}

// writeFile writes a file whole: to a name beside it first, renamed when it is
// complete, so that nobody finds half of one.
func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name + ".part")
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	defer os.Remove(f.Name()) // nothing is there after the rename
	w := bufio.NewWriterSize(f, 1<<20)
	err = write(w)
	if err == nil {
		err = w.Flush()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return nil
}
