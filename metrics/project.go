package metrics

import (
	"fmt"
	"math"

	"stopledger/events"
	"stopledger/metrics/stats/pooled"
)

// Projection is how a player would do in an assignment, and how sure that is.
type Projection struct {
	Assignment string `json:"assignment"`
	About      string `json:"about,omitempty"`
	Word       Word   `json:"word"`
	Why        string `json:"why"` // the reason for the word

	Process Pooled `json:"process"` // the projection; q10 to q90 is its 80 % interval
	// Better is the probability that he is at least the peers' average, or the
	// reference; nil where there is neither.
	Better   *float64 `json:"better"`
	Against  *Against `json:"against"`
	OwnShare float64  `json:"own_share"` // share of the doubt that his own film has removed, 0 to 1

	// Result is the same mix of stops, in a neutral scheme or the target's,
	// without a step in level, which is judged for the process alone.
	Result Pooled `json:"result"`

	Film Counts `json:"film"` // of what is asked, with how he came to the man
	// Covered is the part of the assignment, by its shares, that he has any film of.
	Covered float64      `json:"covered"`
	Asks    []AskFilm    `json:"asks"`
	Level   *LevelStep   `json:"level"`
	Raw     RawNumber    `json:"raw"`
	Notes   []string     `json:"notes"`
	At      Circumstance `json:"at"`
}

// Circumstance is the scheme a projection is for.
type Circumstance struct {
	Scheme string `json:"scheme"` // "neutral", or the definition's
}

// Against is what a projection is compared with.
type Against struct {
	Peers     int    `json:"peers"`     // how many; 0 for a reference
	Reference bool   `json:"reference"` // the definition's stated rate
	Rate      Pooled `json:"rate"`
}

// AskFilm is the film there is of one part of an assignment.
type AskFilm struct {
	Kind   events.Kind `json:"kind"`
	Role   events.Role `json:"role,omitempty"`
	CameBy string      `json:"came_by,omitempty"`
	Share  float64     `json:"share"`
	Counts
}

// projected is a projection with the draws behind it, for the film plan.
type projected struct {
	Projection
	job    *job
	at     setting
	own    []float64
	versus []float64 // peers or reference; nil without
	spread float64   // variance of a new defender's projection
}

// Project projects a player into every assignment of the definition, in its
// order. Whoever has no film gets the field's numbers and "not enough film".
func (s *Study) Project(id events.Token) ([]Projection, error) {
	list, err := s.project(id)
	if err != nil {
		return nil, err
	}
	return projections(list), nil
}

func projections(list []projected) []Projection {
	out := make([]Projection, len(list))
	for i := range list {
		out[i] = list[i].Projection
	}
	return out
}

func (s *Study) project(id events.Token) ([]projected, error) {
	p, err := s.player(id)
	if err != nil {
		return nil, err
	}
	process, err := s.model(Process)
	if err != nil {
		return nil, err
	}
	result, err := s.model(Result)
	if err != nil {
		return nil, err
	}
	jobs, err := s.jobs(process)
	if err != nil {
		return nil, err
	}
	out := make([]projected, len(jobs))
	one := projector{s: s, p: p, process: process, result: result, at: s.setting(p), him: process.draws.Group(p), his: result.draws.Group(p)}
	field, err := s.field(process, fieldKey{s.film.players[p].role, one.at.level != nil}, jobs, one.at)
	if err != nil {
		return nil, err
	}
	for i := range jobs {
		if out[i], err = one.project(&jobs[i], &field.jobs[i]); err != nil {
			return nil, fmt.Errorf("project %s: assignment %s: %w", id, jobs[i].Name, err)
		}
	}
	return out, nil
}

// projector projects one player.
type projector struct {
	s               *Study
	p               int
	process, result *model
	at              setting
	him             *pooled.Member // in the process
	his             *pooled.Member // in the result
}

