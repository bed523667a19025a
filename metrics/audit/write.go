package audit

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// Stamper gives an event its identity: id, game, chart, charter, pad, n and, if
// wanted, when it was recorded. It is called once for each event, in the order
// of the new chart, so n may simply count up.
type Stamper interface{ Stamp(e *events.Event) }

// Writing says what a settled chart records besides the game.
type Writing struct {
	By    string       // who settled, for the note of origin
	Adopt events.Token // the chart to make the chart of record, usually the new one; "" for none
}

// Events writes the settled chart as the events of a new chart, checked and
// sealed. It begins with a note that says which charts it came from, and each
// choice has a note about the action or chance it settled. What the base chart
// holds besides stands: opening, scope, line-ups and schemes as they were in
// force, films, penalty shots, remarks, official totals. Scoreboard notes are
// left out, since a folded chart does not keep them.
func (s *Settling) Events(choices Choices, stamp Stamper, w Writing) ([]events.Event, error) {
	return s.write(choices, stamp, w, (*events.Event).Seal)
}

// write writes the settled chart, each event finished by seal.
func (s *Settling) write(choices Choices, stamp Stamper, w Writing, seal func(*events.Event) error) ([]events.Event, error) {
	c, err := s.read(choices)
	if err != nil {
		return nil, err
	}
	out := &writer{Settling: s, stamp: stamp, seal: seal, ids: map[events.ID]events.ID{}, lineUps: map[events.Token][]events.Token{}, schemes: map[events.Token]events.SchemeSet{}}
	list := s.build(c)
	out.open(list, s.origin(choices, w.By))
	penalties := slices.Clone(s.u.charts[s.base].Penalties)
	for _, x := range list {
		for len(penalties) > 0 && s.before(&penalties[0], x) {
			out.put(penalties[0].When, &penalties[0].PenaltyShots)
			penalties = penalties[1:]
		}
		out.chance(x)
	}
	for i := range penalties {
		out.put(penalties[i].When, &penalties[i].PenaltyShots)
	}
	out.close(choices, w.Adopt)
	return out.list, out.err
}

// before reports whether penalty shots came before a chance. At the same clock
// the one recorded first did, which ids tell.
func (s *Settling) before(p *replay.Penalty, x settled) bool {
	order := inPlay(placeAt(p.When, "", ""), s.placeOf(x))
	return order < 0 || order == 0 && x.moment.chart == s.base && p.ID < s.chance(x.moment).ID
}

// origin says in one line where the chart came from.
func (s *Settling) origin(choices Choices, by string) string {
	var names []string
	for _, c := range s.u.charts {
		var who []string
		for _, p := range c.Charters {
			who = append(who, string(p.Charter))
		}
		names = append(names, fmt.Sprintf("%s (%s)", c.Name, strings.Join(who, ", ")))
	}
	taken := map[events.Token]int{}
	for _, chart := range choices {
		taken[chart]++
	}
	text := fmt.Sprintf("settled from %s on %s: %s", listed(names), s.Base, few(len(s.Disagreements), "disagreement"))
	for _, chart := range slices.Sorted(maps.Keys(taken)) {
		text += fmt.Sprintf(", %d decided for %s", taken[chart], chart)
	}
	if by != "" {
		text += "; by " + by
	}
	return text
}

// writer writes a chart's events one after the other.
type writer struct {
	*Settling
	stamp   Stamper
	seal    func(*events.Event) error
	list    []events.Event
	err     error
	ids     map[events.ID]events.ID // old event to new, for details and notes
	lineUps map[events.Token][]events.Token
	schemes map[events.Token]events.SchemeSet
	films   map[int]bool // charts whose film times can be kept
}

func (w *writer) put(when events.When, body events.Body) events.ID {
	e := events.Event{V: events.Version, When: when, Type: body.Type(), Body: body}
	w.stamp.Stamp(&e)
	if err := w.seal(&e); err != nil && w.err == nil {
		w.err = fmt.Errorf("settled chart, %s at %s: %w", e.Type, placeAt(when, "", ""), err)
	}
	w.list = append(w.list, e)
	return e.ID
}

func (w *writer) open(list []settled, origin string) {
	base := w.u.charts[w.base]
	info := base.Info
	w.put(events.When{}, &info)
	if scope := base.Scope; scope.Ends != "" || scope.Focus != "" || scope.Team != "" || scope.From.Period > 0 || scope.To.Period > 0 {
		w.put(events.When{}, &scope)
	}
	w.put(events.When{}, &events.Noted{Text: origin})
	w.openFilms(list)
}

// openFilms links the films of every chart that something is taken from, unless
// one id means two films.
func (w *writer) openFilms(list []settled) {
	used := map[int]bool{w.base: true}
	for _, x := range list {
		used[x.moment.chart] = true
		for _, a := range x.actions {
			used[a.moment.chart] = true
		}
	}
	linked := map[events.Token]events.FilmLinked{}
	w.films = map[int]bool{}
	for _, i := range append([]int{w.base}, slices.Sorted(maps.Keys(used))...) {
		if w.films[i] {
			continue
		}
		c := w.u.charts[i]
		if slices.ContainsFunc(c.Films, func(f events.FilmLinked) bool {
			old, known := linked[f.ID]
			return known && (old.Bytes != f.Bytes || old.Fingerprint != f.Fingerprint || old.Name != f.Name)
		}) {
			continue
		}
		w.films[i] = true
		fresh := map[events.Token]bool{}
		for _, f := range c.Films {
			if _, known := linked[f.ID]; !known {
				linked[f.ID], fresh[f.ID] = f, true
				w.put(events.When{}, &f)
			}
		}
		for _, a := range c.Anchors {
			if fresh[a.Film] {
				w.put(events.When{}, &a)
			}
		}
	}
}

