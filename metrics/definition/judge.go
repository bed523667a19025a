package definition

import (
	"stopledger/events"
	"stopledger/replay"
)

// Truth is what a rule says of a row.
type Truth uint8

// The three truths.
const (
	No Truth = iota
	Yes
	Unsettled // undecided: neither counted nor false
)

func truthOf(v value) Truth {
	switch {
	case v.reason != "":
		return Unsettled
	case v.number != 0:
		return Yes
	}
	return No
}

// The rules that may leave a row undecided, as Undecided counts them.
const (
	ruleKeep = iota
	ruleCount
	ruleStop
	ruleBlame
	ruleCost
)

// verdict is what the rules say of one action, before its chance is settled.
type verdict struct {
	keep    Truth
	in      Truth // keep and count
	stop    Truth
	weighed Truth // Yes, or Unsettled where blame is undecided
	reading uint8 // code in readings
	pool    uint8 // index of its kind's cost
	rule    uint8 // index of its kind's stop
	open    bool  // something below is undecided
	kind    uint32
	weight  float64
	why     [ruleBlame + 1]uint32 // by rule: index of the reason; 0: decided
}

// Readings by code, as verdicts hold them.
const (
	unread uint8 = iota
	unclear
	held
	even
	broken
)

var readingCodes = map[events.Reading]uint8{
	events.NoReading: unread, events.Unclear: unclear, events.Held: held, events.Even: even, events.Broken: broken,
}

// judge applies the rules of a definition to one row at a time. It belongs to
// one goroutine.
type judge struct {
	def     *Definition
	frame   *frame
	keep    *memo
	count   *memo
	weight  *memo
	stop    []*memo
	cost    []*memo
	kinds   []kindRules // by code of action.kind
	reading []uint8     // by code of action.reading
	kind    *replay.Codes
	read    *replay.Codes
	reasons reasons
}

// kindRules says which of the per-kind expressions a kind has.
type kindRules struct{ stop, cost uint8 }

// reasons numbers the texts of reasons, from 1.
type reasons struct {
	list  []string
	index map[string]uint32
}

func (r *reasons) of(v value) uint32 {
	if v.reason == "" {
		return 0
	}
	at, ok := r.index[v.reason]
	if !ok {
		if r.index == nil {
			r.index = map[string]uint32{}
		}
		r.list = append(r.list, v.reason)
		at = uint32(len(r.list))
		r.index[v.reason] = at
	}
	return at
}

func newJudge(d *Definition, f *frame) *judge {
	j := &judge{def: d, frame: f, keep: newMemo(d.keep, f), count: newMemo(d.count, f), weight: newMemo(d.weight, f)}
	for _, e := range d.stop.list {
		j.stop = append(j.stop, newMemo(e, f))
	}
	for _, e := range d.cost.list {
		j.cost = append(j.cost, newMemo(e, f))
	}
	kind := f.cols.Actions.Column("action.kind")
	for _, word := range kind.Words {
		k := events.Kind(word)
		j.kinds = append(j.kinds, kindRules{uint8(d.stop.byKind[k]), uint8(d.cost.byKind[k])})
	}
	read := f.cols.Actions.Column("action.reading")
	for _, word := range read.Words {
		j.reading = append(j.reading, readingCodes[events.Reading(word)])
	}
	j.kind, j.read = &kind.Codes, &read.Codes
	return j
}

func codeAt(c *replay.Codes, row uint32) uint32 {
	if c.Len() == 0 {
		return 0
	}
	return c.At(int(row))
}

// row judges an action.
func (j *judge) row(chance, action uint32) verdict {
	v := j.rules(chance, action)
	for _, why := range v.why {
		v.open = v.open || why > 0
	}
	return v
}

func (j *judge) rules(chance, action uint32) verdict {
	kind := codeAt(j.kind, action)
	rules := j.kinds[kind]
	v := verdict{kind: kind, reading: j.reading[codeAt(j.read, action)], pool: rules.cost, rule: rules.stop}
	keep := j.keep.values[j.keep.of(chance, action)]
	v.keep = truthOf(keep)
	v.why[ruleKeep] = j.reasons.of(keep)
	if v.in = v.keep; v.in == No {
		return v
	}
	count := j.count.values[j.count.of(chance, action)]
	switch truthOf(count) {
	case No:
		v.in, v.why[ruleKeep] = No, 0
		return v
	case Unsettled:
		if v.in = Unsettled; v.keep == Yes {
			v.why[ruleCount] = j.reasons.of(count)
		}
	}
	if v.in != Yes {
		return v
	}
	stop := j.stop[rules.stop]
	said := stop.values[stop.of(chance, action)]
	v.stop, v.why[ruleStop] = truthOf(said), j.reasons.of(said)
	weight := j.weight.values[j.weight.of(chance, action)]
	if weight.reason == "" && weight.number < 0 {
		weight = value{reason: "the weight is less than 0", failed: true}
	}
	v.weighed, v.weight, v.why[ruleBlame] = Yes, weight.number, j.reasons.of(weight)
	if weight.reason != "" {
		v.weighed, v.weight = Unsettled, 0
	}
	return v
}

// costOf is a chance's cost by one of the cost expressions.
func (j *judge) costOf(pool uint8, chance uint32) value {
	v := j.cost[pool].values[j.cost[pool].of(chance, 0)]
	if v.reason == "" && v.number < 0 {
		return value{reason: "the cost is less than 0", failed: true}
	}
	return v
}

// keepOf says whether a chance is kept, for rules that depend on it alone.
func (j *judge) keepOf(chance uint32) Truth { return truthOf(j.keep.values[j.keep.of(chance, 0)]) }
