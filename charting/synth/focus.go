package synth

import (
	"slices"
	"time"

	"stopledger/events"
)

// watcher makes a focus chart: one player, while he is on the floor, in his
// team's defensive chances.
type watcher struct {
	*reader
	player *player
	team   *team
	on     bool // he is on the floor
	listed bool // his line-up has been set
	seen   int  // chances since the score was noted
	score  [2]int
}

// notSeen is the share of chances in which the film does not show him.
const notSeen = 0.06

func focusChart(s *Season, b *book, p *player) {
	d := newDice(s.options.Seed, streamFocus+uint64(b.plan.game))
	h := focusCharter
	r := &reader{scribe: b.scribe(d, "focus", h.charter, b.plan.tip.Add(64*time.Hour), 1.2), habits: h}
	r.film, r.source = b.plan.film, "film"
	w := &watcher{reader: r, player: p, team: s.teams[p.team]}
	w.open(events.ChartScoped{Ends: events.OneEnd, Team: w.team.id, Focus: p.id})
	for _, m := range b.played.moments {
		switch {
		case m.chance != nil:
			w.watch(m)
		case m.fact != nil:
			w.hear(m)
		default:
			w.anchor(m)
		}
	}
	w.write(b.played.last().real+300, events.When{}, &events.GameClosed{})
}

// hear takes from the plain facts what concerns him: his coming and going, his
// team's scheme, points that no chance answers for.
func (w *watcher) hear(m moment) {
	switch f := m.fact.(type) {
	case *events.LineupSet:
		if f.Team == w.team.id {
			w.appear(m, slices.Contains(f.Players, w.player.id))
		}
	case *events.Substituted:
		if f.In == w.player.id || f.Out == w.player.id {
			w.appear(m, f.In == w.player.id)
		}
	case *events.SchemeSet:
		if f.Team == w.team.id {
			w.write(m.real, w.when(m, m.clock), f)
		}
	case *events.PenaltyShots:
		for i, s := range w.book.played.sides {
			if s.team.id == f.Team {
				w.score[i] += f.Made
			}
		}
	}
}

func (w *watcher) appear(m moment, on bool) {
	if on == w.on {
		return
	}
	w.on = on
	var body events.Body = &events.Substituted{Team: w.team.id, In: w.player.id}
	switch {
	case !on:
		body = &events.Substituted{Team: w.team.id, Out: w.player.id}
	case !w.listed:
		body, w.listed = &events.LineupSet{Team: w.team.id, Players: []events.Token{w.player.id}}, true
	}
	w.write(m.real, w.when(m, m.clock), body)
}

// watch charts a chance he defends, and keeps the score through the others.
func (w *watcher) watch(m moment) {
	c := m.chance
	defence := w.book.played.sides[1-c.offence]
	w.score[c.offence] += c.points(w.book.played.rules)
	if defence.team != w.team || !w.on {
		return
	}
	w.shift = w.d.normal(0, w.jitter)
	began := &events.ChanceBegan{Offence: w.book.played.sides[c.offence].team.id, Origin: c.origin, Tempo: c.tempo}
	id := w.write(m.real-(c.began-m.clock), w.when(m, c.began), began)
	end := c.end
	end.Chance, end.Focus = id, events.NotTested
	if w.d.odds(notSeen) {
		end.Focus = events.NotSeen
	}
	for i := range c.asks {
		a := &c.asks[i]
		if a.defender == w.player && end.Focus != events.NotSeen && !w.d.odds(w.missed) {
			w.write(m.real-(a.clock-m.clock), w.when(m, a.clock), w.read(id, c, a))
			end.Focus = events.Acted
		}
	}
	if c.trip.Attempted > 0 {
		joinTrip(&end, c.trip)
	}
	w.write(m.real, w.when(m, m.clock), &end)
	if w.seen++; w.seen%8 == 0 {
		w.write(m.real+4, w.when(m, m.clock), &events.ScoreNoted{Home: w.score[0], Away: w.score[1]})
	}
}
