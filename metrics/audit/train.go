package audit

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Training is a learner's chart held against a settled one.
type Training struct {
	Pair       Pair        `json:"pair"` // A the learner, B the settled chart
	Lean       Lean        `json:"lean"` // harsher and milder than the settled readings
	Missed     []MissRow   `json:"missed"`
	Confusions []Confusion `json:"confusions"`    // the commonest first
	Differs    []Differs   `json:"differs"`       // place by place, in the order of play
	Why        string      `json:"why,omitempty"` // why the charts cannot be compared
}

// MissRow is how much of one kind the learner saw.
type MissRow struct {
	Kind   events.Kind `json:"kind"`
	Of     int         `json:"of"`     // in the settled chart
	Missed int         `json:"missed"` // not in the learner's
	Extra  int         `json:"extra"`  // in the learner's alone
}

// Confusion is a word the learner writes where the settled chart has another.
type Confusion struct {
	Field   string      `json:"field"`          // kind, reading or outcome
	Kind    events.Kind `json:"kind,omitempty"` // whose outcome it is
	Settled string      `json:"settled"`
	Learner string      `json:"learner"`
	Times   int         `json:"times"`
	Of      int         `json:"of"` // actions both saw that the settled chart labels so
}

// Differs is one place where the learner differs.
type Differs struct {
	Place   Place    `json:"place"` // in the settled chart where that has it
	Fields  []string `json:"fields"`
	Settled string   `json:"settled"`
	Learner string   `json:"learner"`
}

// Train holds a learner's chart against a settled one of the same game.
func Train(learner, settled *replay.Chart, o Options) *Training {
	o = o.orDefault()
	p := pair(learner, settled, o)
	t := &Training{Pair: p.result(o), Missed: []MissRow{}, Confusions: []Confusion{}, Differs: []Differs{}, Why: p.why}
	if p.why != "" {
		return t
	}
	t.count(p)
	t.confuse(p)
	for _, d := range gather([]*replay.Chart{settled, learner}, []*pairing{p.turned()}).disagreements() {
		x := Differs{Place: d.Place, Fields: d.Fields, Settled: d.Versions[0].Text, Learner: d.Versions[1].Text}
		if d.Versions[0].Chart == learner.Name && d.Versions[1].Chart != learner.Name {
			x.Settled, x.Learner = x.Learner, x.Settled
		}
		t.Differs = append(t.Differs, x)
	}
	return t
}

// turned is the pairing with A and B exchanged.
func (p *pairing) turned() *pairing {
	q := &pairing{a: p.b, b: p.a, common: p.common, onlyA: p.onlyB, onlyB: p.onlyA, actOnlyA: p.actOnlyB, actOnlyB: p.actOnlyA}
	for _, l := range p.chances {
		q.chances = append(q.chances, link{l.b, l.a, l.score})
	}
	for _, l := range p.actions {
		q.actions = append(q.actions, link{l.b, l.a, l.score})
	}
	return q
}

func (t *Training) count(p *pairing) {
	rows := make([]MissRow, len(events.Kinds))
	for i, row := range events.Kinds {
		rows[i].Kind = row.Kind
	}
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		rows[kindIndex[b.Kind]].Of++
		if onScale(a.Reading) && onScale(b.Reading) {
			t.Lean.Pairs++
			switch step := rank(a.Reading) - rank(b.Reading); {
			case step > 0:
				t.Lean.Harsher++
			case step < 0:
				t.Lean.Milder++
			}
		}
	}
	for _, i := range p.actOnlyB {
		row := &rows[kindIndex[p.b.Actions[i].Kind]]
		row.Of, row.Missed = row.Of+1, row.Missed+1
	}
	for _, i := range p.actOnlyA {
		rows[kindIndex[p.a.Actions[i].Kind]].Extra++
	}
	for _, row := range rows {
		if row.Of+row.Extra > 0 {
			t.Missed = append(t.Missed, row)
		}
	}
	slices.SortStableFunc(t.Missed, func(a, b MissRow) int { return cmp.Compare(b.Missed+b.Extra, a.Missed+a.Extra) })
}

func (t *Training) confuse(p *pairing) {
	type said struct {
		field   string
		kind    events.Kind
		settled string
	}
	times, of := map[Confusion]int{}, map[said]int{}
	note := func(field string, kind events.Kind, settled, learner string) {
		of[said{field, kind, settled}]++
		if settled != learner {
			times[Confusion{Field: field, Kind: kind, Settled: settled, Learner: learner}]++
		}
	}
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		note("kind", "", string(b.Kind), string(a.Kind))
		if a.Reading != events.NoReading && b.Reading != events.NoReading {
			note("reading", "", string(b.Reading), string(a.Reading))
		}
		if a.Kind == b.Kind && !bare(a.Outcome) && !bare(b.Outcome) {
			note("outcome", a.Kind, string(b.Outcome), string(a.Outcome))
		}
	}
	for c, n := range times {
		c.Times, c.Of = n, of[said{c.Field, c.Kind, c.Settled}]
		t.Confusions = append(t.Confusions, c)
	}
	slices.SortFunc(t.Confusions, func(a, b Confusion) int {
		return cmp.Or(cmp.Compare(b.Times, a.Times), cmp.Compare(a.Of, b.Of), cmp.Compare(a.Field, b.Field),
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Settled, b.Settled), cmp.Compare(a.Learner, b.Learner))
	})
}
