package replay

import (
	"bytes"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"
	"strings"

	"stopledger/events"
)

// bag is the set of events of one game: each id once. Adding is the only thing
// that depends on arrival, and it commutes.
type bag struct {
	game    events.Token
	byID    map[events.ID]member
	clashes map[events.ID]bool // ids seen with different bytes
}

// member is an event of the set with the sum of its bytes.
type member struct {
	event *events.Event
	sum   events.Sum
}

func newBag(game events.Token) *bag {
	return &bag{game: game, byID: map[events.ID]member{}, clashes: map[events.ID]bool{}}
}

// add takes an event into the set and reports whether the set changed. Of two
// events with one id and different bytes the one with the smaller SHA-256
// stands.
func (b *bag) add(e events.Event) bool {
	sum := e.Sum()
	e.Raw = nil // summed, and as long as all the rest together
	if old, known := b.byID[e.ID]; known {
		if old.sum == sum {
			return false
		}
		changed := !b.clashes[e.ID]
		b.clashes[e.ID] = true
		if bytes.Compare(old.sum[:], sum[:]) < 0 {
			return changed
		}
	}
	b.byID[e.ID] = member{&e, sum}
	return true
}

// sorted lists the set by id.
func (b *bag) sorted() []member {
	list := make([]member, 0, len(b.byID))
	for _, m := range b.byID {
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b member) int { return strings.Compare(string(a.event.ID), string(b.event.ID)) })
	return list
}

func digestOf(list []member) string {
	return events.Digest(func(yield func(events.ID, events.Sum) bool) {
		for _, m := range list {
			if !yield(m.event.ID, m.sum) {
				return
			}
		}
	})
}

// byChart splits a sorted set by chart, each chart's events sorted by id.
func byChart(list []member) map[events.Token][]*events.Event {
	split := make(map[events.Token][]*events.Event)
	for _, m := range list {
		split[m.event.Chart] = append(split[m.event.Chart], m.event)
	}
	return split
}

// Fold folds a whole ledger. An error that is an [events.LineError] becomes a
// finding and the fold goes on; any other error ends it.
func Fold(ledger iter.Seq2[events.Event, error]) (*Season, error) {
	bags := make(map[events.Token]*bag)
	season := &Season{}
	for e, err := range ledger {
		if err != nil {
			text, ok := badLine(err)
			if !ok {
				return nil, fmt.Errorf("read the ledger: %w", err)
			}
			season.Findings = append(season.Findings, found(NotAnEvent, "", text))
			continue
		}
		b := bags[e.Game]
		if b == nil {
			b = newBag(e.Game)
			bags[e.Game] = b
		}
		b.add(e)
	}
	season.Games = foldAll(bags)
	return season, nil
}

// foldAll folds many games on all processors; games do not touch one another.
func foldAll(bags map[events.Token]*bag) []*Game {
	ids := make([]events.Token, 0, len(bags))
	for id := range bags {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool { return ids[i] < ids[j] })
	games := make([]*Game, len(ids))
	inParallel(len(ids), func(i int) { games[i] = foldGame(bags[ids[i]]) })
	return games
}

// FoldGame folds the events of one game, for whoever holds them all.
func FoldGame(game events.Token, list []events.Event) *Game {
	b := newBag(game)
	for _, e := range list {
		b.add(e)
	}
	return foldGame(b)
}

// Live is a season that grows by one event at a time. Only the game that an
// event touches is folded again, and only when somebody asks for it. It is not
// safe for concurrent use.
type Live struct {
	bags   map[events.Token]*bag
	folded map[events.Token]*Game
}

// NewLive returns an empty live season.
func NewLive() *Live {
	return &Live{bags: map[events.Token]*bag{}, folded: map[events.Token]*Game{}}
}

// Add takes an event in and reports whether it changed its game.
func (l *Live) Add(e events.Event) bool {
	b := l.bags[e.Game]
	if b == nil {
		b = newBag(e.Game)
		l.bags[e.Game] = b
	}
	if !b.add(e) {
		return false
	}
	delete(l.folded, e.Game)
	return true
}

// Game folds one game as it stands, or returns nil for one never heard of.
func (l *Live) Game(id events.Token) *Game {
	if g := l.folded[id]; g != nil {
		return g
	}
	b := l.bags[id]
	if b == nil {
		return nil
	}
	g := foldGame(b)
	l.folded[id] = g
	return g
}

// Season folds whatever changed and returns the whole.
func (l *Live) Season() *Season {
	s := &Season{}
	for id := range l.bags {
		s.Games = append(s.Games, l.Game(id))
	}
	sort.Slice(s.Games, func(i, j int) bool { return s.Games[i].ID < s.Games[j].ID })
	return s
}

func badLine(err error) (string, bool) {
	var line *events.LineError
	if errors.As(err, &line) {
		return line.Error(), true
	}
	return "", false
}

// foldGame is the fold of one game.
func foldGame(b *bag) *Game {
	list := b.sorted()
	g := &Game{ID: b.game, Digest: digestOf(list), Events: len(list)}
	split := byChart(list)
	names := make([]events.Token, 0, len(split))
	for name := range split {
		names = append(names, name)
	}
	slices.Sort(names)
	drafts := make([]*draft, len(names))
	for i, name := range names {
		drafts[i] = newDraft(name, split[name])
	}
	opening := unitedOpening(drafts)
	var adopted []standing
	for _, d := range drafts {
		g.Charts = append(g.Charts, d.fold(opening))
		adopted = append(adopted, d.adopted()...)
	}
	g.Record = recordOf(g, adopted)
	g.Info = opening
	if c := g.OfRecord(); c != nil && c.Info.Home.ID != "" {
		g.Info = c.Info
		g.Info.Players = unite(c.Info.Players, opening.Players)
	}
	for id := range b.clashes {
		g.Findings = append(g.Findings, found(SameIDOtherBytes, id, fmt.Sprintf("event %s came with different contents; the one with the smaller SHA-256 stands", id)))
	}
	sortFindings(g.Findings)
	return g
}

// recordOf chooses the chart of record: the latest adoption, else main, else
// the first by name.
func recordOf(g *Game, adopted []standing) events.Token {
	sort.Slice(adopted, func(i, j int) bool { return adopted[i].event.ID < adopted[j].event.ID })
	for i := len(adopted) - 1; i >= 0; i-- {
		chart := adopted[i].body.(*events.ChartAdopted).Chart
		if g.Chart(chart) != nil {
			return chart
		}
		g.Findings = append(g.Findings, found(NoAdopted, adopted[i].event.ID, fmt.Sprintf("chart %q was adopted, and nothing is charted under that name", chart)))
	}
	if g.Chart("main") != nil || len(g.Charts) == 0 {
		return "main"
	}
	if len(g.Charts) > 1 {
		var names []string
		for _, c := range g.Charts {
			names = append(names, string(c.Name))
		}
		g.Findings = append(g.Findings, found(NoRecord, "", fmt.Sprintf("no chart of record among %s; %s is used", strings.Join(names, ", "), names[0])))
	}
	return g.Charts[0].Name
}

func sortFindings(list []Finding) {
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if a.What != b.What {
			return a.What < b.What
		}
		if a.Event != b.Event {
			return a.Event < b.Event
		}
		return a.Text < b.Text
	})
}
