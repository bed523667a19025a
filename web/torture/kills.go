package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"stopledger/events"
)

const padsAtOnce = 8

// chartAndKill is the evening: eight pads chart whole games, and the server is
// killed at moments spread over it.
func chartAndKill(ctx context.Context, dir string, s size, r *row) error {
	sent, err := season(s.of(10_000, 900), s.seed)
	if err != nil {
		return err
	}
	h := &host{dir: dir}
	if err := h.start(); err != nil {
		return err
	}
	work := make(chan []events.Event)
	go func() {
		defer close(work)
		for _, list := range byPad(sent) {
			work <- list
		}
	}()
	var count atomic.Int64
	var mu sync.Mutex
	acked := make(map[events.ID]bool)
	var pads sync.WaitGroup
	for range padsAtOnce {
		pads.Go(func() {
			for list := range work {
				p := newPad(h.address, list, &count)
				err := p.chart(ctx)
				mu.Lock()
				if err != nil {
					r.wrongf("a pad: %v", err)
				}
				for id := range p.acked {
					acked[id] = true
				}
				mu.Unlock()
			}
		})
	}
	ended := make(chan struct{})
	go func() { pads.Wait(); close(ended) }()
	if err := killAmid(ctx, h, s.of(50, 4), len(sent), &count, ended, r); err != nil {
		return err
	}
	<-ended
	if err := h.now.stop(); err != nil {
		return err
	}
	if len(acked) != len(sent) {
		r.wrongf("%d of %d events were acknowledged", len(acked), len(sent))
	}
	return r.ask(ctx, dir, sent, acked)
}

// killAmid kills the server at times moments spread at random over n
// acknowledgements.
func killAmid(ctx context.Context, h *host, times, n int, count *atomic.Int64, ended <-chan struct{}, r *row) error {
	random := rand.New(rand.NewPCG(uint64(times), uint64(n)))
	for i := range times {
		moment := int64(n*i/times + random.IntN(n/times))
		for count.Load() < moment {
			select {
			case <-ended:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(200 * time.Microsecond):
			}
		}
		time.Sleep(time.Duration(random.IntN(3000)) * time.Microsecond) // somewhere inside a write
		if err := h.killAndStart(); err != nil {
			return err
		}
		r.times++
	}
	return nil
}

// loadAndKill loads a season, is killed, and runs the same command again.
func loadAndKill(ctx context.Context, dir string, s size, r *row) error {
	sent, err := season(s.of(60_000, 4_000), s.seed+1)
	if err != nil {
		return err
	}
	path := filepath.Join(dir, "season.jsonl")
	if err := writeLines(path, sent); err != nil {
		return err
	}
	ledger := filepath.Join(dir, "ledger")
	random := rand.New(rand.NewPCG(s.seed, 2))
	for r.times < s.of(50, 4) {
		c, err := start("load", ledger, path)
		if err != nil {
			return err
		}
		ended := time.AfterFunc(time.Duration(20+random.IntN(400))*time.Millisecond, func() { _ = c.cmd.Process.Kill() })
		done := false
		for c.lines.Scan() {
			done = c.lines.Text() == "done"
		}
		if ended.Stop() && !done {
			return c.ended()
		}
		_ = c.cmd.Wait()
		r.times++
		if done && s.short { // quicker than the killer
			break
		}
	}
	c, err := start("load", ledger, path)
	if err != nil {
		return err
	}
	for c.lines.Scan() {
	}
	if err := c.ended(); err != nil {
		return err
	}
	acked := make(map[events.ID]bool, len(sent))
	for _, e := range sent {
		acked[e.ID] = true
	}
	return r.ask(ctx, ledger, sent, acked)
}

func writeLines(path string, list []events.Event) error {
	var text strings.Builder
	for _, e := range list {
		text.Write(e.Raw)
		text.WriteByte('\n')
	}
	return os.WriteFile(path, []byte(text.String()), 0o600)
}

// manyOpeners starts processes that all append to one directory at once, each
// of which may be the one that opens it; some are killed.
func manyOpeners(ctx context.Context, dir string, s size, r *row) error {
	ledger := filepath.Join(dir, "ledger")
	var mu sync.Mutex
	acked, sent := make(map[events.ID]bool), []events.Event{}
	var all sync.WaitGroup
	for i := range s.of(12, 4) {
		name := fmt.Sprintf("p%d", i)
		list := notes("hbr-mil", events.Token(name), 1, s.of(400, 60), evening)
		sent = append(sent, list...)
		path := filepath.Join(dir, name+".jsonl")
		if err := writeLines(path, list); err != nil {
			return err
		}
		r.times++
		all.Go(func() {
			// Killed once on the way, then again to the end: a repeat is harmless.
			for _, limit := range []int{len(list) / 3, len(list)} {
				c, err := start("append", ledger, path)
				for n := 0; err == nil && n < limit && c.lines.Scan(); n++ {
					mu.Lock()
					acked[events.ID(c.lines.Text())] = true
					mu.Unlock()
				}
				if err == nil && limit < len(list) {
					c.kill()
				} else if err == nil {
					err = c.stop()
				}
				if err != nil {
					mu.Lock()
					r.wrongf("%s: %v", name, err)
					mu.Unlock()
				}
			}
		})
	}
	all.Wait()
	if len(acked) != len(sent) {
		r.wrongf("%d of %d events were acknowledged", len(acked), len(sent))
	}
	return r.ask(ctx, ledger, sent, acked)
}
