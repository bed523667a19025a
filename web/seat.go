package web

import (
	"bytes"
	"context"
	"errors"
	"sync"

	"stopledger/charting"
	"stopledger/events"
	"stopledger/events/bus"
)

const chartAdopted events.Type = "chart-adopted"

// seats are the charts that pads have open, each with the gate that judges
// what they send.
type seats struct {
	mu   sync.Mutex
	open map[chartKey]*seat
}

// seat is one chart's gate. Its events are judged and stored one at a time, so
// that two lines of one pad cannot slip the same number past it.
type seat struct {
	chart chartKey
	lines int // under seats.mu

	turn  sync.Mutex
	gate  *charting.Gate
	at    bus.Position // what the gate has learnt of the desk
	asked map[padGap]bool
}

// padGap is an event that came before one that should precede it.
type padGap struct {
	pad events.Token
	n   int64
}

// take opens a line to a chart; leave closes it.
func (s *seats) take(k chartKey) (one *seat, leave func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	one = s.open[k]
	if one == nil {
		one = &seat{chart: k, gate: charting.NewGate(k.game, k.chart), asked: make(map[padGap]bool)}
		s.open[k] = one
	}
	one.lines++
	return one, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		one.turn.Lock()
		defer one.turn.Unlock()
		if one.lines--; one.lines == 0 && len(one.asked) == 0 {
			delete(s.open, k)
		}
	}
}

// padLine is one socket's way through the gate.
type padLine struct {
	*Server
	seat *seat
	held map[events.Token]int64 // pads whose event n was put off: what follows it waits too
}

// judge judges one event and stores it. Whatever the answer, nothing that a
// pad sent is half stored: it is safe, refused for good, or to be sent again.
func (l *padLine) judge(ctx context.Context, raw []byte) padHears {
	e, err := events.Decode(raw)
	if err != nil {
		return refused(idOf(raw), err)
	}
	if bytes.ContainsAny(e.Raw, "\r\n") {
		return refused(e.ID, faultf(invalid, "an event is one line, without line breaks between its parts"))
	}
	if e.Type == chartAdopted && visitorOf(ctx).pass.Role < analyst {
		return refused(e.ID, faultf(forbidden, "which chart is of record is for an analyst to say; ask one"))
	}
	l.seat.turn.Lock()
	defer l.seat.turn.Unlock()
	l.seat.catchUp(l.desk)
	verdict, err := l.seat.gate.Judge(&e)
	var no *charting.Refusal
	switch {
	case errors.As(err, &no) && !no.Later:
		return refused(e.ID, &events.FieldError{Field: no.Field, Reason: no.Reason})
	case l.waits(&e):
		return later(e.ID, "an earlier event of this pad is not stored yet; send that first")
	case errors.As(err, &no) && !l.seat.believes(&e):
		l.held[e.Pad] = e.N
		return later(e.ID, no.Reason)
	case verdict == charting.Repeat:
		return padHears{Op: "safe", ID: e.ID}
	}
	return l.store(ctx, &e)
}

// waits reports whether an event follows one of its pad that was put off on
// this line.
func (l *padLine) waits(e *events.Event) bool {
	n, ok := l.held[e.Pad]
	return ok && e.N > n
}

func (l *padLine) store(ctx context.Context, e *events.Event) padHears {
	ctx, cancel := context.WithTimeout(ctx, writePatience)
	defer cancel()
	at, err := l.ledger.Append(ctx, e)
	var field *events.FieldError
	if errors.As(err, &field) {
		return refused(e.ID, err)
	}
	if err != nil {
		l.held[e.Pad] = e.N
		l.log.Error().Err(err).Str("event", string(e.ID)).Msg("not stored")
		return later(e.ID, "the ledger does not take events now: "+err.Error())
	}
	l.seat.gate.Learn(e)
	delete(l.held, e.Pad)
	if e.Type == chartAdopted {
		l.note(ctx, visitorOf(ctx), "chart-of-record", string(e.Game), string(e.Raw))
	}
	return padHears{Op: "safe", ID: e.ID, At: at}
}

// catchUp tells the gate what the ledger holds by now, whoever put it there.
func (s *seat) catchUp(d *desk) {
	list, at := d.behind(s.chart, s.at)
	for i := range list {
		s.gate.Learn(&list[i].Event)
	}
	s.at = at
}

// believes reports whether an event that is not its pad's turn is taken all
// the same. A pad sends all it has, in order; so it is asked once to send what
// is missing. If it comes back with the same gap it has nothing to fill it
// with, and to store the event and let the fold report the gap loses least.
func (s *seat) believes(e *events.Event) bool {
	g := padGap{e.Pad, e.N}
	if s.asked[g] {
		delete(s.asked, g)
		return true
	}
	if len(s.asked) >= mostGaps {
		clear(s.asked)
	}
	s.asked[g] = true
	return false
}

// mostGaps bounds what is remembered of gaps; forgetting one costs its pad
// another round.
const mostGaps = 1000

func refused(id events.ID, err error) padHears {
	return padHears{Op: "refused", ID: id, Error: asFault(err)}
}

func later(id events.ID, reason string) padHears {
	return padHears{Op: "later", ID: id, Error: &fault{Kind: unavailable, Reason: reason}}
}
