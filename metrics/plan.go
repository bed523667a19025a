package metrics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"stopledger/events"
	"stopledger/metrics/stats"
	"stopledger/metrics/stats/pooled"
)

// MaxPlan is the most chances that a film plan asks for.
const MaxPlan = 200

// FilmPlan is what to watch next of a player, and where it may still lie.
type FilmPlan struct {
	Player      events.Token     `json:"player"`
	Assignments []AssignmentPlan `json:"assignments"` // those that no word is said of yet
	Uncharted   []UnchartedGame  `json:"uncharted"`   // games on the ledger with such chances, most first
	Text        string           `json:"text"`        // where there is nothing to plan, why
}

// AssignmentPlan is the film that would settle one assignment.
type AssignmentPlan struct {
	Assignment string     `json:"assignment"`
	Word       Word       `json:"word"` // as it stands
	Why        string     `json:"why"`
	Better     *float64   `json:"better"`
	Steps      []PlanStep `json:"steps"` // the most informative first
	Chances    int        `json:"chances"`
	Games      *int       `json:"games"` // at his rate so far; nil where he is never asked this
	// Decided is the probability that the assignment ends decided once the
	// chances are charted, and Settles whether that is at least 80 % with film
	// enough for a word.
	Decided  float64 `json:"decided"`
	OwnShare float64 `json:"own_share"` // of his own film by then
	Settles  bool    `json:"settles"`
	Text     string  `json:"text"`
}

// PlanStep is how many chances of one kind to chart.
type PlanStep struct {
	Kind    events.Kind `json:"kind"`
	Role    events.Role `json:"role,omitempty"`
	CameBy  string      `json:"came_by,omitempty"`
	Chances int         `json:"chances"`
	Games   *int        `json:"games"`
	// Alone is the probability of ending decided that any amount of this kind
	// alone can reach.
	Alone float64 `json:"alone"`
	Note  string  `json:"note,omitempty"`
}

// FilmPlan works out what to watch next of a player for every assignment that is
// unsettled or has not enough film. The probability that further chances decide
// it follows in closed form from the normal distribution: see
// [stats.DecidedProbability].
func (s *Study) FilmPlan(id events.Token) (*FilmPlan, error) {
	list, err := s.project(id)
	if err != nil {
		return nil, err
	}
	return s.filmPlan(id, list)
}

func (s *Study) filmPlan(id events.Token, list []projected) (*FilmPlan, error) {
	m, err := s.model(Process)
	if err != nil {
		return nil, err
	}
	p := s.film.index[id]
	out := &FilmPlan{Player: id, Assignments: []AssignmentPlan{}, Uncharted: []UnchartedGame{}}
	pl := planner{s: s, m: m, p: p, him: m.draws.Group(p)}
	verdicts := 0
	for i := range list {
		if w := list[i].Word; w != Unsettled && w != NotEnoughFilm {
			continue
		}
		if list[i].versus == nil {
			verdicts++
			continue
		}
		a, err := pl.plan(&list[i])
		if err != nil {
			return nil, fmt.Errorf("film plan of %s: assignment %s: %w", id, list[i].Assignment, err)
		}
		out.Assignments = append(out.Assignments, a)
	}
	switch {
	case len(out.Assignments) > 0:
		out.Uncharted = s.uncharted(p, out.Assignments)
	case verdicts > 0:
		out.Text = fmt.Sprintf("there is nobody to compare %s with: chart at least %d others of his role, or state a reference in the definition", id, MinPeers)
	case len(list) == 0:
		out.Text = "the definition has no assignments"
	default:
		out.Text = "every assignment is decided; more film would only narrow it"
	}
	return out, nil
}

// planner plans for one player.
type planner struct {
	s   *Study
	m   *model
	p   int
	him *pooled.Member
}

// planCell is film that could be charted: a kind against a role, or where the ask
// names none against the roles that he meets.
type planCell struct {
	ask       *jobAsk
	at        int // its place among the asks
	roles     []roleShare
	weight    float64 // what one further trial is worth to the model
	effective float64 // and what it counts of an effective chance
	count     int     // chances planned
	alone     float64
}

