package charting

import (
	"fmt"

	"stopledger/events"
)

// Verdict is what a gate makes of an event that may come in.
type Verdict int

// A fresh event is to be appended. A repeat is here already, byte for byte: it
// is safe, and appending it again would only lengthen the ledger.
const (
	Fresh Verdict = iota
	Repeat
)

// Refusal says why an event is not taken, and whether it may be later.
type Refusal struct {
	Field  string
	Reason string
	Later  bool // send what is missing first, then this again
}

func (r *Refusal) Error() string { return r.Field + ": " + r.Reason }

// Gate is what a server checks before it appends an event that a pad sent to
// a chart: that it is valid, of this game and chart, and next in its pad's
// count. It is not safe for concurrent use.
type Gate struct {
	game, chart events.Token
	sums        map[events.ID]events.Sum
	pads        map[events.Token]*count
}

// count is how far a pad has come.
type count struct {
	last    int64
	ids     map[int64]events.ID
	refused map[int64]bool // for good: the count goes on without them
}

// NewGate opens a gate to a chart. Tell it what the ledger holds with
// [Gate.Learn] before it judges.
func NewGate(game, chart events.Token) *Gate {
	return &Gate{game, chart, make(map[events.ID]events.Sum), make(map[events.Token]*count)}
}

// Learn takes note of an event that the ledger holds, whoever put it there.
func (g *Gate) Learn(e *events.Event) {
	if e.Game != g.game || e.Chart != g.chart {
		return
	}
	g.sums[e.ID] = e.Sum()
	c := g.count(e.Pad)
	c.ids[e.N] = e.ID
	c.last = max(c.last, e.N)
}

func (g *Gate) count(pad events.Token) *count {
	c := g.pads[pad]
	if c == nil {
		c = &count{ids: make(map[int64]events.ID), refused: make(map[int64]bool)}
		g.pads[pad] = c
	}
	return c
}

// Judge says whether an event is fresh or a repeat, or returns a [*Refusal].
// It changes nothing in the chart: Learn of the event once it is stored.
//
// An event refused for good stays with its sender, and what comes behind it is
// taken: the fold reports the gap.
func (g *Gate) Judge(e *events.Event) (Verdict, error) {
	verdict, refusal := g.judge(e)
	if refusal == nil {
		return verdict, nil
	}
	if !refusal.Later && e.Game == g.game && e.Chart == g.chart {
		g.count(e.Pad).refused[e.N] = true
	}
	return verdict, refusal
}

func (g *Gate) judge(e *events.Event) (Verdict, *Refusal) {
	if err := events.Check(e); err != nil {
		if f, ok := err.(*events.FieldError); ok {
			return Fresh, &Refusal{Field: f.Field, Reason: f.Reason}
		}
		return Fresh, &Refusal{Field: "event", Reason: err.Error()}
	}
	switch {
	case len(e.Raw) == 0:
		return Fresh, &Refusal{Field: "event", Reason: "has no bytes to store"}
	case e.Game != g.game:
		return Fresh, &Refusal{Field: "game", Reason: fmt.Sprintf("%q; this chart is of %q", e.Game, g.game)}
	case e.Chart != g.chart:
		return Fresh, &Refusal{Field: "chart", Reason: fmt.Sprintf("%q; this is %q", e.Chart, g.chart)}
	}
	if sum, ok := g.sums[e.ID]; ok {
		if sum == e.Sum() {
			return Repeat, nil
		}
		return Fresh, &Refusal{Field: "id", Reason: fmt.Sprintf("%s is here with other contents; an event is never changed, amend it", e.ID)}
	}
	return Fresh, g.inTurn(e)
}

// inTurn refuses a number used before, and puts off one that is not the
// pad's turn yet.
func (g *Gate) inTurn(e *events.Event) *Refusal {
	c := g.count(e.Pad)
	if id, used := c.ids[e.N]; used {
		return &Refusal{Field: "n", Reason: fmt.Sprintf("%d is event %s; each event of a pad has a number of its own", e.N, id)}
	}
	for n := c.last + 1; n < e.N; n++ {
		if !c.refused[n] {
			return &Refusal{Field: "n", Reason: fmt.Sprintf("%d of pad %s comes before %d is here; send that first", e.N, e.Pad, n), Later: true}
		}
	}
	return nil
}
