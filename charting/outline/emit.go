package outline

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"stopledger/events"
)

// Pad is the pad and the charter of every event an outline makes.
const Pad events.Token = "outline"

// epoch dates the ids of a game whose date is not known.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// script is the game's events before they have numbers and ids.
type script struct {
	*reading
	o     Options
	items []item
}

// item is one event on its way: where it stands, and what its id is made of.
type item struct {
	pos    int // of the row it belongs to
	rank   int // before, at or behind that row
	clock  float64
	row    int // line in the file
	body   events.Body
	chance *chance // whose beginning, end or late free throw it is
}

const (
	opening = iota - 2
	before
	at
	behind
)

func (s *script) add(pos, rank int, clock float64, body events.Body, c *chance) {
	s.items = append(s.items, item{pos, rank, clock, s.rows[pos].line, body, c})
}

func (s *script) write(chances []*chance) {
	s.open()
	s.seat()
	for _, c := range chances {
		s.chance(c)
	}
	for _, p := range s.penalties {
		s.add(p.at[0], at, p.clock, p.penaltyShots(s.ballAfter(p)), nil)
	}
	s.substitutions()
	s.close()
	slices.SortStableFunc(s.items, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.pos, b.pos), cmp.Compare(a.rank, b.rank))
	})
}

func (s *script) open() {
	clock := s.startOf(0)
	home, away := s.o.Home, s.feed.other(s.o.Home)
	s.add(0, opening, clock, &events.GameOpened{
		Competition: s.o.Competition, Level: s.o.Level, Rules: s.o.Rules, Date: s.o.Date, Players: s.feed.Players,
		Home: events.Team{ID: home, Name: s.o.Names[home]}, Away: events.Team{ID: away, Name: s.o.Names[away]},
	}, nil)
	s.add(0, opening, clock, &events.ChartScoped{Ends: events.BothEnds}, nil)
}

// startOf is the clock a period begins at: its length, or more if the feed
// says so of its first row.
func (s *script) startOf(pos int) float64 {
	return max(s.o.Rules.Length(s.rows[pos].period), s.rows[pos].clock)
}

func (s *script) seat() {
	for from := 0; from < len(s.rows); {
		to := from
		for to < len(s.rows) && s.rows[to].period == s.rows[from].period {
			to++
		}
		on := s.starters(s.rows[from:to])
		for _, team := range s.feed.Teams {
			if len(on[team]) > 0 {
				s.add(from, before, s.startOf(from), &events.LineupSet{Team: team, Players: on[team]}, nil)
			}
		}
		s.checkClocks(from, to)
		from = to
	}
}

func (s *script) checkClocks(from, to int) {
	for i := from; i < to; i++ {
		if r := &s.rows[i]; r.clock > s.o.Rules.Length(r.period) {
			s.remark(r.line, fmt.Sprintf("%g seconds left in period %d, which has %g", r.clock, r.period, s.o.Rules.Length(r.period)))
			return
		}
	}
}

// chance adds a beginning and an end. The beginning stands as late as it can:
// behind the substitutions of the dead ball it began with, since the five on
// the floor then are those who defend it.
func (s *script) chance(c *chance) {
	p := max(c.opened+1, 0)
	for p < c.at && s.rows[p].clock >= c.from {
		p++
	}
	if p > c.at {
		p = c.at
	}
	s.add(p, before, c.from, &events.ChanceBegan{Offence: c.offence, Origin: c.origin}, c)
	s.items[len(s.items)-1].row = s.rows[c.at].line // one row, one chance
	end := c.end
	one := c.andOne
	if one == nil {
		s.add(c.at, at, s.rows[c.at].clock, &end, c)
		return
	}
	shots := &events.ShotsTaken{Made: one.made, Attempted: one.attempted(), Shooter: one.player, Last: events.LastMade}
	if !one.lastMade {
		shots.Last, shots.ReboundBy, shots.TeamRebound = "", end.ReboundBy, end.TeamRebound
		if end.Rebound == events.Offence || end.Rebound == events.Defence {
			shots.Last = events.LastShot(end.Rebound)
		}
		end.Rebound, end.ReboundBy, end.TeamRebound = "", "", false
	}
	s.add(c.at, at, s.rows[c.at].clock, &end, c)
	s.add(one.at[0], at, one.clock, shots, c)
}

