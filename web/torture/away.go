package main

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
)

// stretch is longer than the two minutes within which the store knows a
// repeated message.
const stretch = 130 * time.Second

// offline cuts the line behind every message before its acknowledgement is
// heard, keeps the pads away past the duplicate window with a killed server in
// between, and sends everything again.
func offline(ctx context.Context, dir string, s size, r *row) error {
	h := &host{dir: dir}
	if err := h.start(); err != nil {
		return err
	}
	var sent []events.Event
	var pads []*pad
	var count atomic.Int64
	for _, name := range []events.Token{"p1", "p2", "p3", "p4"} {
		list := notes("hbr-mil", name, 1, s.of(500, 60), evening)
		pads, sent = append(pads, newPad(h.address, list, &count)), append(sent, list...)
	}
	for _, p := range pads {
		if err := p.sayAndGo(ctx, flight); err != nil {
			return err
		}
		r.times++
	}
	if err := h.killAndStart(); err != nil {
		return err
	}
	wait := stretch
	if s.short {
		wait, r.note = 0, "short run: not past the window"
	} else {
		r.note = "away for " + stretch.String()
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(wait):
	}
	return r.finish(ctx, h, sent, pads...)
}

// sayAndGo sends the first n events and hangs up without listening.
func (p *pad) sayAndGo(ctx context.Context, n int) error {
	ws, err := p.dial(ctx)
	if err != nil {
		return err
	}
	defer ws.Close()
	for i := range p.list[:n] {
		if err := say(ws, &p.list[i]); err != nil {
			return err
		}
	}
	time.Sleep(100 * time.Millisecond) // long enough that some are stored
	return nil
}

// finish lets pads chart to the end at once, stops the server and counts.
func (r *row) finish(ctx context.Context, h *host, sent []events.Event, pads ...*pad) error {
	errs := make([]error, len(pads))
	var all sync.WaitGroup
	for i, p := range pads {
		all.Go(func() { errs[i] = p.chart(ctx) })
	}
	all.Wait()
	acked := make(map[events.ID]bool)
	for _, p := range pads {
		for id := range p.acked {
			acked[id] = true
		}
	}
	if err := errors.Join(append(errs, h.now.stop())...); err != nil {
		return err
	}
	return r.ask(ctx, h.dir, sent, acked)
}

// twoTabs has two lines send the same queue: tabs of one browser share what
// waits there.
func twoTabs(ctx context.Context, dir string, s size, r *row) error {
	h := &host{dir: dir}
	if err := h.start(); err != nil {
		return err
	}
	var count atomic.Int64
	shared := notes("hbr-mil", "p1", 1, s.of(1000, 150), evening)
	other := notes("hbr-mil", "p2", 1, s.of(1000, 150), evening)
	r.times = 2
	return r.finish(ctx, h, append(shared, other...),
		newPad(h.address, shared, &count), newPad(h.address, shared, &count), newPad(h.address, other, &count))
}

// wrongClocks has one pad two minutes ahead and one that is set back by ten in
// mid-game. The clock orders nothing; the setting back is a finding.
func wrongClocks(ctx context.Context, dir string, s size, r *row) error {
	h := &host{dir: dir}
	if err := h.start(); err != nil {
		return err
	}
	n := s.of(500, 60)
	ahead := notes("hbr-mil", "p1", 1, n, evening.Add(2*time.Minute))
	right := notes("hbr-mil", "p2", 1, n, evening)
	back := append(notes("kes-oda", "p3", 1, n, evening), notes("kes-oda", "p3", n+1, n, evening.Add(-10*time.Minute))...)
	r.times = 2
	sent := append(append(ahead, right...), back...)
	var count atomic.Int64
	err := r.finish(ctx, h, sent, newPad(h.address, ahead, &count), newPad(h.address, right, &count), newPad(h.address, back, &count))
	if err != nil {
		return err
	}
	skews, err := findingsOf(ctx, dir, replay.ClockSkew)
	if err != nil {
		return err
	}
	if skews["kes-oda"] == 0 || skews["hbr-mil"] > 0 {
		r.wrongf("clock findings: %v; want the clock set back found, and two minutes let pass", skews)
	}
	return nil
}

func findingsOf(ctx context.Context, dir, what string) (map[events.Token]int, error) {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return nil, err
	}
	defer l.Close()
	season, err := replay.Fold(l.Read(ctx, 0))
	if err != nil {
		return nil, err
	}
	out := make(map[events.Token]int)
	for _, g := range season.Games {
		for _, c := range g.Charts {
			for _, f := range c.Findings {
				if f.What == what {
					out[g.ID]++
				}
			}
		}
	}
	return out, nil
}

// storageCleared has a pad lose all it kept, after everything was safe. It
// comes back as a new pad and is told all of it.
func storageCleared(ctx context.Context, dir string, s size, r *row) error {
	h := &host{dir: dir}
	if err := h.start(); err != nil {
		return err
	}
	n := s.of(2000, 200)
	before, after := notes("hbr-mil", "p1", 1, n, evening), notes("hbr-mil", "p2", 1, n, evening.Add(time.Hour))
	var count atomic.Int64
	first := newPad(h.address, before, &count)
	if err := first.chart(ctx); err != nil {
		return err
	}
	if err := h.killAndStart(); err != nil {
		return err
	}
	r.times = 1
	var told map[events.ID]bool
	err := errors.New("not asked")
	for try := 0; err != nil; try++ { // the server reads the ledger first
		if told, err = everythingTold(ctx, h.address, n); try == 100 {
			return err
		}
		time.Sleep(50 * time.Millisecond)
	}
	for _, e := range before {
		if !told[e.ID] {
			r.wrongf("the pad is not told of event %d", e.N)
		}
	}
	return r.finish(ctx, h, append(before, after...), first, newPad(h.address, after, &count))
}

// everythingTold says hello as a pad that knows nothing.
func everythingTold(ctx context.Context, address string, n int) (map[events.ID]bool, error) {
	ws, err := connect(ctx, address)
	if err != nil {
		return nil, err
	}
	defer ws.Close()
	if err := ws.WriteJSON(map[string]any{"op": "hello", "game": "hbr-mil", "chart": "main"}); err != nil {
		return nil, err
	}
	out := make(map[events.ID]bool)
	for len(out) < n {
		var m struct {
			Events []struct {
				Event json.RawMessage `json:"event"`
			} `json:"events"`
		}
		_ = ws.SetReadDeadline(time.Now().Add(20 * time.Second))
		if err := ws.ReadJSON(&m); err != nil {
			return nil, err
		}
		for _, one := range m.Events {
			e, err := events.Decode(one.Event)
			if err != nil {
				return nil, err
			}
			out[e.ID] = true
		}
	}
	return out, nil
}
