package web

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"sync"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/replay"
	"stopledger/web/rulebook"
	"stopledger/web/season"
)

// Buckets is what a ledger also keeps: people and definitions. A ledger that
// offers none knows nobody, and holds only the definitions that come with the
// program.
type Buckets interface {
	Bucket(ctx context.Context, name bus.BucketName) (bus.Bucket, error)
}

// room is what the Board and the Bench know of the ledger: its seasons in
// columns, and its definitions.
type room struct {
	buckets Buckets
	seasons *season.Room

	mu   sync.Mutex
	book *rulebook.Book
	met  bool       // people were read
	past []pastView // the newest last
}

// pastView is a season as it was, or as a visitor of some games sees it.
type pastView struct {
	key  string
	view *season.View
}

// maxPast is how many of them are kept.
const maxPast = 4

func newRoom(l Ledger) *room {
	r := &room{seasons: season.New()}
	r.buckets, _ = l.(Buckets)
	return r
}

// rules is the book of definitions.
func (r *room) rules(ctx context.Context) (*rulebook.Book, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.book == nil && r.buckets == nil {
		r.book = rulebook.Over(nil)
	}
	if r.book == nil {
		book, err := rulebook.Open(ctx, r.buckets)
		if err != nil {
			return nil, err
		}
		r.book = book
	}
	return r.book, nil
}

// meet reads what is known of people, the first time.
func (r *room) meet(ctx context.Context) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.met || r.buckets == nil {
		return nil
	}
	list, err := readPeople(ctx, r.buckets)
	if err != nil {
		return err
	}
	r.seasons.Meet(list)
	r.met = true
	return nil
}

// watch reads people anew whenever somebody changes them, until ctx ends.
func (r *room) watch(ctx context.Context) error {
	if r.buckets == nil {
		return nil
	}
	bucket, err := r.buckets.Bucket(ctx, bus.People)
	if errors.Is(err, bus.ErrNotFound) || errors.Is(err, bus.ErrReadOnly) {
		return nil
	}
	if err != nil {
		return err
	}
	began := time.Now()
	for v, err := range bucket.Watch(ctx) {
		if err != nil {
			return err
		}
		if v.Stored.After(began) || v.Deleted {
			r.mu.Lock()
			r.met, r.past = false, nil
			r.mu.Unlock()
		}
	}
	return nil
}

// warm gets ready what the first page will ask for, once the ledger is read.
func (s *Server) warm(ctx context.Context) {
	for s.desk.open() != nil {
		select {
		case <-ctx.Done():
			return
		case <-time.After(20 * time.Millisecond):
		}
	}
	book, err := s.room.rules(ctx)
	if err == nil {
		err = s.room.meet(ctx)
	}
	if err != nil {
		s.log.Warn().Err(err).Msg("numbers are not ready yet")
		return
	}
	if d, err := book.InForce(ctx); err == nil {
		s.room.seasons.Now(s.desk.season().Games, uint64(s.desk.position())).Study(d)
	}
	go s.settle(ctx)
	if err := s.room.watch(ctx); err != nil && ctx.Err() == nil {
		s.log.Warn().Err(err).Msg("changes of people show only after a restart")
	}
}

// quiet is how long nothing may be charted before numbers are made from
// scratch: longer than a chance usually takes to be charted.
const quiet = 5 * time.Second

// settle makes the numbers anew once the ledger rests, and tells the boards.
func (s *Server) settle(ctx context.Context) {
	watch, leave := s.desk.watchBoard()
	defer leave()
	rest := time.NewTimer(quiet)
	defer rest.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-watch.nudge:
			s.desk.changes(watch)
			rest.Reset(quiet)
		case <-rest.C:
			if s.room.seasons.Settle() {
				s.desk.nudgeBoards()
			}
		}
	}
}

func readPeople(ctx context.Context, from Buckets) ([]events.Person, error) {
	bucket, err := from.Bucket(ctx, bus.People)
	if errors.Is(err, bus.ErrNotFound) || errors.Is(err, bus.ErrReadOnly) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	keys, err := bucket.Keys(ctx)
	if err != nil {
		return nil, err
	}
	var list []events.Person
	for _, key := range keys {
		v, err := bucket.Get(ctx, key)
		if errors.Is(err, bus.ErrNotFound) {
			continue // erased meanwhile
		}
		if err != nil {
			return nil, err
		}
		if p, err := events.ReadPerson(v.Bytes); err == nil {
			list = append(list, p)
		}
	}
	return list, nil
}

// kept gives a past view, made once.
func (r *room) kept(key string, make func() (*season.View, error)) (*season.View, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, p := range r.past {
		if p.key == key {
			return p.view, nil
		}
	}
	v, err := make()
	if err != nil {
		return nil, err
	}
	r.past = append(r.past, pastView{key, v})
	if len(r.past) > maxPast {
		r.past = r.past[1:]
	}
	return v, nil
}

// moment is a place along the ledger: one of the three is set.
type moment struct {
	position bus.Position
	id       events.ID
	time     time.Time
}

func parseMoment(text string) (moment, error) {
	if n, err := strconv.ParseUint(text, 10, 63); err == nil && n > 0 {
		return moment{position: bus.Position(n)}, nil
	}
	if id := events.ID(text); id.Valid() {
		return moment{id: id}, nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return moment{}, faultf(invalid, "as of %q: want a time such as 2031-01-14T19:30:00Z, an event's id or a position", text)
	}
	return moment{time: t}, nil
}

// until gives what was read of the ledger up to a moment, in its order.
func (d *desk) until(m moment) ([]bus.Entry, error) {
	d.mu.Lock()
	var list []bus.Entry
	for _, sh := range d.charts {
		list = append(list, sh.list...)
	}
	d.mu.Unlock()
	slices.SortFunc(list, func(a, b bus.Entry) int { return cmp.Compare(a.Position, b.Position) })
	if m.id != "" {
		i := slices.IndexFunc(list, func(e bus.Entry) bool { return e.Event.ID == m.id })
		if i < 0 {
			return nil, faultf(notFound, "as of %s: the ledger holds no such event", m.id)
		}
		return list[:i+1], nil
	}
	return slices.DeleteFunc(list, func(e bus.Entry) bool {
		if m.position > 0 {
			return e.Position > m.position
		}
		stored := e.Stored
		if stored.IsZero() {
			stored = e.Event.Recorded
		}
		return stored.After(m.time)
	}), nil
}

// position is how far the ledger was read.
func (d *desk) position() bus.Position {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.at
}

func foldEntries(list []bus.Entry) (*replay.Season, error) {
	return replay.Fold(func(yield func(events.Event, error) bool) {
		for _, e := range list {
			if !yield(e.Event, nil) {
				return
			}
		}
	})
}

// nudgeBoards makes every board look again, though nothing was charted.
func (d *desk) nudgeBoards() {
	d.mu.Lock()
	defer d.mu.Unlock()
	for b := range d.boards {
		poke(b.nudge)
	}
}
