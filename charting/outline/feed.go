package outline

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"stopledger/events"
)

// Options say what the feed does not.
type Options struct {
	Game        events.Token
	Chart       events.Token // default "main", so that a charter goes on in it
	Rules       events.Rules
	Home        events.Token // default the first of the feed's teams
	Names       map[events.Token]string
	Competition events.Token
	Level       events.Level
	Date        string                         // YYYY-MM-DD
	Totals      map[events.Token]events.Totals // official, by team; nil: not known
}

func (o *Options) check(f *Feed) error {
	if o.Chart == "" {
		o.Chart = "main"
	}
	if o.Home == "" {
		o.Home = f.Teams[0]
	}
	if !o.Game.Valid() {
		return fmt.Errorf("outline: game %q is no id: want 1 to 63 of a-z, 0-9 and -", o.Game)
	}
	if !slices.Contains(f.Teams[:], o.Home) {
		return fmt.Errorf("outline: home %q plays for neither side; the feed's teams are %s and %s", o.Home, f.Teams[0], f.Teams[1])
	}
	for team := range o.Totals {
		if !slices.Contains(f.Teams[:], team) {
			return fmt.Errorf("outline: totals of %q; the feed's teams are %s and %s", team, f.Teams[0], f.Teams[1])
		}
	}
	return nil
}

// Events returns the events of one chart of the game, sealed and in order, and
// what a reader of the feed should know, by line. The same feed and options
// give the same bytes, ids included, so loading them twice adds nothing.
func (f *Feed) Events(o Options) ([]events.Event, []Remark, error) {
	if err := o.check(f); err != nil {
		return nil, nil, err
	}
	rd := read(f)
	s := &script{reading: rd, o: o}
	s.write(rd.walk())
	out, err := s.seal()
	if err != nil {
		return nil, nil, fmt.Errorf("outline of %s: %w", o.Game, err)
	}
	rd.compare(out, o.Totals)
	slices.SortStableFunc(rd.remarks, func(a, b Remark) int { return a.Row - b.Row })
	return out, rd.remarks, nil
}

// ReadTotals reads official totals by team: {"A":{"points":110,"fga":68,...},...}.
// Team names become ids as in the feed.
func ReadTotals(r io.Reader) (map[events.Token]events.Totals, error) {
	dec := json.NewDecoder(io.LimitReader(r, maxBytes))
	dec.DisallowUnknownFields()
	var byName map[string]events.Totals
	if err := dec.Decode(&byName); err != nil {
		return nil, fmt.Errorf("read totals: %w", err)
	}
	totals := make(map[events.Token]events.Totals, len(byName))
	for name, t := range byName {
		team := events.Token(strings.ToLower(name))
		if !team.Valid() {
			return nil, fmt.Errorf("read totals: %q is no team's id", name)
		}
		if _, twice := totals[team]; twice {
			return nil, fmt.Errorf("read totals: team %s stands twice", team)
		}
		totals[team] = t
	}
	return totals, nil
}
