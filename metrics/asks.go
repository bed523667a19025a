package metrics

import (
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/metrics/stats/pooled"
)

// job is an assignment laid out for the model.
type job struct {
	definition.Assignment
	asks  []jobAsk
	kinds map[int]bool
}

// jobAsk is one ask, spread over the roles it may be met with.
type jobAsk struct {
	definition.Ask
	kind  int
	roles []roleShare
}

type roleShare struct {
	role  int
	share float64 // of the ask; sums to 1
}

// jobs lays out the definition's assignments. An ask that names no role is met
// with the roles that everybody on the ledger meets that kind with.
func (s *Study) jobs(m *model) ([]job, error) {
	met := make([][4]float64, len(events.Kinds))
	for i := range m.cells {
		met[m.cells[i].kind][m.cells[i].facing] += m.cells[i].n
	}
	var out []job
	for _, a := range s.Definition.Assignments {
		j := job{Assignment: a, kinds: make(map[int]bool)}
		for _, ask := range a.Asks {
			k := kindIndex(ask.Kind)
			if k < 0 || !(ask.Share >= 0) {
				return nil, fmt.Errorf("assignment %s asks for kind %q with share %v; see the vocabulary", a.Name, ask.Kind, ask.Share)
			}
			j.kinds[k] = true
			j.asks = append(j.asks, jobAsk{ask, k, rolesMet(ask.Role, met[k])})
		}
		out = append(out, j)
	}
	return out, nil
}

func rolesMet(role events.Role, met [4]float64) []roleShare {
	if role != "" {
		return []roleShare{{roleIndex(role), 1}}
	}
	sum := met[0] + met[1] + met[2] + met[3]
	if sum == 0 {
		return []roleShare{{0, 1. / 3}, {1, 1. / 3}, {2, 1. / 3}}
	}
	var out []roleShare
	for r, n := range met {
		if n > 0 {
			out = append(out, roleShare{r, n / sum})
		}
	}
	return out
}

// asksFor reports whether a row is film of the job: kind, role and how he came
// to the man as far as the ask names them.
func (j *job) asksFor(r *row) bool {
	return slices.ContainsFunc(j.asks, func(a jobAsk) bool { return a.matches(r) })
}

func (a *jobAsk) matches(r *row) bool {
	return r.kind == a.kind && (a.Role == "" || roles[r.facing] == a.Role) && (a.CameBy == "" || r.cameBy == a.CameBy)
}

// setting is where a projection puts a player: a scheme and a step in level.
type setting struct {
	condition int // index of the scheme, or pooled.Fresh
	scheme    string
	level     *LevelStep
	notes     []string
}

// LevelStep is the analyst's judgement of a step in level: log-odds added to the
// process, and their doubt.
type LevelStep struct {
	From  events.Level            `json:"from"`
	To    events.Level            `json:"to"`
	Shift map[events.Kind]float64 `json:"shift"` // of the kinds asked for
	SD    float64                 `json:"sd"`
}

// neutral is the scheme of a projection unless the definition names one.
const neutral = "neutral"

// scheme is the scheme that the definition's projections are for.
func (s *Study) scheme() setting {
	out := setting{condition: pooled.Fresh, scheme: neutral}
	if want := s.Definition.Scheme; want != nil {
		out.scheme = schemeName(string(want.Base), string(want.Principle))
		if i, ok := slices.BinarySearch(s.film.schemes, out.scheme); ok {
			out.condition = i
		} else {
			out.notes = append(out.notes, fmt.Sprintf("%s is on nobody's film here; it is drawn as a scheme that was never seen", out.scheme))
		}
	}
	return out
}

// setting works out where the definition's projections put a player.
func (s *Study) setting(p int) setting {
	out := s.scheme()
	l := s.Definition.Level
	if l.From == "" || l.From == l.To {
		return out
	}
	levels := s.levelsOf(p)
	if len(levels) == 1 && levels[0] == l.To {
		out.notes = append(out.notes, fmt.Sprintf("his film is already %s; no step in level is taken", l.To))
		return out
	}
	for _, x := range levels {
		if x != l.From {
			out.notes = append(out.notes, fmt.Sprintf("some of his film is %s; the definition's step is judged from %s", x, l.From))
		}
	}
	out.level = &LevelStep{From: l.From, To: l.To, SD: l.SD, Shift: make(map[events.Kind]float64)}
	return out
}

// levelsOf lists the levels of a player's games, sorted.
func (s *Study) levelsOf(p int) []events.Level {
	c := s.Columns.Games.Column("game.level")
	var out []events.Level
	for _, g := range s.film.games[p] {
		if l := events.Level(wordOf(c, c.Code(g))); l != "" && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	slices.Sort(out)
	return out
}

// parts is the job as a mixture; with says whether the step in level is taken.
func (j *job) parts(d *definition.Definition, at setting, with bool) []pooled.Part {
	var out []pooled.Part
	for _, a := range j.asks {
		for _, r := range a.roles {
			p := pooled.Part{Item: a.kind, Opposing: r.role, Condition: at.condition, Share: a.Share * r.share}
			if with && at.level != nil {
				p.Shift, p.ShiftSD = d.Level.Shift.Of(a.Kind), d.Level.SD
			}
			out = append(out, p)
		}
	}
	return out
}
