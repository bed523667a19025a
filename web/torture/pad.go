package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"

	"stopledger/events"
)

// pad sends a list of events over a pad's line, in order, until every one is
// acknowledged. What is not is kept and sent again when the line is back.
type pad struct {
	address string
	list    []events.Event
	acked   map[events.ID]bool
	count   *atomic.Int64 // of all pads
	trouble func(reason string)
	slow    time.Duration // between two events
}

// flight is how many events may be under way, as on the Pad.
const flight = 32

type told struct {
	Op    string    `json:"op"`
	ID    events.ID `json:"id"`
	Error struct {
		Field  string `json:"field"`
		Reason string `json:"reason"`
	} `json:"error"`
}

func newPad(address string, list []events.Event, count *atomic.Int64) *pad {
	return &pad{address: address, list: list, acked: make(map[events.ID]bool), count: count, trouble: func(string) {}}
}

// chart goes on until all is safe, or until the server refuses something for
// good, which no round expects.
func (p *pad) chart(ctx context.Context) error {
	for ctx.Err() == nil {
		waiting := p.waiting()
		if len(waiting) == 0 {
			return nil
		}
		ws, err := p.dial(ctx)
		if err == nil {
			err = p.talk(ws, waiting)
			ws.Close()
		}
		if refused, ok := err.(refusal); ok {
			return refused
		}
		time.Sleep(time.Duration(20+rand.IntN(60)) * time.Millisecond)
	}
	return ctx.Err()
}

func (p *pad) waiting() []events.Event {
	var out []events.Event
	for _, e := range p.list {
		if !p.acked[e.ID] {
			out = append(out, e)
		}
	}
	return out
}

func (p *pad) dial(ctx context.Context) (*websocket.Conn, error) {
	ws, err := connect(ctx, p.address)
	if err != nil {
		return nil, err
	}
	e := &p.list[0]
	// A position beyond the end: this pad need not be told what it sent itself.
	return ws, ws.WriteJSON(map[string]any{"op": "hello", "game": e.Game, "chart": e.Chart, "after": uint64(1) << 62})
}

// connect dials until a server that is still reading its ledger is ready, for
// ten seconds, as a real pad does.
func connect(ctx context.Context, address string) (*websocket.Conn, error) {
	ws, _, err := websocket.DefaultDialer.DialContext(ctx, "ws://"+address+"/ws/pad", nil)
	for tries := 0; err != nil && tries < 100 && ctx.Err() == nil; tries++ {
		time.Sleep(100 * time.Millisecond)
		ws, _, err = websocket.DefaultDialer.DialContext(ctx, "ws://"+address+"/ws/pad", nil)
	}
	return ws, err
}

type refusal string

func (r refusal) Error() string { return string(r) }

// talk sends what waits and hears what is safe, until all is or the line breaks.
func (p *pad) talk(ws *websocket.Conn, waiting []events.Event) error {
	sent, safe := 0, 0
	for safe < len(waiting) {
		for ; sent < len(waiting) && sent-safe < flight; sent++ {
			if err := say(ws, &waiting[sent]); err != nil {
				return err
			}
			time.Sleep(p.slow)
		}
		_ = ws.SetReadDeadline(time.Now().Add(20 * time.Second))
		_, text, err := ws.ReadMessage()
		if err != nil {
			return err
		}
		var m told
		if err := json.Unmarshal(text, &m); err != nil {
			return err
		}
		switch m.Op {
		case "safe":
			if safe++; !p.acked[m.ID] {
				p.acked[m.ID] = true
				p.count.Add(1)
			}
		case "later":
			p.trouble(m.Error.Reason)
			return fmt.Errorf("later: %s", m.Error.Reason)
		case "refused":
			return refusal(fmt.Sprintf("event %s refused: %s: %s", m.ID, m.Error.Field, m.Error.Reason))
		}
	}
	return nil
}

func say(ws *websocket.Conn, e *events.Event) error {
	_ = ws.SetWriteDeadline(time.Now().Add(20 * time.Second))
	return ws.WriteMessage(websocket.TextMessage, fmt.Appendf(nil, `{"op":"append","event":%s}`, e.Raw))
}
