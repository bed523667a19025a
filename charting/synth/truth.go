package synth

import "stopledger/events"

// Truth is what the season was made from: what an estimate should find. Every
// probability lies between 0 and 1, every effect is in log-odds.
type Truth struct {
	Invented bool            `json:"invented"`
	Seed     uint64          `json:"seed"`
	Games    int             `json:"games"`
	Model    ModelTruth      `json:"model"`
	Teams    []TeamTruth     `json:"teams"`
	Players  []PlayerTruth   `json:"players"`
	Results  []ResultTruth   `json:"results"`
	Charters []CharterTruth  `json:"charters"`
	Planted  []Planted       `json:"planted"` // left wrong on purpose, in the order of the games
	Measured MeasuredOnGames `json:"measured_on"`
}

// MeasuredOnGames says how many other games, played by the same players but
// never charted, stand behind every stop probability and mean here. Their
// standard error follows from the n beside each.
type MeasuredOnGames int

// ModelTruth holds the effects that readings are drawn from:
//
//	P(even)  = even_k
//	P(held)  = (1 - even_k) logistic(mu_k + own_{role,k} + skill_{player,k} + facing_{opponent's role,k} + scheme_{s,k})
type ModelTruth struct {
	Mu      map[events.Kind]float64                 `json:"mu"`
	Even    map[events.Kind]float64                 `json:"even"`
	Own     map[events.Role]map[events.Kind]float64 `json:"own"`
	Facing  map[events.Role]map[events.Kind]float64 `json:"facing"` // 0 for an opponent nobody named
	Schemes []SchemeTruth                           `json:"schemes"`
	// Push is what a held, even or broken reading adds to the log-odds that a
	// shot of the chance goes in.
	Push map[events.Kind][3]float64 `json:"push"`
}

// SchemeTruth is what a scheme adds to each kind. Pressure adds nothing.
type SchemeTruth struct {
	Base      events.Base             `json:"base"`
	Principle events.Principle        `json:"principle"`
	Effect    map[events.Kind]float64 `json:"effect"`
}

// TeamTruth is how a team means to defend.
type TeamTruth struct {
	ID      events.Token       `json:"id"`
	Name    string             `json:"name"`
	Schemes []events.SchemeSet `json:"schemes"` // the first is played most
}

// PlayerTruth is one player: what he can do, and what lies around him.
type PlayerTruth struct {
	ID    events.Token `json:"id"`
	Team  events.Token `json:"team"`
	Role  events.Role  `json:"role"`
	Story Story        `json:"story,omitempty"`
	// Skill is his own part by kind: alpha + beta of the pooled model.
	Skill    map[events.Kind]float64 `json:"skill"`
	Alpha    float64                 `json:"alpha"`
	Presence float64                 `json:"presence"` // what he takes off shots he has no part in
	Luck     float64                 `json:"luck"`     // what opponents' shots gain in his chances; not repeatable
	Process  []CellTruth             `json:"process"`
	Stops    []StopTruth             `json:"stops"`
}

// CellTruth is how a kind of action ends for a player against a role, in a
// scheme that changes nothing. The three sum to one.
type CellTruth struct {
	Kind   events.Kind `json:"kind"`
	Role   events.Role `json:"role"`
	Held   float64     `json:"held"`
	Even   float64     `json:"even"`
	Broken float64     `json:"broken"`
}

// StopTruth is how often the chances of such actions were stops, in the sense
// of the definition ball-won, among the team-mates, opponents, schemes and
// luck of this season. Period ends without a try are left out.
type StopTruth struct {
	Kind   events.Kind `json:"kind"`
	Stop   float64     `json:"stop"`
	Points float64     `json:"points"` // mean of the chance
	N      int         `json:"n"`      // actions measured on
}

// ResultTruth is the same over everybody, by what the defender did.
type ResultTruth struct {
	Kind    events.Kind    `json:"kind"`
	Reading events.Reading `json:"reading"`
	Stop    float64        `json:"stop"`
	Points  float64        `json:"points"`
	N       int            `json:"n"`
}

