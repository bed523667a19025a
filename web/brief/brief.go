// Package brief lays a player's report out as one or two printed pages, in the
// order a front office reads: what is known, what he could be asked to do, what
// each kind of action says, what is luck, where and how he recovers, the film
// behind it, and what to watch next.
//
// Make gathers a Brief; WriteHTML gives a page that stands alone (print it from
// a browser, or save it), WriteMarkdown the same in text. It adds no number of
// its own: all of them are package metrics'.
package brief

import (
	"cmp"
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/metrics"
	"stopledger/replay"
	"stopledger/replay/evidence"
)

// Brief is a report with what a reader needs beside it.
type Brief struct {
	*metrics.Profile
	Team     string // its name
	Number   string // his shirt
	Name     string // where it is known
	Games    []events.Token
	Position uint64 // of the ledger
	AsOf     string
	Filters  []string // what the film was narrowed to, in words
	Evidence []Shown
	Court    *court.Court // nil where no spot is known
}

// Shown is a few chances that stand for a number.
type Shown struct {
	What string // "broken on closeouts, the typical ones"
	Rows []evidence.Row
}

// Options say what the columns do not hold.
type Options struct {
	Games    []*replay.Game // those of the study, for the chances and their film
	People   []events.Person
	Position uint64
	AsOf     string
	Filters  []string
}

// perKind is how many chances stand for each kind that the facts name.
const perKind = 2

// Make gathers the brief of a player.
func Make(s *metrics.Study, player events.Token, o Options) (*Brief, error) {
	p, err := s.Profile(player)
	if err != nil {
		return nil, err
	}
	b := &Brief{Profile: p, Team: string(p.Team), Position: o.Position, AsOf: o.AsOf, Filters: o.Filters}
	for _, g := range o.Games {
		b.meet(g)
	}
	for _, who := range o.People {
		if who.ID == player {
			b.Name = who.Name
		}
	}
	if err := b.gather(s, o.Games); err != nil {
		return nil, err
	}
	if len(p.Spots) > 0 {
		b.Court = courtOf(o.Games)
	}
	return b, nil
}

// meet takes names from a game he is on the roster of.
func (b *Brief) meet(g *replay.Game) {
	i := slices.IndexFunc(g.Info.Players, func(p events.Player) bool { return p.ID == b.Player })
	if i < 0 {
		return
	}
	b.Games = append(b.Games, g.ID)
	b.Number = cmp.Or(g.Info.Players[i].Number, b.Number)
	for _, t := range []events.Team{g.Info.Home, g.Info.Away} {
		if t.ID == b.Profile.Team && t.Name != "" {
			b.Team = t.Name
		}
	}
}

func courtOf(games []*replay.Game) *court.Court {
	for _, g := range games {
		if c, err := court.For(string(g.Info.Rules.Name)); err == nil {
			return &c
		}
	}
	return nil
}

// wanted is a kind and the reading whose chances stand for it.
type wanted struct {
	kind    events.Kind
	reading events.Reading
}

// standing lists what chances should stand for: what the facts name, and where
// they name nothing, the kinds that cost him most and the one that saves most.
func (b *Brief) standing() []wanted {
	var list []wanted
	for _, f := range b.Facts {
		reading := events.Broken
		if f.About == metrics.TakesAway {
			reading = events.Held
		}
		for _, k := range f.Kinds {
			list = append(list, wanted{k, reading})
		}
	}
	if n := len(b.Kinds); len(list) == 0 && n > 0 {
		list = append(list, wanted{b.Kinds[0].Kind, events.Broken})
		if n > 2 {
			list = append(list, wanted{b.Kinds[1].Kind, events.Broken})
		}
		list = append(list, wanted{b.Kinds[n-1].Kind, events.Held})
	}
	return list
}

// gather picks the chances that stand for what is said: typical ones first,
// those with film before those without.
func (b *Brief) gather(s *metrics.Study, games []*replay.Game) error {
	byID := map[events.Token]*replay.Game{}
	for _, g := range games {
		byID[g.ID] = g
	}
	for _, w := range b.standing() {
		list, err := s.Evidence(b.Player, metrics.EvidenceQuery{Kind: w.kind, Reading: w.reading})
		if err != nil {
			return err
		}
		if rows := typical(s.Columns, byID, list); len(rows) > 0 {
			b.Evidence = append(b.Evidence, Shown{fmt.Sprintf("%s, %s: the typical ones first", spaced(string(w.kind)), w.reading), rows})
		}
	}
	return nil
}

func typical(cols *replay.Columns, games map[events.Token]*replay.Game, list []metrics.Evidence) []evidence.Row {
	var filmed, other []evidence.Row
	for _, e := range list {
		g := games[cols.GameIDs[e.Game]]
		if g == nil || cols.ChanceIDs == nil {
			continue
		}
		rows := evidence.Of(g, map[events.ID]bool{cols.ChanceIDs[e.Chance]: true}, map[events.ID]bool{cols.ActionIDs[e.Action]: true})
		for _, r := range rows {
			if r.Film != nil {
				filmed = append(filmed, r)
			} else if len(other) < perKind {
				other = append(other, r)
			}
		}
		if len(filmed) == perKind {
			break
		}
	}
	all := append(filmed, other...)
	return all[:min(len(all), perKind)]
}

// Who is the player as a coach says it.
func (b *Brief) Who() string {
	who := b.Team
	if b.Number != "" {
		who += " " + b.Number
	}
	if b.Number == "" && b.Team == "" {
		who = string(b.Player)
	}
	if b.Name != "" {
		who += ", " + b.Name
	}
	return who
}

// Mark is the notice of demo data, or "".
func (b *Brief) Mark() string {
	if !b.Made.Invented {
		return ""
	}
	return "INVENTED demo data: no team, player or game in it is real."
}
