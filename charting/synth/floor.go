package synth

import (
	"math"
	"slices"

	"stopledger/events"
)

// moment is one thing that happened in a game, in the order it happened:
// a chance, or a plain fact a charter may write down as it stands.
type moment struct {
	period int
	clock  float64 // seconds left in the period
	real   float64 // seconds since the opening tip on the arena's wall clock
	chance *chance
	fact   events.Body // line-ups, substitutions, schemes, penalty shots
	stop   float64     // the clock stands still from here for so many seconds
	edge   bool        // a period begins or ends here
}

// chance is one try at scoring as it truly happened.
type chance struct {
	offence int // 0 home, 1 away
	origin  events.Origin
	tempo   events.Tempo
	began   float64
	ended   float64
	asks    []ask
	end     events.ChanceEnded
	trip    events.ShotsTaken // free throws, if any: Attempted > 0
	five    [5]*player        // the defence
	scheme  scheme
}

// ask is one thing a defender was asked to do, and its true reading.
type ask struct {
	kind     int
	defender *player // nil: nobody's
	opponent *player // nil: nobody in particular
	reading  int     // held, even, broken; none for a tactical foul
	outcome  events.Outcome
	details  events.Details
	follows  int // index of his earlier ask in this chance; -1: none
	spot     *events.Spot
	clock    float64
}

const noReading = -1

// side is one team during a game.
type side struct {
	team      *team
	five      []*player
	played    map[*player]float64 // seconds
	fouls     map[*player]int
	teamFouls int // in this period
	scheme    scheme
	since     float64 // the game second the scheme was set
	score     int
}

// floor is a game being played.
type floor struct {
	season *Season
	d      dice
	rules  events.Rules
	round  int
	sides  [2]*side
	period int
	clock  float64
	real   float64
	ball   int // who has it next
	arrow  int // who has the next held ball
	origin events.Origin
	dead   bool
	out    []moment
}

// played is a whole game as it truly was.
type played struct {
	moments []moment
	sides   [2]*side
	rules   events.Rules
	periods int
}

func (s *Season) playGame(p plan) played {
	f := &floor{season: s, d: newDice(s.options.Seed, p.stream+uint64(p.game)), rules: p.rules, round: p.round}
	for i, t := range []*team{p.home, p.away} {
		f.sides[i] = &side{team: t, played: make(map[*player]float64), fouls: make(map[*player]int), scheme: t.first}
	}
	f.start()
	for f.period = 1; f.period <= f.rules.Periods || f.sides[0].score == f.sides[1].score; f.period++ {
		f.playPeriod()
	}
	return played{f.out, f.sides, f.rules, f.period - 1}
}

// start is the tip: one side wins it, the arrow goes to the other.
func (f *floor) start() {
	f.ball = f.d.IntN(2)
	f.arrow = 1 - f.ball
	for _, s := range f.sides {
		s.five = slices.Clone(s.team.players[:5])
	}
}

func (f *floor) playPeriod() {
	f.clock = f.rules.Length(f.period)
	f.origin = events.FromJump
	if f.period > 1 {
		f.ball, f.arrow = f.arrow, 1-f.arrow
		f.origin = events.FromSideline
	}
	f.out = append(f.out, moment{period: f.period, clock: f.clock, real: f.real, edge: true})
	for i, s := range f.sides {
		if !f.rules.Overtime(f.period) { // fouls of an overtime count on from the last period
			s.teamFouls = 0
		}
		f.rest(i)
		f.fact(&events.LineupSet{Team: s.team.id, Players: ids(s.five)})
	}
	if f.period == 1 {
		for i := range f.sides {
			f.setScheme(i, f.sides[i].team.first)
		}
	}
	for f.clock > 0 {
		f.playChance()
		if f.clock > 0 && f.dead {
			f.whistle()
		}
	}
	f.out = append(f.out, moment{period: f.period, clock: 0, real: f.real, edge: true})
	f.real += f.d.between(110, 140)
	if f.period == f.rules.Periods/2 {
		f.real += f.d.between(600, 900)
	}
}

func (f *floor) fact(b events.Body) {
	f.out = append(f.out, moment{period: f.period, clock: f.clock, real: f.real, fact: b})
}

// pause stops the clock for some seconds.
func (f *floor) pause(seconds float64) {
	f.out = append(f.out, moment{period: f.period, clock: f.clock, real: f.real, stop: seconds})
	f.real += seconds
}

// gameSecond counts the seconds played since the tip.
func (f *floor) gameSecond() float64 {
	var sum float64
	for p := 1; p < f.period; p++ {
		sum += f.rules.Length(p)
	}
	return sum + f.rules.Length(f.period) - f.clock
}