func (pl *planner) plan(pr *projected) (AssignmentPlan, error) {
	a := AssignmentPlan{Assignment: pr.Assignment, Word: pr.Word, Why: pr.Why, Better: pr.Better, Steps: []PlanStep{}}
	cells := pl.cells(pr.job)
	d, own, err := pl.designs(pr, cells)
	if err != nil {
		return a, err
	}
	for i := range cells {
		cells[i].alone = d.Limit(i, Sure)
	}
	settled := func() bool { return d.Decided(Sure) >= Sure && pl.wouldDo(pr, own, cells) }
	for range MaxPlan {
		if settled() {
			break
		}
		best := nextCell(d, own, cells, d.Decided(Sure) >= Sure, pr)
		if best < 0 {
			break
		}
		d.Add(best, 1)
		own.Add(best, 1)
		cells[best].count++
		a.Chances++
	}
	a.Decided, a.OwnShare, a.Settles = d.Decided(Sure), ownShare(own.Variance, pr.spread), settled()
	pl.steps(&a, cells)
	a.Text = a.text()
	return a, nil
}

// nextCell is the cell of which one more trial tells most: about the difference
// from the field until that is decided, then about him alone, and last what he
// has no film of at all.
func nextCell(d, own *stats.Design, cells []planCell, decided bool, pr *projected) int {
	by := d
	if decided {
		by = own
	}
	missing := decided && ownShare(own.Variance, pr.spread) >= MinOwnShare
	best, left := -1, math.Inf(1)
	for i := range cells {
		if missing && (cells[i].count > 0 || pr.Asks[cells[i].at].Actions > 0) {
			continue
		}
		if v := by.VarianceAfter(i, 1); v < left-1e-15 && cells[i].weight > 0 {
			best, left = i, v
		}
	}
	if best < 0 && missing { // all of it has film; it only takes more
		return nextCell(d, own, cells, false, pr)
	}
	return best
}

// wouldDo reports whether with the planned chances there is film enough for a
// word.
func (pl *planner) wouldDo(pr *projected, own *stats.Design, cells []planCell) bool {
	effective, covered := pr.Film.Effective, 0.0
	planned := 0
	for i, c := range cells {
		if pr.Asks[c.at].Actions > 0 || c.count > 0 {
			covered += cells[i].ask.Share
		}
		effective += float64(c.count) * c.effective
		planned += c.count
	}
	gamesAfter := pr.Film.Games
	if planned > 0 && gamesAfter < MinFilmGames {
		gamesAfter = MinFilmGames // no one game holds what a plan asks for
	}
	return gamesAfter >= MinFilmGames && effective >= MinEffective && covered >= MinCovered-1e-9 && ownShare(own.Variance, pr.spread) >= MinOwnShare
}

// cells lists what the assignment asks for.
func (pl *planner) cells(j *job) []planCell {
	var out []planCell
	for i := range j.asks {
		a := &j.asks[i]
		if a.Share > 0 {
			c := planCell{ask: a, at: i, roles: pl.rolesToCome(a)}
			c.weight, c.effective = pl.weight(a.kind)
			out = append(out, c)
		}
	}
	return out
}

// rolesToCome is whom further film of an ask will show him against: the role it
// names, or those he has met so far, or those the ledger's men meet.
func (pl *planner) rolesToCome(a *jobAsk) []roleShare {
	met := [4]float64{}
	sum := 0.0
	for _, c := range pl.m.of[pl.p] {
		if c.kind == a.kind {
			met[c.facing] += c.n
			sum += c.n
		}
	}
	if a.Role != "" || sum == 0 {
		return a.roles
	}
	return rolesMet("", met)
}

// weight is what one further trial of a kind is worth to the model, and what it
// counts of an effective chance: his own mean so far, or where he has none
// everybody's.
func (pl *planner) weight(kind int) (worth, effective float64) {
	for _, all := range []bool{false, true} {
		n := 0
		for i := range pl.m.cells {
			c := &pl.m.cells[i]
			if c.kind == kind && (all || c.player == pl.p) {
				worth += c.worth
				effective += c.n / pl.m.design[c.player][kind]
				n += c.trials
			}
		}
		if n > 0 {
			return worth / float64(n), effective / float64(n)
		}
	}
	return 1, 1
}

