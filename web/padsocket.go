package web

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
)

// What a pad and the server say to each other over /ws/pad, one JSON object a
// message:
//
//	pad     {"op":"hello","game","chart","after"}   first; after is a position
//	server  {"op":"hello","at"}                     at is where the ledger stands
//	server  {"op":"events","events":[{"at","event"}],"at"}
//	pad     {"op":"append","event"}
//	server  {"op":"safe","id","at"}                 stored and synced
//	server  {"op":"refused","id","error"}           will never be taken as it is
//	server  {"op":"later","id","error"}             not now; hang up, and send it and what follows again
//
// Everything on the chart behind the position is sent, the pad's own events
// too: which it has seen the pad knows by their ids.
type padSays struct {
	Op    string          `json:"op"`
	Game  events.Token    `json:"game,omitempty"`
	Chart events.Token    `json:"chart,omitempty"`
	After bus.Position    `json:"after,omitempty"`
	Event json.RawMessage `json:"event,omitempty"`
}

type padHears struct {
	Op     string       `json:"op"`
	At     bus.Position `json:"at,omitempty"`
	ID     events.ID    `json:"id,omitempty"`
	Error  *fault       `json:"error,omitempty"`
	Events []storedJSON `json:"events,omitempty"`
}

type storedJSON struct {
	At    bus.Position    `json:"at"`
	Event json.RawMessage `json:"event"`
}

// eventBatch is how many events go into one message.
const eventBatch = 200

func (s *Server) padSocket(w http.ResponseWriter, r *http.Request) {
	k, leave, ok := s.upgrade(w, r)
	if !ok {
		return
	}
	defer leave()
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	var hello padSays
	if err := k.read(ctx, &hello); err != nil {
		k.close(err)
		return
	}
	if hello.Op != "hello" || !hello.Game.Valid() || !hello.Chart.Valid() {
		k.close(faultf(invalid, "want a hello with game and chart first"))
		return
	}
	if !visitorOf(ctx).sees(hello.Game) {
		k.close(faultf(forbidden, "your pass is for other games than %s; ask for one that opens it", hello.Game))
		return
	}
	chart := chartKey{hello.Game, hello.Chart}
	answers := make(chan padHears, 64)
	go func() {
		defer stop()
		s.tellPad(ctx, k, chart, hello.After, answers)
	}()
	go func() { <-ctx.Done(); k.close(why(ctx)) }()
	s.hearPad(ctx, k, chart, answers)
}

// hearPad takes in what the pad charts, until the line breaks.
func (s *Server) hearPad(ctx context.Context, k *socket, chart chartKey, answers chan<- padHears) {
	seat, leave := s.seats.take(chart)
	defer leave()
	line := &padLine{s, seat, make(map[events.Token]int64)}
	for {
		var m padSays
		if err := k.read(ctx, &m); err != nil {
			if asFault(err).Kind == invalid {
				k.close(err)
			}
			return
		}
		if m.Op != "append" {
			k.close(faultf(invalid, "no op %q; want append", m.Op))
			return
		}
		select {
		case answers <- line.judge(ctx, m.Event):
		case <-ctx.Done():
			return
		}
	}
}

// tellPad sends the chart's events as they come, and the answers.
func (s *Server) tellPad(ctx context.Context, k *socket, chart chartKey, after bus.Position, answers <-chan padHears) {
	nudge, leave := s.desk.watchChart(chart)
	defer leave()
	tick := time.NewTicker(pingEvery)
	defer tick.Stop()
	_, at := s.desk.behind(chart, after)
	if k.write(padHears{Op: "hello", At: at}) != nil {
		return
	}
	poke(nudge)
	for {
		var err error
		select {
		case <-ctx.Done():
			return
		case a := <-answers:
			err = k.write(a)
		case <-nudge:
			after, err = s.sendBehind(k, chart, after)
		case <-tick.C:
			err = k.ping()
		}
		if err != nil {
			return
		}
	}
}

func (s *Server) sendBehind(k *socket, chart chartKey, after bus.Position) (bus.Position, error) {
	list, _ := s.desk.behind(chart, after)
	for len(list) > 0 {
		part := list[:min(eventBatch, len(list))]
		list = list[len(part):]
		after = part[len(part)-1].Position
		if err := k.write(padHears{Op: "events", Events: storedList(part), At: after}); err != nil {
			return after, err
		}
	}
	return after, nil
}

func storedList(list []bus.Entry) []storedJSON {
	out := make([]storedJSON, len(list))
	for i, s := range list {
		out[i] = storedJSON{s.Position, s.Event.Raw}
	}
	return out
}

// idOf finds the id in an event that could not be read, so that the pad knows
// which of its events is meant.
func idOf(raw []byte) events.ID {
	var e struct {
		ID events.ID `json:"id"`
	}
	_ = json.Unmarshal(raw, &e)
	return e.ID
}
