package access

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"stopledger/events/bus"
)

// What may be wrong with a key or a token, for errors.Is.
var (
	// ErrUnknown: no such key or token, or its pass is expired or revoked. Which
	// of these is not told to who asks.
	ErrUnknown = errors.New("this link or device is not let in")
	// ErrSpent: the link has opened as many devices as it may.
	ErrSpent = errors.New("this link was opened before")
	// ErrEnded: the pass was revoked or expired while it was in use.
	ErrEnded = errors.New("the pass has ended")
)

// Book is the passes of a ledger. Its methods may be called from several
// goroutines.
type Book struct {
	bucket bus.Bucket
	now    func() time.Time
	misses *rate.Limiter // questions to the bucket that strangers can cause

	mu     sync.Mutex
	fresh  bool // the passes below follow the bucket
	passes map[string]*held
}

// held is a pass and who waits for its end.
type held struct {
	pass  Pass
	at    bus.Revision
	ended chan struct{}
}

// Open opens the book over the bucket [bus.Access] of a ledger; now is the
// clock, time.Now outside tests.
func Open(bucket bus.Bucket, now func() time.Time) *Book {
	return &Book{bucket: bucket, now: now, misses: rate.NewLimiter(50, 100), passes: make(map[string]*held)}
}

// Follow keeps up with what other processes grant and revoke, until ctx ends.
// Without it, and while the bucket cannot be watched, every question goes to
// the bucket itself.
func (b *Book) Follow(ctx context.Context) error {
	for v, err := range b.bucket.Watch(ctx) {
		if err != nil {
			b.setFresh(false)
			return fmt.Errorf("follow the passes: %w", err)
		}
		var p Pass
		if !v.Deleted {
			if err := json.Unmarshal(v.Bytes, &p); err != nil {
				p = Pass{} // what cannot be read opens nothing
			}
		}
		p.ID = v.Key
		b.keep(p, v.Revision)
		b.setFresh(true)
	}
	b.setFresh(false)
	return ctx.Err()
}

func (b *Book) setFresh(fresh bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fresh = fresh
}

// keep notes how a pass stands, and tells who waits for its end. What is older
// than what is known changes nothing.
func (b *Book) keep(p Pass, at bus.Revision) {
	b.mu.Lock()
	defer b.mu.Unlock()
	h := b.passes[p.ID]
	if h == nil {
		h = &held{ended: make(chan struct{})}
		b.passes[p.ID] = h
	}
	if at < h.at {
		return
	}
	was := h.pass.Role > Nobody && h.pass.Revoked.IsZero()
	h.pass, h.at = p, at
	if was && (p.Role == Nobody || !p.Revoked.IsZero()) {
		close(h.ended)
		h.ended = make(chan struct{})
	}
}

// Grant stores a new pass and returns it with its key, which is nowhere else.
// Role, Who, Games, Devices (0 is 1), Expires and By are the caller's.
func (b *Book) Grant(ctx context.Context, p Pass) (Pass, string, error) {
	p.ID, p.Granted, p.Opened = newID(), b.now().UTC(), nil
	p.Devices = max(1, p.Devices)
	if p.Role <= Nobody || p.Role > Owner {
		return Pass{}, "", fmt.Errorf("grant a pass: no such role")
	}
	if !p.Live(b.now()) {
		return Pass{}, "", fmt.Errorf("grant a pass: it would have expired at %s", p.Expires.Format(time.RFC3339))
	}
	for _, g := range p.Games {
		if !g.Valid() {
			return Pass{}, "", fmt.Errorf("grant a pass: %q is no game's id", g)
		}
	}
	secret := newSecret()
	p.Key = hash(secret)
	if _, err := b.put(ctx, p, bus.NoRevision); err != nil {
		return Pass{}, "", fmt.Errorf("grant a pass: %w", err)
	}
	return p, p.ID + "." + secret, nil
}

// Enter changes a link's key into a token for one device.
func (b *Book) Enter(ctx context.Context, key string) (Pass, string, error) {
	id, secret, ok := split(key)
	if !ok || !b.misses.Allow() {
		return Pass{}, "", ErrUnknown
	}
	token := newSecret()
	p, err := b.change(ctx, id, func(p *Pass) error {
		switch {
		case !same(p.Key, hash(secret)) || !p.Live(b.now()):
			return ErrUnknown
		case len(p.Opened) >= p.Devices:
			return ErrSpent
		}
		p.Opened = append(p.Opened, Device{hash(token), b.now().UTC()})
		return nil
	})
	if errors.Is(err, bus.ErrNotFound) {
		err = ErrUnknown
	}
	return p, id + "." + token, err
}