// moment is a version's moment on the base's clock, without film times whose
// film means another here.
func (w *writer) moment(chart int, when events.When) events.When {
	if !w.films[chart] {
		when.Film = nil
	}
	return w.when(chart, when)
}

func (w *writer) chance(x settled) {
	ch, at := w.Settling.chance(x.facts), w.Settling.chance(x.moment)
	when := w.moment(x.moment.chart, at.When)
	if x.moment.chart == w.base || at.Base != events.Unknown {
		w.scheme(when, at)
	}
	w.lineUp(when, at)
	id := w.put(when, &events.ChanceBegan{Offence: ch.Offence, Origin: ch.Origin, Tempo: ch.Tempo})
	w.meet(w.u.chances[x.unit], func(i, k int) events.ID { return w.u.charts[i].Chances[k].ID }, id)
	latest := when.Clock
	for _, a := range x.actions {
		latest = w.act(id, a, latest)
	}
	switch {
	case !ch.Ended:
	case at.Ended:
		w.put(w.moment(x.moment.chart, at.Finish), endOf(ch, id))
	default:
		w.put(w.moment(x.facts.chart, ch.Finish), endOf(ch, id))
	}
}

func endOf(ch *replay.Chance, id events.ID) *events.ChanceEnded {
	return &events.ChanceEnded{
		Chance: id, End: ch.End, Turnover: ch.Turnover, Next: ch.Next, Shooter: ch.Shooter, LostBy: ch.LostBy, Spot: ch.Spot,
		BlockedBy: ch.BlockedBy, StealBy: ch.StealBy, Heave: ch.Heave, Rebound: ch.Rebound, ReboundBy: ch.ReboundBy,
		TeamRebound: ch.TeamBoard, Made: ch.Made, Attempted: ch.Attempted, Focus: ch.Focus,
	}
}

// act writes an action. Its clock never runs ahead of the one before it in the
// chance, so that the settled order stands.
func (w *writer) act(chance events.ID, x settledAction, latest *float64) *float64 {
	a := w.action(x.facts)
	when := w.moment(x.moment.chart, w.action(x.moment).When)
	if latest != nil && (when.Clock == nil || *when.Clock > *latest) {
		clock := *latest
		when.Clock = &clock
	}
	body := &events.Action{Chance: chance, Kind: a.Kind, Defender: a.Defender, Opponent: a.Opponent, Outcome: a.Outcome, Spot: a.Spot, Details: maps.Clone(a.Details)}
	if old := events.ID(body.Details.First("follows")); old != "" {
		if now, known := w.ids[old]; known {
			body.Details["follows"] = []string{string(now)}
		} else {
			delete(body.Details, "follows")
		}
	}
	id := w.put(when, body)
	w.meet(w.u.actions[x.unit], func(i, k int) events.ID { return w.u.charts[i].Actions[k].ID }, id)
	if when.Clock == nil {
		return latest
	}
	return when.Clock
}

// meet remembers what every chart's version of a unit is called from now on.
func (w *writer) meet(one unit, name func(chart, index int) events.ID, id events.ID) {
	for i, k := range one.of {
		if k >= 0 {
			w.ids[name(i, k)] = id
		}
	}
}

// lineUp writes the line-ups where they changed.
func (w *writer) lineUp(when events.When, ch *replay.Chance) {
	for _, l := range []struct {
		team events.Token
		five []events.Token
	}{{ch.Defence, ch.OnFloor}, {ch.Offence, ch.OffenceFloor}} {
		if len(l.five) == 0 || len(l.five) > 5 || slices.Equal(l.five, w.lineUps[l.team]) {
			continue
		}
		w.lineUps[l.team] = l.five
		w.put(when, &events.LineupSet{Team: l.team, Players: l.five})
	}
}

// scheme writes the defence's scheme where it changed. A chance that the base
// lacks says nothing where its chart does not name one.
func (w *writer) scheme(when events.When, ch *replay.Chance) {
	now := events.SchemeSet{Team: ch.Defence, Base: ch.Base, Principle: ch.Principle, Pressure: ch.Pressure}
	old, set := w.schemes[ch.Defence]
	if !set {
		old = events.SchemeSet{Team: ch.Defence, Base: events.Unknown, Principle: events.Unknown}
	}
	if now != old {
		w.schemes[ch.Defence] = now
		w.put(when, &now)
	}
}

func (w *writer) close(choices Choices, adopt events.Token) {
	base := w.u.charts[w.base]
	for _, n := range base.Notes {
		w.put(n.When, &events.Noted{Text: n.Text, About: w.ids[n.About]})
	}
	for _, d := range w.Disagreements {
		if chart, said := choices[d.ID]; said {
			w.put(events.When{}, &events.Noted{Text: settledText(d, chart), About: w.ids[d.ID]})
		}
	}
	if base.Official != nil {
		w.put(events.When{}, base.Official)
	}
	if base.Closed {
		w.put(events.When{}, &events.GameClosed{})
	}
	if adopt != "" {
		w.put(events.When{}, &events.ChartAdopted{Chart: adopt})
	}
}

// settledText says how a disagreement was settled.
func settledText(d Disagreement, chart events.Token) string {
	var right string
	var others []string
	for _, v := range d.Versions {
		if v.Chart == chart {
			right = v.Text
		} else {
			others = append(others, fmt.Sprintf("%s has: %s", v.Chart, v.Text))
		}
	}
	return fmt.Sprintf("as in %s: %s; %s", chart, right, strings.Join(others, "; "))
}
