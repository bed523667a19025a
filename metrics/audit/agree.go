package audit

import (
	"cmp"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Agreement is how alike two or more charts of one game are.
type Agreement struct {
	Charts     []Side         `json:"charts"`
	Comparable bool           `json:"comparable"`    // whether any two of them could be compared
	Why        string         `json:"why,omitempty"` // why not
	Options    Options        `json:"options"`
	Pairs      []Pair         `json:"pairs"` // every two charts, in the order given
	Alpha      []AlphaField   `json:"alpha"` // over all charts at once
	Disagreed  []Disagreement `json:"disagreements"`

	units *units
}

// Side is one of the charts compared.
type Side struct {
	Chart    events.Token   `json:"chart"`
	Charters []events.Token `json:"charters"`
	Holds    string         `json:"holds"` // what it set out to hold
	Chances  int            `json:"chances"`
	Actions  int            `json:"actions"`
}

// Pair is two charts beside each other, A and B.
type Pair struct {
	A          events.Token `json:"a"`
	B          events.Token `json:"b"`
	Comparable bool         `json:"comparable"`
	Why        string       `json:"why,omitempty"`    // why not
	Common     string       `json:"common,omitempty"` // what both set out to hold; nothing else is compared
	Offset     Offset       `json:"offset"`

	Chances Seen `json:"chances_seen"`
	Actions Seen `json:"actions_seen"`

	// Fields are the labels of actions both saw: kind, outcome, reading,
	// defender, opponent, role, zone; and of chances: end, scheme.
	Fields []Field `json:"fields"`
	// Order is the reading once more on held, even, broken as a scale, with half
	// the credit one step apart (linear weights); unclear is left out.
	Order Field `json:"order"`
	// Blind is Order by whether the result was in sight as the reading was taken.
	Blind     []Field   `json:"blind"`
	Hindsight Hindsight `json:"hindsight"`
	Kinds     []Kind    `json:"kinds"`   // the most disputed first
	Missing   []Missing `json:"missing"` // what one chart has and the other lacks, in the order of play
}

// Seen counts what both charts hold. Taking B as right, Precision is the share
// of A's that B has too and Recall the share of B's that A has; taking A as
// right the two change places.
type Seen struct {
	InA       int      `json:"in_a"`
	InB       int      `json:"in_b"`
	Both      int      `json:"both"`
	Precision *Figure  `json:"precision"` // Both / InA; absent without any
	Recall    *Figure  `json:"recall"`    // Both / InB; absent without any
	F1        *float64 `json:"f1"`        // their harmonic mean
	Note      string   `json:"note,omitempty"`
}

// Missing is something one chart has and another lacks, though it set out to
// hold it.
type Missing struct {
	From  events.Token `json:"from"` // the chart that lacks it
	In    events.Token `json:"in"`   // the chart that has it
	What  string       `json:"what"` // chance or action
	Kind  events.Kind  `json:"kind,omitempty"`
	Place Place        `json:"place"` // in the chart that has it
	Text  string       `json:"text"`
}

// Agree lays charts of one game beside each other. Their ids are never compared,
// so they may come from different ledgers. Charts that cannot be compared give an
// Agreement that says why.
func Agree(charts []*replay.Chart, o Options) *Agreement {
	o = o.orDefault()
	out := &Agreement{Options: o, Pairs: []Pair{}, Alpha: []AlphaField{}, Disagreed: []Disagreement{}}
	for _, c := range charts {
		out.Charts = append(out.Charts, sideOfChart(c))
	}
	if len(charts) < 2 {
		out.Why = "one chart agrees with itself: name at least two"
		return out
	}
	var pairings []*pairing
	for i, a := range charts {
		for _, b := range charts[i+1:] {
			p := pair(a, b, o)
			pairings = append(pairings, p)
			out.Pairs = append(out.Pairs, p.result(o))
			out.Comparable = out.Comparable || p.why == ""
			out.Why = cmp.Or(out.Why, p.why)
		}
	}
	if !out.Comparable {
		return out
	}
	out.Why = ""
	out.units = gather(charts, pairings)
	out.Alpha = out.units.alphas(o)
	out.Disagreed = out.units.disagreements()
	return out
}

func sideOfChart(c *replay.Chart) Side {
	s := Side{Chart: c.Name, Charters: []events.Token{}, Holds: scopeOf(c).String(), Chances: len(c.Chances), Actions: len(c.Actions)}
	for _, who := range c.Charters {
		s.Charters = append(s.Charters, who.Charter)
	}
	return s
}

// result is what a pairing says.
func (p *pairing) result(o Options) Pair {
	out := Pair{
		A: p.a.Name, B: p.b.Name, Comparable: p.why == "", Why: p.why, Offset: p.offset,
		Fields: []Field{}, Blind: []Field{}, Kinds: []Kind{}, Missing: []Missing{},
	}
	if p.why != "" {
		return out
	}
	out.Common = p.common.String()
	r := newResampler(len(p.chances)+len(p.onlyA)+len(p.onlyB), o)
	out.Chances, out.Actions = p.seenChances(r), p.seenActions(r)
	f := p.judge()
	for _, j := range f.list() {
		out.Fields = append(out.Fields, j.field(r))
	}
	out.Order = f.order.field(r)
	for _, j := range f.blind {
		out.Blind = append(out.Blind, j.field(r))
	}
	out.Hindsight = p.hindsight()
	out.Kinds = p.byKind(o)
	out.Missing = p.missing()
	return out
}

func (p *pairing) missing() []Missing {
	out := []Missing{}
	chances := func(list []int, in, from *replay.Chart) {
		for _, i := range list {
			ch := &in.Chances[i]
			out = append(out, Missing{From: from.Name, In: in.Name, What: "chance", Place: placeAt(ch.When, ch.ID, ch.ID),
				Text: string(ch.Offence) + ": " + heldBy(ch) + ", with " + few(ch.Actions, "action")})
		}
	}
	actions := func(list []int, in, from *replay.Chart, matched map[int]int) {
		for _, i := range list {
			a := &in.Actions[i]
			if _, ok := matched[a.Chance]; ok { // else the whole chance is missing, and said so above
				out = append(out, Missing{From: from.Name, In: in.Name, What: "action", Kind: a.Kind, Place: placeAt(a.When, a.ChanceID, a.ID), Text: actionText(a)})
			}
		}
	}
	chances(p.onlyA, p.a, p.b)
	chances(p.onlyB, p.b, p.a)
	actions(p.actOnlyA, p.a, p.b, p.chanceOfA)
	actions(p.actOnlyB, p.b, p.a, p.chanceOfB)
	slices.SortStableFunc(out, func(x, y Missing) int { return inPlay(x.Place, y.Place) })
	return out
}