// CharterTruth is how a charter departs from what truly happened. Of actions
// that were whistled (fouls and charges drawn) kind and reading are right.
type CharterTruth struct {
	Charter events.Token `json:"charter"`
	Chart   events.Token `json:"chart"`
	// Labels[r] is how a true held, even or broken reading is written: held,
	// even, broken or unclear. It includes hindsight.
	Labels    [3][4]float64 `json:"labels"`
	Hindsight float64       `json:"hindsight"` // held written broken for a score he saw
	Blind     float64       `json:"blind"`     // readings taken before the result
	OtherKind float64       `json:"other_kind"`
	Missed    float64       `json:"missed"`       // actions
	Skipped   float64       `json:"skipped"`      // chances
	Offset    float64       `json:"offset"`       // seconds, of his clock
	Jitter    float64       `json:"jitter"`       // its standard deviation by chance
	KindKappa float64       `json:"kind_kappa"`   // against the main chart, of actions both saw
	Kappa     float64       `json:"kappa"`        // of held, even, broken where neither is unclear
	Linear    float64       `json:"kappa_linear"` // the same, weighted by the distance and by its square
	Quadratic float64       `json:"kappa_quadratic"`
}

// Planted is something left wrong in a chart on purpose.
type Planted struct {
	Game   events.Token `json:"game"`
	Chart  events.Token `json:"chart"`
	What   string       `json:"what"`
	Text   string       `json:"text"`
	Chance events.ID    `json:"chance,omitempty"`
	Period int          `json:"period"`
	Clock  float64      `json:"clock"`
}

// measuredGames keep the standard error under two points in a hundred for
// every kind and reading; for most it is under one.
const measuredGames MeasuredOnGames = 400

// Truth writes down what the season was made from. It plays some hundred games
// besides to measure what has no formula, which takes about a second.
func (s *Season) Truth() Truth {
	m := s.measureResults(int(measuredGames))
	t := Truth{
		Invented: true, Seed: s.options.Seed, Games: s.options.Games, Measured: measuredGames,
		Model: s.effects.truth(), Results: m.results(), Charters: m.charters(), Planted: s.planted(),
	}
	for _, tm := range s.teams {
		t.Teams = append(t.Teams, tm.truth())
		for _, p := range tm.players {
			t.Players = append(t.Players, s.playerTruth(p, tm, m))
		}
	}
	return t
}

func byKind(row [kindCount]float64) map[events.Kind]float64 {
	out := make(map[events.Kind]float64, kindCount)
	for k, v := range row {
		out[kindWord(k)] = v
	}
	return out
}

func (e *effects) truth() ModelTruth {
	m := ModelTruth{
		Mu: byKind(e.mu), Even: byKind(e.even), Push: make(map[events.Kind][3]float64),
		Own: make(map[events.Role]map[events.Kind]float64), Facing: make(map[events.Role]map[events.Kind]float64),
	}
	for r := range 3 {
		m.Own[roleWords[r]] = byKind(e.rho[r])
		m.Facing[roleWords[r]] = byKind(e.gamma[r])
	}
	for _, key := range schemeKeys() {
		m.Schemes = append(m.Schemes, SchemeTruth{key.base, key.principle, byKind(e.delta[key])})
	}
	for k, row := range e.push {
		m.Push[kindWord(k)] = row
	}
	return m
}

func (t *team) truth() TeamTruth {
	out := TeamTruth{ID: t.id, Name: t.name}
	for _, sc := range []scheme{t.first, t.second} {
		out.Schemes = append(out.Schemes, events.SchemeSet{Team: t.id, Base: sc.base, Principle: sc.principle, Pressure: sc.pressure})
	}
	return out
}

func (s *Season) playerTruth(p *player, t *team, m *measured) PlayerTruth {
	out := PlayerTruth{
		ID: p.id, Team: t.id, Role: roleWords[p.role], Story: p.story,
		Skill: byKind(p.skill), Alpha: p.alpha, Presence: p.presence, Luck: p.luck,
	}
	for k := range kindCount {
		for r := range 3 {
			c := s.effects.chances(p, k, r, 0)
			out.Process = append(out.Process, CellTruth{kindWord(k), roleWords[r], c[held], c[even], c[broken]})
		}
		if tally := m.players[p][k]; tally.n > 0 {
			out.Stops = append(out.Stops, StopTruth{kindWord(k), tally.stop(), tally.mean(), tally.n})
		}
	}
	return out
}

// planted charts again the games in which something may have been left wrong.
func (s *Season) planted() []Planted {
	out := []Planted{}
	for i := range s.options.Games {
		p := s.plan(i)
		slipped := p.slip != noSlip && p.slip != noTotals
		if slipped || p.second != nil && p.second.skipped > 0 {
			out = append(out, s.book(p).planted...)
		}
	}
	return out
}
