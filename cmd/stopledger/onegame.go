package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
)

// gameFlag adds --game.
func gameFlag(c *cobra.Command, game *string) {
	c.Flags().StringVar(game, "game", "", "the game's id")
	must(c.MarkFlagRequired("game"))
}

// oneGame folds one game of the ledger.
func (a *app) oneGame(ctx context.Context, l *bus.Ledger, id string) (*replay.Game, error) {
	if !events.Token(id).Valid() {
		return nil, fmt.Errorf("--game %q is no id: want 1 to 63 of a-z, 0-9 and -", id)
	}
	season, err := replay.Fold(l.ReadGame(ctx, events.Token(id)))
	if err != nil {
		return nil, err
	}
	if len(season.Games) == 0 {
		return nil, fmt.Errorf("game %s is not in %s%s", id, l, a.nearestGame(ctx, l, id))
	}
	return season.Games[0], nil
}

func (a *app) nearestGame(ctx context.Context, l *bus.Ledger, id string) string {
	games, err := l.Games(ctx)
	if err != nil {
		return ""
	}
	var ids []string
	for g := range games {
		ids = append(ids, string(g))
	}
	if near := events.Nearest(id, ids); near != "" {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	return fmt.Sprintf("; it has %d games, verify lists them", len(ids))
}

// chartsOf finds charts of a game by their names, joined by commas.
func chartsOf(g *replay.Game, names string) ([]*replay.Chart, error) {
	var charts []*replay.Chart
	for name := range strings.SplitSeq(names, ",") {
		c := g.Chart(events.Token(strings.TrimSpace(name)))
		if c == nil {
			return nil, fmt.Errorf("game %s has no chart %q; it has %s", g.ID, name, chartNames(g))
		}
		charts = append(charts, c)
	}
	return charts, nil
}

func chartNames(g *replay.Game) string {
	var names []string
	for _, c := range g.Charts {
		names = append(names, string(c.Name))
	}
	return strings.Join(names, ", ")
}