// Leave makes a token worthless.
func (b *Book) Leave(ctx context.Context, token string) error {
	id, secret, ok := split(token)
	if !ok {
		return ErrUnknown
	}
	_, err := b.change(ctx, id, func(p *Pass) error {
		if !p.opened(secret) {
			return ErrUnknown
		}
		sum := hash(secret)
		for i := range p.Opened {
			if p.Opened[i].Token == sum {
				p.Opened[i].Token = "" // the place stays taken: the link is spent
			}
		}
		return nil
	})
	return err
}

// Revoke ends a pass. Whoever wears it is shown out at once.
func (b *Book) Revoke(ctx context.Context, id string) (Pass, error) {
	if !validID(id) {
		return Pass{}, fmt.Errorf("%q is no pass; list them to see their ids", id)
	}
	return b.change(ctx, id, func(p *Pass) error {
		if p.Revoked.IsZero() {
			p.Revoked = b.now().UTC()
		}
		return nil
	})
}

// Who says whose token it is, or ErrUnknown. Another error means that the
// bucket cannot be asked.
func (b *Book) Who(ctx context.Context, token string) (Pass, error) {
	id, secret, ok := split(token)
	if !ok {
		return Pass{}, ErrUnknown
	}
	b.mu.Lock()
	h, fresh := b.passes[id], b.fresh
	var p Pass
	if h != nil {
		p = h.pass
	}
	b.mu.Unlock()
	if h == nil || !fresh || !p.opened(secret) {
		// Perhaps it was let in by another process a moment ago.
		if !b.misses.Allow() {
			return Pass{}, ErrUnknown
		}
		var err error
		if p, _, err = b.get(ctx, id); errors.Is(err, bus.ErrNotFound) {
			return Pass{}, ErrUnknown
		} else if err != nil {
			return Pass{}, err
		}
	}
	if !p.Live(b.now()) || !p.opened(secret) {
		return Pass{}, ErrUnknown
	}
	return p, nil
}

// Hold returns a context that ends, with the cause [ErrEnded], when the pass
// is revoked or expires.
func (b *Book) Hold(ctx context.Context, p Pass) (context.Context, context.CancelFunc) {
	b.mu.Lock()
	h := b.passes[p.ID]
	if h == nil {
		h = &held{pass: p, ended: make(chan struct{})}
		b.passes[p.ID] = h
	}
	ended := h.ended
	gone := !h.pass.Revoked.IsZero()
	b.mu.Unlock()
	ctx, end := context.WithCancelCause(ctx)
	if gone {
		end(ErrEnded)
		return ctx, func() { end(nil) }
	}
	timer := time.AfterFunc(p.Expires.Sub(b.now()), func() { end(ErrEnded) })
	go func() {
		defer timer.Stop()
		select {
		case <-ended:
			end(ErrEnded)
		case <-ctx.Done():
		}
	}()
	return ctx, func() { end(nil) }
}

// List gives every pass ever granted, the newest first.
func (b *Book) List(ctx context.Context) ([]Pass, error) {
	keys, err := b.bucket.Keys(ctx)
	if err != nil {
		return nil, err
	}
	list := make([]Pass, 0, len(keys))
	for _, id := range keys {
		p, _, err := b.get(ctx, id)
		if err != nil {
			return nil, err
		}
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b Pass) int {
		if c := b.Granted.Compare(a.Granted); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list, nil
}

func (b *Book) get(ctx context.Context, id string) (Pass, bus.Revision, error) {
	v, err := b.bucket.Get(ctx, id)
	if err != nil {
		return Pass{}, 0, err
	}
	var p Pass
	if err := json.Unmarshal(v.Bytes, &p); err != nil {
		return Pass{}, 0, fmt.Errorf("read pass %s: %w", id, err)
	}
	return p, v.Revision, nil
}

func (b *Book) put(ctx context.Context, p Pass, was bus.Revision) (bus.Revision, error) {
	text, err := json.Marshal(p)
	if err != nil {
		return 0, err
	}
	at, err := b.bucket.Put(ctx, p.ID, text, was)
	if err == nil {
		b.keep(p, at)
	}
	return at, err
}

// change reads a pass, changes it and stores it, again if somebody else was
// quicker: so a link cannot open two devices for one place.
func (b *Book) change(ctx context.Context, id string, do func(*Pass) error) (Pass, error) {
	for {
		p, at, err := b.get(ctx, id)
		if err != nil {
			return Pass{}, err
		}
		if err := do(&p); err != nil {
			return Pass{}, err
		}
		_, err = b.put(ctx, p, at)
		if err == nil || !errors.Is(err, bus.ErrConflict) {
			return p, err
		}
	}
}
