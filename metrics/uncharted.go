package metrics

import (
	"cmp"
	"math"
	"slices"

	"stopledger/events"
)

// UnchartedGame is a game on the ledger whose chances are known, as from the
// official play-by-play, while nobody has charted the defence of his team.
type UnchartedGame struct {
	Game    events.Token `json:"game"`
	Date    string       `json:"date,omitempty"`
	Chances int          `json:"chances"` // against his team; those he was on the floor for, where line-ups are known
	OnFloor bool         `json:"on_floor"`
	// Expected is about how many of the chances the plan asks for it holds, at his
	// rate by chance in the games that are charted.
	Expected []ExpectedFilm `json:"expected"`
}

// ExpectedFilm is about how many chances of a kind a game holds.
type ExpectedFilm struct {
	Kind    events.Kind `json:"kind"`
	Role    events.Role `json:"role,omitempty"`
	CameBy  string      `json:"came_by,omitempty"`
	Chances float64     `json:"chances"`
}

func sortSteps(list []PlanStep) {
	slices.SortStableFunc(list, func(a, b PlanStep) int { return b.Chances - a.Chances })
}

// uncharted lists the games of his team without any charted action of its
// defence, those with most of what the plans ask for first.
func (s *Study) uncharted(p int, plans []AssignmentPlan) []UnchartedGame {
	id, team := s.film.players[p].id, string(s.film.players[p].team)
	count := s.countGames(team)
	out := []UnchartedGame{}
	dates := s.Columns.Games.Column("game.date")
	charted, floorKnown := 0, false
	for g := range count {
		if count[g].acted > 0 {
			n := count[g].chances
			if e := s.floor[s.Columns.GameIDs[g]][id]; e.Chances > 0 {
				n, floorKnown = e.Chances, true
			}
			charted += n
		}
	}
	for g := range count {
		if count[g].acted > 0 || count[g].chances == 0 {
			continue
		}
		u := UnchartedGame{Game: s.Columns.GameIDs[g], Date: wordOf(dates, dates.Code(g)), Chances: count[g].chances, Expected: []ExpectedFilm{}}
		if e := s.floor[u.Game][id]; floorKnown && e.Chances > 0 {
			u.Chances, u.OnFloor = e.Chances, true
		}
		out = append(out, u)
	}
	wanted := stepsOf(plans)
	total := make([]float64, len(out))
	for i := range out {
		for _, w := range wanted {
			n := float64(s.stepTrials(p, w)) / float64(max(charted, 1)) * float64(out[i].Chances)
			if n = math.Round(10*n) / 10; n > 0 {
				out[i].Expected = append(out[i].Expected, ExpectedFilm{w.Kind, w.Role, w.CameBy, n})
				total[i] += n
			}
		}
	}
	order := make([]int, len(out))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(total[b], total[a]), cmp.Compare(out[a].Game, out[b].Game))
	})
	sorted := make([]UnchartedGame, len(out))
	for i, at := range order {
		sorted[i] = out[at]
	}
	return sorted
}

type gameCount struct{ chances, acted int }

// countGames counts the chances against a team by game, and those with actions.
func (s *Study) countGames(team string) []gameCount {
	defence, acted := s.Columns.Chances.Column("chance.defence"), s.Columns.Chances.Column("chance.actions")
	out := make([]gameCount, len(s.Columns.GameIDs))
	for c := range s.Columns.Chances.Rows {
		if wordOf(defence, defence.Code(c)) != team {
			continue
		}
		g := s.Columns.ChanceGame[c]
		out[g].chances++
		if code := acted.Code(c); code != 0 && acted.Numbers[code] > 0 {
			out[g].acted++
		}
	}
	return out
}

// stepsOf joins the steps of several plans, each kind of film once.
func stepsOf(plans []AssignmentPlan) []PlanStep {
	var out []PlanStep
	for _, p := range plans {
		for _, s := range p.Steps {
			if !slices.ContainsFunc(out, func(x PlanStep) bool { return x.Kind == s.Kind && x.Role == s.Role && x.CameBy == s.CameBy }) {
				out = append(out, s)
			}
		}
	}
	return out
}

// stepTrials counts the film of a step that is charted already.
func (s *Study) stepTrials(p int, step PlanStep) int {
	n := 0
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if r.trial > 0 && events.Kinds[r.kind].Kind == step.Kind && (step.Role == "" || roles[r.facing] == step.Role) && (step.CameBy == "" || r.cameBy == step.CameBy) {
			n++
		}
	}
	return n
}
