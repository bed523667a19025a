package metrics

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// Profile is everything that this package says of one player, in the order a
// coach reads it. Pages and printed reports lay it out and add nothing.
type Profile struct {
	Player events.Token   `json:"player"`
	Team   events.Token   `json:"team,omitempty"`
	Role   events.Role    `json:"role,omitempty"`
	Film   Counts         `json:"film"`
	Levels []events.Level `json:"levels"`
	// Untested counts chances with him on the floor in which nobody tried him; nil
	// where no line-up is known.
	Untested *Untested `json:"untested"`

	Facts []Fact `json:"facts"` // three: what he takes away, what to attack, what nobody knows

	Kinds       []KindReport  `json:"kinds"` // those that cost most first
	Assignments []Projection  `json:"assignments"`
	Compared    ProcessResult `json:"process_against_result"`
	Recovery    Recovery      `json:"recovery"`
	Breaks      Breaks        `json:"first_breaks"`
	Streaks     Streaks       `json:"streaks"`
	Coach       []Tally       `json:"counts"`
	Spots       []Spot        `json:"spots"`
	Plan        FilmPlan      `json:"film_plan"`

	Made     Made     `json:"made_from"`
	Cautions []string `json:"cautions"`
}

// Untested is how often a player was left alone.
type Untested struct {
	OnFloor int `json:"on_floor"` // chances against his team with him on the floor
	Acted   int `json:"acted"`    // of these, with an action of his
}

// Spot is where an action was charted: metres from the floor under the basket,
// x toward the sideline on the shooter's right, y toward midcourt.
type Spot struct {
	Kind    events.Kind    `json:"kind"`
	Reading events.Reading `json:"reading,omitempty"`
	X       float64        `json:"x"`
	Y       float64        `json:"y"`
	Action  int            `json:"action"` // row in the columns
}

// Made names what a report was computed from; with it the numbers can be
// computed again.
type Made struct {
	Definition string                 `json:"definition"`
	Hash       string                 `json:"hash"`
	Digest     string                 `json:"digest"` // of the ledger
	Seed       uint64                 `json:"seed,string"`
	Games      int                    `json:"games"`
	Through    string                 `json:"through,omitempty"` // date of the last game
	Fold       int                    `json:"fold"`
	Vocabulary int                    `json:"vocabulary"`
	Invented   bool                   `json:"invented,omitempty"` // demo data
	Undecided  []definition.Undecided `json:"undecided"`
	Warnings   []string               `json:"warnings"` // what went less than well in the fits
}

// Profile reports on one player. Whoever is on the ledger has one, if only to
// say that there is no film.
func (s *Study) Profile(id events.Token) (*Profile, error) {
	p, err := s.player(id)
	if err != nil {
		return nil, err
	}
	m, err := s.model(Process)
	if err != nil {
		return nil, err
	}
	who := s.film.players[p]
	out := &Profile{
		Player: id, Team: who.team, Role: roles[who.role], Levels: s.levelsOf(p), Film: s.count(m, p, func(*row) bool { return true }),
		Recovery: s.recovery(p), Breaks: s.breaks(p), Streaks: s.streaks(p), Coach: s.coach(p), Spots: s.spots(p), Cautions: Cautions,
	}
	if e, ok := s.floor.of(id); ok {
		out.Untested = &Untested{e.Chances, e.Acted}
	}
	if out.Kinds, err = s.Kinds(id); err != nil {
		return nil, err
	}
	list, err := s.project(id)
	if err != nil {
		return nil, err
	}
	out.Assignments = projections(list)
	compared, err := s.ProcessResult(id)
	if err != nil {
		return nil, err
	}
	plan, err := s.filmPlan(id, list)
	if err != nil {
		return nil, err
	}
	if out.Made, err = s.Made(); err != nil {
		return nil, err
	}
	out.Compared, out.Plan = *compared, *plan
	out.Facts = s.facts(out)
	return out, nil
}

// Made names what this study was made from.
func (s *Study) Made() (Made, error) {
	m := Made{
		Definition: s.Definition.Name, Hash: s.Definition.Hash(), Digest: s.digest, Seed: s.seed, Games: len(s.Columns.GameIDs),
		Fold: replay.Version, Vocabulary: events.VocabularyVersion,
		Undecided: append([]definition.Undecided{}, s.film.verdicts.Undecided...), Warnings: []string{},
	}
	dates, invented := s.Columns.Games.Column("game.date"), s.Columns.Games.Column("game.invented")
	for g := range s.Columns.Games.Rows {
		m.Through = max(m.Through, wordOf(dates, dates.Code(g)))
		m.Invented = m.Invented || wordOf(invented, invented.Code(g)) == "true"
	}
	for _, t := range []Target{Process, Result} {
		list, err := s.Warnings(t)
		if err != nil {
			return m, err
		}
		for _, w := range list {
			m.Warnings = append(m.Warnings, string(t)+": "+w)
		}
	}
	return m, nil
}

// spots lists where his actions were charted.
func (s *Study) spots(p int) []Spot {
	x, y := s.Columns.Actions.Column("action.x"), s.Columns.Actions.Column("action.y")
	out := []Spot{}
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if len(x.Reals) == 0 || len(y.Reals) == 0 || x.Reals[r.action] != x.Reals[r.action] || y.Reals[r.action] != y.Reals[r.action] {
			continue // absent
		}
		out = append(out, Spot{events.Kinds[r.kind].Kind, readingWord(r.reading), float64(x.Reals[r.action]), float64(y.Reals[r.action]), r.action})
	}
	return out
}

// Evidence is one action behind a number.
type Evidence struct {
	Action int     `json:"action"` // row in the columns
	Chance int     `json:"chance"` // row in the columns
	Game   int     `json:"game"`   // row in the columns
	Points float64 `json:"points"` // answered for
}

// EvidenceQuery says which actions of a player are wanted; what is empty asks for
// anything.
type EvidenceQuery struct {
	Kind    events.Kind
	Role    events.Role // of the opponent
	Reading events.Reading
	Outcome events.Outcome
	CameBy  string
}

// Evidence lists the counted actions of a player behind a number, the typical
// ones first: those whose outcome is the commonest among them, then the next.
// Within an outcome they stand in the order of play.
func (s *Study) Evidence(id events.Token, q EvidenceQuery) ([]Evidence, error) {
	p, err := s.player(id)
	if err != nil {
		return nil, err
	}
	type found struct {
		Evidence
		outcome string
	}
	var list []found
	often := make(map[string]int)
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		outcome := s.film.word(r.action, "action.outcome")
		if q.Kind != "" && events.Kinds[r.kind].Kind != q.Kind || q.Role != "" && roles[r.facing] != q.Role ||
			q.Reading != "" && readingWord(r.reading) != q.Reading || q.Outcome != "" && outcome != string(q.Outcome) ||
			q.CameBy != "" && r.cameBy != q.CameBy {
			continue
		}
		often[outcome]++
		list = append(list, found{Evidence{r.action, int(r.chance), int(r.game), s.film.verdicts.Points[r.action]}, outcome})
	}
	slices.SortStableFunc(list, func(a, b found) int {
		return cmp.Or(often[b.outcome]-often[a.outcome], cmp.Compare(a.outcome, b.outcome))
	})
	out := make([]Evidence, len(list))
	for i := range list {
		out[i] = list[i].Evidence
	}
	return out, nil
}
