package main

import (
	"context"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/replay/film"
)

// clipsAsked is what the command line of clips says.
type clipsAsked struct {
	games, chances, players, opponents, roles, kinds, outcomes, readings []string

	rate, out string
	margins   film.Margins
}

func newClips(a *app) *cobra.Command {
	asked := clipsAsked{margins: film.DefaultMargins}
	c := &cobra.Command{
		Use:   "clips --ledger X --out DIR",
		Short: "clip lists of any set of chances, for an editor or a player",
		Long: "Picks chances out of the charts of record and writes one clip list for each film that\n" +
			"shows any. A chance plays whole, from five seconds before it; overlaps become one clip.\n" +
			"Chances that no film shows are listed with the reason. Several values of a flag mean\n" +
			"any of them; several flags must all fit one action.",
		Args: cobra.NoArgs,
	}
	ledgerFlag(c)
	asOfFlag(c)
	formatFlag(c, evidence.Formats()...)
	f := c.Flags()
	f.StringSliceVar(&asked.games, "game", nil, "games by id")
	f.StringSliceVar(&asked.chances, "chance", nil, "chances by id")
	f.StringSliceVar(&asked.players, "player", nil, "defenders by id")
	f.StringSliceVar(&asked.opponents, "opponent", nil, "the men they guarded, by id")
	f.StringSliceVar(&asked.roles, "role", nil, "the opponent's role: "+strings.Join(events.Role("").Words(), ", "))
	f.StringSliceVar(&asked.kinds, "kind", nil, "kinds of action: "+strings.Join(events.Kind("").Words(), ", "))
	f.StringSliceVar(&asked.outcomes, "outcome", nil, "outcomes, such as hit or beaten")
	f.StringSliceVar(&asked.readings, "reading", nil, "readings: "+strings.Join(events.Reading("").Words(), ", "))
	f.StringVar(&asked.rate, "rate", "", "the film's frame rate, for edl, otio and script: "+strings.Join(film.RateNames(), ", "))
	f.StringVar(&asked.out, "out", "", "the folder for the lists, made if it is missing")
	f.Float64Var(&asked.margins.Before, "before", asked.margins.Before, "lead-in in seconds")
	f.Float64Var(&asked.margins.After, "after", asked.margins.After, "lead-out in seconds")
	f.Float64Var(&asked.margins.MaxDoubt, "max-doubt", asked.margins.MaxDoubt, "no clip for a chance that may lie more seconds away than this")
	must(c.MarkFlagRequired("out"))
	c.RunE = func(c *cobra.Command, _ []string) error { return a.clips(c.Context(), asked) }
	return c
}

func (a *app) clips(ctx context.Context, asked clipsAsked) error {
	want, err := asked.want()
	if err != nil {
		return err
	}
	rate, err := asked.frameRate(a.format)
	if err != nil {
		return err
	}
	l, err := a.open(ctx)
	if err != nil {
		return err
	}
	defer l.Close()
	games, err := a.games(ctx, l, want.Games)
	if err != nil {
		return err
	}
	rows := evidence.Find(games, want)
	reels, left := evidence.Cut(games, rows, asked.margins)
	if err := os.MkdirAll(asked.out, 0o777); err != nil {
		return err
	}
	for _, r := range reels {
		if err := a.writeReel(r, rate, asked.out); err != nil {
			return err
		}
	}
	for _, w := range left {
		fmt.Fprintf(a.out, "no clip: %s %s: %s\n", w.Game, w.Title, w.Why)
	}
	fmt.Fprintf(a.out, "%d chances asked for, %d on film in %d lists, %d not to be shown\n", len(rows), len(rows)-len(left), len(reels), len(left))
	if slices.ContainsFunc(rows, func(r evidence.Row) bool { return r.Invented }) {
		fmt.Fprintln(a.out, inventedNotice)
	}
	return nil
}

// want turns the flags into a question, refusing words that are none.
func (c *clipsAsked) want() (evidence.Want, error) {
	var outcomes []string
	for _, k := range events.Kind("").Words() {
		for _, o := range events.OutcomesOf(events.Kind(k)) {
			outcomes = append(outcomes, string(o.Outcome))
		}
	}
	slices.Sort(outcomes)
	for _, check := range []struct {
		flag        string
		said, known []string
	}{
		{"role", c.roles, events.Role("").Words()},
		{"kind", c.kinds, events.Kind("").Words()},
		{"outcome", c.outcomes, slices.Compact(outcomes)},
		{"reading", c.readings, events.Reading("").Words()},
	} {
		for _, word := range check.said {
			if !slices.Contains(check.known, word) {
				return evidence.Want{}, fmt.Errorf("--%s %q: want one of %s", check.flag, word, strings.Join(check.known, ", "))
			}
		}
	}
	return evidence.Want{
		Games: typed[events.Token](c.games), Chances: typed[events.ID](c.chances), Players: typed[events.Token](c.players),
		Opponents: typed[events.Token](c.opponents), Roles: typed[events.Role](c.roles), Kinds: typed[events.Kind](c.kinds),
		Outcomes: typed[events.Outcome](c.outcomes), Readings: typed[events.Reading](c.readings),
	}, nil
}

func typed[T ~string](list []string) []T {
	out := make([]T, len(list))
	for i, s := range list {
		out[i] = T(s)
	}
	return out
}

func (c *clipsAsked) frameRate(format string) (film.Rate, error) {
	if c.rate == "" && evidence.NeedsRate(format) {
		return film.Rate{}, fmt.Errorf("--format %s counts frames: give the film's --rate, one of %s", format, strings.Join(film.RateNames(), ", "))
	}
	if c.rate == "" {
		return film.Rate{}, nil
	}
	return film.ParseRate(c.rate)
}

// games folds the games named, or all of them.
func (a *app) games(ctx context.Context, l *bus.Ledger, only []events.Token) ([]*replay.Game, error) {
	bad := 0
	in := a.read(ctx, l)
	if len(only) > 0 && a.asOf == "" {
		in = readGames(ctx, l, only)
	}
	folded, err := replay.Fold(a.warnings(in, &bad))
	if err != nil {
		return nil, err
	}
	for _, id := range only {
		if !slices.ContainsFunc(folded.Games, func(g *replay.Game) bool { return g.ID == id }) {
			return nil, fmt.Errorf("%s knows no game %q", l, id)
		}
	}
	return folded.Games, nil
}

func readGames(ctx context.Context, l *bus.Ledger, games []events.Token) iter.Seq2[events.Event, error] {
	return func(yield func(events.Event, error) bool) {
		for _, id := range games {
			for e, err := range l.ReadGame(ctx, id) {
				if !yield(e, err) {
					return
				}
			}
		}
	}
}

func (a *app) writeReel(r evidence.Reel, rate film.Rate, dir string) error {
	files, err := evidence.Write(a.format, r, rate)
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name)
		if err := writeFile(path, func(w io.Writer) error { _, err := io.WriteString(w, f.Text); return err }); err != nil {
			return err
		}
		fmt.Fprintf(a.out, "%s: %d clips of %s\n", path, len(r.Clips), r.Name)
	}
	return nil
}
