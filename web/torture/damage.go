package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"

	"stopledger/events"
	"stopledger/events/bus"
)

// bitFlips flips one bit at a random place of the store, again and again from a
// sound copy. Each flip must be found, with its extent, and everything outside
// that extent must be readable, byte for byte.
func bitFlips(ctx context.Context, dir string, s size, r *row) error {
	return damage(ctx, dir, s, r, func(random *rand.Rand, path string) error {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		text[random.IntN(len(text))] ^= 1 << random.IntN(8)
		return os.WriteFile(path, text, 0o600)
	})
}

// truncation cuts a file of the store off at a random place.
func truncation(ctx context.Context, dir string, s size, r *row) error {
	return damage(ctx, dir, s, r, func(random *rand.Rand, path string) error {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		return os.Truncate(path, random.Int64N(info.Size()))
	})
}

func damage(ctx context.Context, dir string, s size, r *row, do func(*rand.Rand, string) error) error {
	sent, err := season(s.of(30_000, 800), s.seed+2)
	if err != nil {
		return err
	}
	sound := filepath.Join(dir, "sound")
	if err := fill(ctx, sound, sent); err != nil {
		return err
	}
	random := rand.New(rand.NewPCG(s.seed, 3))
	unreadable, unfound := 0, 0
	for r.times < s.of(40, 3) {
		r.times++
		hurt := filepath.Join(dir, fmt.Sprint("hurt", r.times))
		if err := os.CopyFS(hurt, os.DirFS(sound)); err != nil {
			return err
		}
		blocks, err := filepath.Glob(filepath.Join(hurt, "jetstream/*/streams/LEDGER/msgs/*.blk"))
		if err != nil || len(blocks) == 0 {
			return fmt.Errorf("find the store's files: %d, %w", len(blocks), err)
		}
		if err := do(random, blocks[random.IntN(len(blocks))]); err != nil {
			return err
		}
		gone, found, err := inspect(ctx, hurt, sent, r)
		if err != nil {
			return fmt.Errorf("round %d: %w", r.times, err)
		}
		unreadable += gone
		if gone > 0 && !found {
			unfound++
		}
		_ = os.RemoveAll(hurt)
	}
	r.acked = len(sent)
	r.note = fmt.Sprintf("%d events destroyed over all; every damage found", unreadable)
	if unfound > 0 {
		r.wrongf("%d of %d damages destroyed events and were not reported", unfound, r.times)
	}
	return nil
}

func fill(ctx context.Context, dir string, list []events.Event) error {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return err
	}
	_, err = l.Load(ctx, func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	}, nil)
	return errors.Join(err, l.Close())
}

// inspect opens a damaged ledger and counts what is gone. What is readable must
// be as it was.
func inspect(ctx context.Context, dir string, sent []events.Event, r *row) (gone int, found bool, err error) {
	l, err := bus.Open(ctx, dir, bus.Options{})
	if err != nil {
		return 0, false, err
	}
	defer l.Close()
	c, err := l.Inspect(ctx)
	if err != nil {
		return 0, false, err
	}
	want := make(map[events.ID]string, len(sent))
	for _, e := range sent {
		want[e.ID] = string(e.Raw)
	}
	for e, err := range l.Read(ctx, 0) {
		var bad *events.LineError
		if errors.As(err, &bad) {
			continue
		}
		if err != nil {
			return 0, false, err
		}
		if text, there := want[e.ID]; there && text != string(e.Raw) {
			r.wrongf("event %s reads otherwise than it was", e.ID)
		}
		delete(want, e.ID)
	}
	return len(want), !c.Sound(), nil
}
