package definition

import (
	"encoding/json"
	"fmt"

	"stopledger/events"
)

// canonical writes a definition as JSON whose bytes follow from its meaning.
// Its shape counts as version 1 of the canonical form: a change to it changes
// every hash, so it is made only with a reason.
func canonical(d *Definition) []byte {
	form := canonicalForm{
		Version: 1, Name: d.Name, About: d.About,
		Keep: d.keep.canonical, Count: d.count.canonical, Stop: canonicalKinds(d.stop),
		Cost: canonicalKinds(d.cost), Blame: d.weight.canonical, Even: d.Even,
		Reference: d.Reference.canonical(), Scheme: d.Scheme,
	}
	if d.decided != nil {
		form.Decided = d.decided.canonical
	}
	if d.Level.From != "" {
		form.Level = &canonicalLevel{d.Level.From, d.Level.To, d.Level.Shift.canonical(), d.Level.SD}
	}
	for _, a := range d.Assignments {
		c := canonicalAssignment{Name: a.Name, About: a.About}
		for _, ask := range a.Asks {
			c.Asks = append(c.Asks, canonicalAsk(ask))
		}
		form.Assignments = append(form.Assignments, c)
	}
	for _, x := range d.Examples {
		form.Examples = append(form.Examples, x.canonical())
	}
	text, err := json.Marshal(form)
	if err != nil {
		panic(fmt.Sprintf("definition: canonical form: %v", err)) // plain values always encode
	}
	return text
}

type canonicalForm struct {
	Version     int                   `json:"v"`
	Name        string                `json:"name"`
	About       string                `json:"about"`
	Keep        string                `json:"keep"`
	Count       string                `json:"count"`
	Stop        map[string]string     `json:"stop"`
	Decided     string                `json:"decided,omitempty"`
	Cost        map[string]string     `json:"cost"`
	Blame       string                `json:"blame"`
	Even        float64               `json:"even"`
	Level       *canonicalLevel       `json:"level,omitempty"`
	Reference   map[string]float64    `json:"reference,omitempty"`
	Scheme      *Scheme               `json:"scheme,omitempty"`
	Assignments []canonicalAssignment `json:"assignments"`
	Examples    []canonicalExample    `json:"examples,omitempty"`
}

type canonicalLevel struct {
	From  events.Level       `json:"from"`
	To    events.Level       `json:"to"`
	Shift map[string]float64 `json:"shift,omitempty"`
	SD    float64            `json:"sd"`
}

type canonicalAssignment struct {
	Name  string         `json:"name"`
	About string         `json:"about,omitempty"`
	Asks  []canonicalAsk `json:"asks"`
}

type canonicalAsk struct {
	Kind   events.Kind `json:"kind"`
	Role   events.Role `json:"role,omitempty"`
	CameBy string      `json:"came_by,omitempty"`
	Share  float64     `json:"share"`
}

type canonicalExample struct {
	Name    string              `json:"name"`
	Fields  map[string]any      `json:"fields,omitempty"`
	Actions []map[string]any    `json:"actions"`
	Expect  map[string]string   `json:"expect,omitempty"`
	Each    []map[string]string `json:"each"`
}

func canonicalKinds(p perKind) map[string]string {
	m := map[string]string{"default": p.list[0].canonical}
	for kind, at := range p.byKind {
		m[string(kind)] = p.list[at].canonical
	}
	return m
}

func (b ByKind) canonical() map[string]float64 {
	if !b.Stated {
		return nil
	}
	m := map[string]float64{"default": b.Default}
	for kind, v := range b.Kinds {
		m[string(kind)] = v
	}
	return m
}

func (x Example) canonical() canonicalExample {
	c := canonicalExample{Name: x.Name, Fields: canonicalFields(x.fields), Expect: canonicalExpect(x.expect)}
	for _, a := range x.actions {
		c.Actions = append(c.Actions, canonicalFields(a.fields))
		c.Each = append(c.Each, canonicalExpect(a.expect))
	}
	return c
}

func canonicalFields(fields map[int]given) map[string]any {
	m := make(map[string]any, len(fields))
	for slot, g := range fields {
		switch {
		case g.unknown:
			m[fieldRefs[slot].name] = nil
		case g.words != nil:
			m[fieldRefs[slot].name] = g.words
		default:
			m[fieldRefs[slot].name] = g.number
		}
	}
	return m
}

func canonicalExpect(list []expectation) map[string]string {
	m := make(map[string]string, len(list))
	for _, e := range list {
		m[e.what] = e.want
	}
	return m
}
