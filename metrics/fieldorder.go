package metrics

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stopledger/events"
)

// Field is everybody with film of one kind against one role, in order, with how
// sure the order is.
type Field struct {
	Kind   events.Kind `json:"kind"`
	Role   events.Role `json:"role,omitempty"` // of the opponents; empty: as everybody meets them
	Own    events.Role `json:"own,omitempty"`  // of the defenders; empty: any
	Target Target      `json:"target"`
	Scheme string      `json:"scheme"`
	// Ranked is false where fewer than six have film: they stand by id then, and
	// no probability is given.
	Ranked bool          `json:"ranked"`
	Third  int           `json:"third"` // how many make up the top third
	List   []FieldPlayer `json:"field"`
	Text   string        `json:"text"`
}

// FieldPlayer is one of the field.
type FieldPlayer struct {
	Player events.Token `json:"player"`
	Team   events.Token `json:"team"`
	Own    events.Role  `json:"own_role"`
	Counts
	Raw  *float64 `json:"raw"`  // counted, by weight
	Rate Pooled   `json:"rate"` // pooled; q10 to q90 is its 80 % interval
	// TopThird is the probability that he is truly among the top third.
	TopThird *float64 `json:"top_third"`
}

// FieldQuery says which field.
type FieldQuery struct {
	Kind   events.Kind
	Role   events.Role // of the opponents; empty: any
	Own    events.Role // of the defenders; empty: any
	Target Target
}

// Field lists everybody with film of a kind against a role. All are compared in
// the same scheme, against the same role and in the same draws, so that the
// probabilities take into account what their numbers have in common.
func (s *Study) Field(q FieldQuery) (*Field, error) {
	kind := kindIndex(q.Kind)
	if kind < 0 {
		return nil, unknownWord("kind", string(q.Kind), q.Kind.Words())
	}
	for _, r := range []events.Role{q.Role, q.Own} {
		if r != "" && !slices.Contains(r.Words(), string(r)) {
			return nil, unknownWord("role", string(r), r.Words())
		}
	}
	if q.Target == "" {
		q.Target = Process
	}
	m, err := s.model(q.Target)
	if err != nil {
		return nil, err
	}
	met := [4]float64{}
	for i := range m.cells {
		if m.cells[i].kind == kind {
			met[m.cells[i].facing] += m.cells[i].n
		}
	}
	ask := jobAsk{kind: kind, roles: rolesMet(q.Role, met)}
	ask.Role, ask.Share = q.Role, 1
	at := s.scheme()
	f := &Field{Kind: q.Kind, Role: q.Role, Own: q.Own, Target: q.Target, Scheme: at.scheme, List: []FieldPlayer{}}
	drawn, err := s.fieldDraws(m, f, &ask, at)
	if err != nil {
		return nil, err
	}
	f.order(drawn)
	return f, nil
}

func unknownWord(what, word string, words []string) error {
	if near := events.Nearest(word, words); near != "" {
		return fmt.Errorf("%s %q; did you mean %q?", what, word, near)
	}
	return fmt.Errorf("%s %q: want one of %s", what, word, strings.Join(words, ", "))
}

// fieldDraws fills the list by id and returns each one's draws.
func (s *Study) fieldDraws(m *model, f *Field, ask *jobAsk, at setting) ([][]float64, error) {
	process, err := s.model(Process) // effective counts are those of readings
	if err != nil {
		return nil, err
	}
	j := job{asks: []jobAsk{*ask}}
	parts := j.parts(s.Definition, at, false)
	var drawn [][]float64
	for p := range s.film.players {
		who := &s.film.players[p]
		has := slices.ContainsFunc(m.of[p], func(c cell) bool {
			return c.kind == ask.kind && (f.Role == "" || roles[c.facing] == f.Role)
		})
		if !has || f.Own != "" && roles[who.role] != f.Own {
			continue
		}
		x, err := mix(m.draws.Group(p), parts)
		if err != nil {
			return nil, err
		}
		one := FieldPlayer{Player: who.id, Team: who.team, Own: roles[who.role], Counts: s.count(process, p, ask.matches), Rate: summary(x)}
		if y, n := s.rawRate(m.target, p, ask.matches); n > 0 {
			raw := y / n
			one.Raw = &raw
		}
		f.List = append(f.List, one)
		drawn = append(drawn, x)
	}
	return drawn, nil
}

// order puts the field in order of the mean and works out who is truly in the
// top third.
func (f *Field) order(drawn [][]float64) {
	n := len(f.List)
	f.Third = (n + 2) / 3
	what := against(f.Kind, f.Role)
	if f.Ranked = n > MinPeers; !f.Ranked {
		f.Text = fmt.Sprintf("%s with film of %s: too few to put in order", plural(n, "defender", "defenders"), what)
		return
	}
	top := make([]int, n)
	at := make([]int, n)
	for j := range drawn[0] {
		for i := range at {
			at[i] = i
		}
		slices.SortFunc(at, func(a, b int) int { return cmp.Or(cmp.Compare(drawn[b][j], drawn[a][j]), a-b) })
		for _, i := range at[:f.Third] {
			top[i]++
		}
	}
	for i := range f.List {
		p := float64(top[i]) / float64(len(drawn[0]))
		f.List[i].TopThird = &p
	}
	slices.SortStableFunc(f.List, func(a, b FieldPlayer) int { return cmp.Compare(b.Rate.Mean, a.Rate.Mean) })
	sure := 0
	for i := range f.List {
		if *f.List[i].TopThird >= Sure {
			sure++
		}
	}
	f.Text = fmt.Sprintf("%d defenders with film of %s; the top third is %d of them, and for %d it is at least %s likely that they belong there",
		n, what, f.Third, sure, percent(Sure))
}