// whistle is a dead ball: men come and go, schemes change, once in a while a
// technical foul is called.
func (f *floor) whistle() {
	timeout := f.d.odds(0.12)
	if timeout {
		f.pause(f.d.between(60, 75))
	}
	for i, s := range f.sides {
		if f.mustLeave(s) || f.d.odds(0.5) {
			f.substitute(i)
		}
		if f.d.odds(0.04) || timeout && f.d.odds(0.25) {
			f.changeScheme(i)
		}
	}
	if f.d.odds(0.006) {
		f.penalty()
	}
}

func (f *floor) changeScheme(i int) {
	s := f.sides[i]
	if f.gameSecond()-s.since < 240 {
		return
	}
	next := s.team.first
	if s.scheme == next && f.d.odds(0.6) {
		next = s.team.second
	}
	if next != s.scheme {
		f.setScheme(i, next)
	}
}

func (f *floor) setScheme(i int, to scheme) {
	s := f.sides[i]
	s.scheme, s.since = to, f.gameSecond()
	f.fact(&events.SchemeSet{Team: s.team.id, Base: to.base, Principle: to.principle, Pressure: to.pressure})
}

// penalty is a technical foul: one shot, then play goes on where it stopped;
// or an unsportsmanlike one: two, and the ball.
func (f *floor) penalty() {
	i := f.d.IntN(2)
	s := f.sides[i]
	shooter := s.five[f.d.IntN(2)]
	p := &events.PenaltyShots{Team: s.team.id, Attempted: 1, Why: "technical", BallAfter: f.sides[f.ball].team.id, Shooter: shooter.id}
	if f.d.odds(0.3) {
		p.Attempted, p.Why, p.BallAfter = 2, "flagrant", s.team.id
		f.ball, f.origin = i, events.FromSideline
	}
	for range p.Attempted {
		if f.d.odds(shooter.line) {
			p.Made++
		}
	}
	s.score += p.Made
	f.pause(f.d.between(25, 45))
	f.fact(p)
}

// tick runs the clock down.
func (f *floor) tick(to float64) {
	gone := f.clock - to
	for _, s := range f.sides {
		for _, p := range s.five {
			s.played[p] += gone
		}
	}
	f.real += gone
	f.clock = to
}

func ids(players []*player) []events.Token {
	out := make([]events.Token, len(players))
	for i, p := range players {
		out[i] = p.id
	}
	return out
}

// arrange orders five men by role, so that guards face guards.
func arrange(five []*player) {
	slices.SortStableFunc(five, func(a, b *player) int { return a.role - b.role })
}

func (f *floor) mustLeave(s *side) bool {
	for _, p := range s.five {
		if s.fouls[p] >= 5 {
			return true
		}
	}
	return false
}

// rest puts the men on the floor whose share of the minutes is least used, at
// the start of a period.
func (f *floor) rest(i int) {
	for range 3 {
		f.swap(i, false)
	}
	arrange(f.sides[i].five)
}

func (f *floor) substitute(i int) {
	for range 2 {
		if !f.swap(i, true) {
			break
		}
	}
	arrange(f.sides[i].five)
}

// swap takes out the man furthest over his minutes for the bench's most
// rested of a like role.
func (f *floor) swap(i int, say bool) bool {
	s := f.sides[i]
	now := f.gameSecond()
	over := func(p *player) float64 {
		if s.fouls[p] >= 5 {
			return math.Inf(1)
		}
		return s.played[p] - f.share(p)*(now+60)
	}
	out, in := -1, (*player)(nil)
	for j, p := range s.five {
		if out < 0 || over(p) > over(s.five[out]) {
			out = j
		}
	}
	for _, p := range s.team.players {
		if slices.Contains(s.five, p) || s.fouls[p] >= 5 || !alike(p, s.five[out]) {
			continue
		}
		if in == nil || over(p) < over(in) {
			in = p
		}
	}
	if in == nil || over(s.five[out])-over(in) < 150 {
		return false
	}
	if say {
		f.fact(&events.Substituted{Team: s.team.id, In: in.id, Out: s.five[out].id})
	}
	s.five[out] = in
	return true
}

// share is the part of this game's minutes a man is meant to play.
func (f *floor) share(p *player) float64 {
	if p.story == SparseFilm && (f.round < p.rounds[0] || f.round > p.rounds[1]) {
		return -1
	}
	return p.share
}

func alike(a, b *player) bool { return a.role == b.role || a.role+b.role != guard+big }