// designs are the joint normals of the difference from the peers, and of the
// projection itself, with the log-odds of the cells.
func (pl *planner) designs(pr *projected, cells []planCell) (d, own *stats.Design, err error) {
	etas := make([][]float64, len(cells))
	rate, weight := make([]float64, len(cells)), make([]float64, len(cells))
	for i, c := range cells {
		for _, r := range c.roles {
			addTo(&etas[i], pl.him.LogOdds(c.ask.kind, r.role, pl.schemeToCome(c.ask.kind)), r.share)
		}
		for _, x := range etas[i] {
			rate[i] += 1 / (1 + math.Exp(-x)) / float64(len(etas[i]))
		}
		rate[i] = math.Min(rate[i], 1)
		weight[i] = c.weight
	}
	between := make([][]float64, len(cells))
	for i := range cells {
		between[i] = make([]float64, len(cells))
		for j := range cells {
			between[i][j] = stat.Covariance(etas[i], etas[j], nil)
		}
	}
	of := func(x []float64) (*stats.Design, error) {
		cov := make([]float64, len(cells))
		for i := range cells {
			cov[i] = stat.Covariance(x, etas[i], nil)
		}
		mean, variance := stat.MeanVariance(x, nil)
		return stats.NewDesign(mean, variance, cov, between, rate, weight)
	}
	if d, err = of(minus(pr.own, pr.versus)); err != nil {
		return nil, nil, err
	}
	own, err = of(pr.own)
	return d, own, err
}

// schemeToCome is the scheme that further film will most likely show him in: the
// one he was charted in most, of this kind or at all, else one never seen.
func (pl *planner) schemeToCome(kind int) int {
	for _, any := range []bool{false, true} {
		seen := make([]float64, len(pl.s.film.schemes))
		best := -1
		for _, c := range pl.m.of[pl.p] {
			if !any && c.kind != kind {
				continue
			}
			seen[c.scheme] += c.n
			if best < 0 || seen[c.scheme] > seen[best] {
				best = c.scheme
			}
		}
		if best >= 0 {
			return best
		}
	}
	return pooled.Fresh
}

// steps lists the plan, joined by kind and role, and in games at his rate.
func (pl *planner) steps(a *AssignmentPlan, cells []planCell) {
	known := true
	longest := 0
	for _, c := range cells {
		if c.count == 0 {
			continue
		}
		step := PlanStep{Kind: c.ask.Kind, Role: c.ask.Role, CameBy: c.ask.CameBy, Chances: c.count, Alone: c.alone}
		if rate := pl.perGame(c.ask); rate > 0 {
			n := int(math.Ceil(float64(c.count)/rate - 1e-9))
			step.Games = &n
			longest = max(longest, n)
		} else {
			known = false
		}
		if c.alone < Sure {
			step.Note = "film of this kind alone will not settle it"
		}
		a.Steps = append(a.Steps, step)
	}
	sortSteps(a.Steps)
	if known && len(a.Steps) > 0 {
		a.Games = &longest
	}
}

// perGame is how often a game has asked him this so far.
func (pl *planner) perGame(ask *jobAsk) float64 {
	played := len(pl.s.film.games[pl.p])
	if played == 0 {
		return 0
	}
	n := 0
	for _, i := range pl.s.film.of[pl.p] {
		r := &pl.s.film.rows[i]
		if _, ok := r.score(pl.s.Definition.Even); ok && r.trial > 0 && ask.matches(r) {
			n++
		}
	}
	return float64(n) / float64(played)
}

func (a *AssignmentPlan) text() string {
	var parts []string
	for _, s := range a.Steps {
		parts = append(parts, fmt.Sprintf("%s (%d)", s.what(), s.Chances))
	}
	switch {
	case len(parts) == 0:
		return "no film of the kinds asked would tell more"
	case !a.Settles && a.Decided < Sure:
		return fmt.Sprintf("%s more, %s, would decide it with a probability of only %s", chances(a.Chances), list(parts), likely(a.Decided))
	case !a.Settles:
		return fmt.Sprintf("%s more, %s, would still leave only %s of what is known to his own film; the rest of the doubt is the scheme's and the level's, and no film of him removes it",
			chances(a.Chances), list(parts), percent(a.OwnShare))
	}
	text := "chart more " + list(parts)
	if a.Games != nil {
		text += fmt.Sprintf(", about %s at his rate", games(*a.Games))
	} else {
		text += "; he has not been asked all of this on film, so look for games where he is"
	}
	return text + fmt.Sprintf(": %s likely to be decided then", likely(a.Decided))
}

// what names the film of a step.
func (s *PlanStep) what() string {
	text := against(s.Kind, s.Role)
	if s.CameBy != "" {
		text += " after a " + s.CameBy
	}
	return text
}