// ballAfter is who has the ball after a penalty: the side that was fouled,
// or after a technical foul, whoever plays next.
func (s *script) ballAfter(t *trip) events.Token {
	if t.keepsBall {
		return t.team
	}
	if i := s.at(t.at[0]); i < len(s.tries) && s.tries[i].period == t.period {
		return s.tries[i].team
	}
	return ""
}

func (s *script) substitutions() {
	for i := range s.rows {
		r := &s.rows[i]
		switch {
		case r.play != substitution:
		case r.team == "" || r.player == "" && r.by == "":
			s.remark(r.line, "a substitution without a team, or of nobody; left out")
		case r.player == r.by:
			s.remark(r.line, fmt.Sprintf("%s comes in for himself; left out", r.by))
		default:
			s.add(i, at, r.clock, &events.Substituted{Team: r.team, In: r.by, Out: r.player}, nil)
		}
	}
}

func (s *script) close() {
	last := len(s.rows) - 1
	r := &s.rows[last]
	if s.o.Totals != nil {
		s.add(last, behind, r.clock, &events.TotalsEntered{Teams: s.o.Totals}, nil)
	}
	if r.play != periodEnd && r.clock > 0 {
		s.remark(r.line, fmt.Sprintf("the feed stops with %g seconds left in period %d; the game is not closed", r.clock, r.period))
		return
	}
	s.add(last, behind, r.clock, &events.GameClosed{}, nil)
}

// seal numbers the events, gives them ids and checks each. Clocks never run
// back within a period, so that the order of play is the order written here.
func (s *script) seal() ([]events.Event, error) {
	out := make([]events.Event, 0, len(s.items))
	ids := make(map[*chance]events.ID)
	period, low := 0, 0.0
	for i, it := range s.items {
		r := &s.rows[it.pos]
		if r.period != period {
			period, low = r.period, s.startOf(it.pos)
		}
		low = min(low, it.clock)
		e := events.Event{
			V: events.Version, ID: s.id(i, it), Game: s.o.Game, Chart: s.o.Chart, Charter: Pad, Pad: Pad, N: int64(i + 1),
			When: events.At(period, low), Type: it.body.Type(), Body: it.body,
		}
		e.When.From = "outline"
		switch b := it.body.(type) {
		case *events.ChanceBegan:
			ids[it.chance] = e.ID
		case *events.ChanceEnded:
			b.Chance = ids[it.chance]
		case *events.ShotsTaken:
			b.Chance = ids[it.chance]
		}
		if err := e.Seal(); err != nil {
			return nil, fmt.Errorf("line %d: %s: %w", it.row, e.Type, err)
		}
		out = append(out, e)
	}
	return out, nil
}

// id derives an event's identity from game, chart and row, shaped as version 7
// so that ids sort as the events stand.
func (s *script) id(i int, it item) events.ID {
	team := events.Token("")
	if l, ok := it.body.(*events.LineupSet); ok {
		team = l.Team
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "outline %s %s %d %s %s", s.o.Game, s.o.Chart, it.row, it.body.Type(), team))
	day := epoch
	if d, err := time.Parse(time.DateOnly, s.o.Date); err == nil && d.Year() >= 1970 {
		day = d
	}
	var u uuid.UUID
	copy(u[:], sum[:])
	ms := uint64(day.UnixMilli()) + uint64(i)
	for b := range 6 {
		u[b] = byte(ms >> (8 * (5 - b)))
	}
	u[6] = u[6]&0x0f | 0x70
	u[8] = u[8]&0x3f | 0x80
	return events.ID(u.String())
}