func (o *projector) project(j *job, field *jobField) (projected, error) {
	s := o.s
	parts := j.parts(s.Definition, o.at, true)
	out := projected{job: j, at: o.at}
	out.Projection = Projection{
		Assignment: j.Name, About: j.About, At: Circumstance{o.at.scheme}, Level: o.level(j), Notes: append([]string{}, o.at.notes...),
		Film: s.count(o.process, o.p, j.asksFor),
	}
	for i := range j.asks {
		a := &j.asks[i]
		film := s.count(o.process, o.p, a.matches)
		if film.Actions > 0 {
			out.Covered += a.Share
		}
		out.Asks = append(out.Asks, AskFilm{a.Kind, a.Role, a.CameBy, a.Share, film})
	}
	var err error
	if out.own, err = mix(o.him, parts); err != nil {
		return out, err
	}
	out.Process = summary(out.own)
	result, err := mix(o.his, j.parts(s.Definition, o.at, false))
	if err != nil {
		return out, err
	}
	out.Result = summary(result)
	if err := o.compare(j, field, &out); err != nil {
		return out, err
	}
	out.spread = field.unknown
	out.OwnShare = ownShare(out.Process.SD*out.Process.SD, out.spread)
	out.Word, out.Why = decide(out.OwnShare, out.Covered, out.Film, out.Better)
	for _, note := range []string{o.onlyScheme(j), withoutFilm(&out.Projection)} {
		if note != "" {
			out.Notes = append(out.Notes, note)
		}
	}
	return out, o.raw(j, &out)
}

// ownShare is the share of an unknown man's variance that film has removed.
func ownShare(variance, unknown float64) float64 {
	if !(unknown > 0) {
		return 0
	}
	return math.Min(math.Max(1-variance/unknown, 0), 1)
}

// compare puts the peers beside him, or where they are too few the reference.
func (o *projector) compare(j *job, field *jobField, out *projected) error {
	peers, n := field.besides(o.p, out.own)
	var err error
	switch {
	case n >= MinPeers:
		out.versus = peers
		out.Against = &Against{Peers: n, Rate: summary(peers)}
	case o.s.Definition.Reference.Stated:
		if out.versus, err = o.reference(j); err != nil {
			return err
		}
		out.Against = &Against{Reference: true, Rate: summary(out.versus)}
	default:
		return nil
	}
	better := atLeast(out.own, out.versus)
	out.Better = &better
	return nil
}

// reference is the definition's stated rate as draws: it takes the same step in
// level as he does, with the same doubt.
func (o *projector) reference(j *job) ([]float64, error) {
	out := make([]float64, o.process.draws.N())
	for _, a := range j.asks {
		part := pooled.Part{Item: a.kind, Opposing: pooled.Fresh, Condition: pooled.Fresh, Share: 1}
		before, err := o.him.Mix([]pooled.Part{part})
		if err != nil {
			return nil, err
		}
		if o.at.level != nil {
			part.Shift, part.ShiftSD = o.s.Definition.Level.Shift.Of(a.Kind), o.s.Definition.Level.SD
		}
		after, err := o.him.Mix([]pooled.Part{part})
		if err != nil {
			return nil, err
		}
		stated := logOdds(o.s.Definition.Reference.Of(a.Kind))
		for i := range out {
			out[i] += a.Share / (1 + math.Exp(-(stated + logOdds(after[i]) - logOdds(before[i]))))
		}
	}
	return out, nil
}

// logOdds keeps away from the ends, where it would be infinite.
func logOdds(p float64) float64 {
	const edge = 1e-9
	p = math.Min(math.Max(p, edge), 1-edge)
	return math.Log(p / (1 - p))
}

func (o *projector) level(j *job) *LevelStep {
	if o.at.level == nil {
		return nil
	}
	l := *o.at.level
	l.Shift = make(map[events.Kind]float64)
	for _, a := range j.asks {
		l.Shift[a.Kind] = o.s.Definition.Level.Shift.Of(a.Kind)
	}
	return &l
}

// onlyScheme says so where all film of the kinds asked is of one scheme.
func (o *projector) onlyScheme(j *job) string {
	seen := -1
	for _, c := range o.process.of[o.p] {
		switch {
		case !j.kinds[c.kind]:
		case seen < 0:
			seen = c.scheme
		case seen != c.scheme:
			return ""
		}
	}
	if seen < 0 {
		return ""
	}
	return fmt.Sprintf("seen only in %s", schemeText(o.s.film.schemes[seen]))
}

// withoutFilm names the parts of an assignment that the rest of his film has to
// speak for.
func withoutFilm(p *Projection) string {
	var parts []string
	for _, a := range p.Asks {
		if a.Actions == 0 {
			step := PlanStep{Kind: a.Kind, Role: a.Role, CameBy: a.CameBy}
			parts = append(parts, step.what())
		}
	}
	if len(parts) == 0 || len(parts) == len(p.Asks) {
		return ""
	}
	return fmt.Sprintf("no film of him on %s; the rest of his film and the field speak for that", list(parts))
}

func schemeText(name string) string {
	if name == "" || name == "unknown" || name == "unknown unknown" {
		return "a scheme that nobody named"
	}
	return name
}
