package bus

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"iter"
	"slices"

	"github.com/google/uuid"

	"stopledger/events"
)

// LoadReport is what a load did. Added counts only what is safe on disk.
type LoadReport struct {
	Read         int // events and lines that came in
	Added        int
	AlreadyThere int // same id and same bytes as in the ledger or earlier in the load
	// Conflicting events have an id that is there with other bytes. They are
	// stored, for nothing is dropped, and the fold reports them.
	Conflicting []Remark
	// Refused lines are no events or fail their check; they are not stored.
	Refused []Remark
}

// Remark is about one line of what was loaded.
type Remark struct {
	Line int // counted from 1, empty lines included as far as the reader told
	ID   events.ID
	Err  error
}

// Load stores many events in their order. It reads first which events the
// ledger has and adds only what is missing, so a load that was killed is simply
// run again and ends with the same ledger as an undisturbed one. Events go to
// the server in batches of up to 1,000; each is on disk, whole, before it
// counts as added. An [*events.LineError] of in is reported and passed over; any
// other error ends the load. progress, if not nil, is called after each
// batch, from another goroutine.
func (l *Ledger) Load(ctx context.Context, in iter.Seq2[events.Event, error], progress func(LoadReport)) (LoadReport, error) {
	if l.readOnly {
		return LoadReport{}, explain("load into "+l.where, ErrReadOnly)
	}
	if progress == nil {
		progress = func(LoadReport) {}
	}
	return l.log.load(ctx, in, progress)
}

func (s *stream) load(ctx context.Context, in iter.Seq2[events.Event, error], progress func(LoadReport)) (LoadReport, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	have := newKnown()
	at, err := s.learn(ctx, have, 0)
	if err != nil {
		return LoadReport{}, err
	}
	p := &publisher{stream: s, at: at, report: progress}
	p.start(ctx, cancel)
	sorted := &sorter{have: have, out: p}
	err = sorted.sort(ctx, in)
	if failed := p.finish(ctx, sorted.rep); failed != nil {
		err = failed
	}
	sorted.rep.Added = p.added
	return sorted.rep, err
}

// learn reads which events stand behind a position and returns the end.
func (s *stream) learn(ctx context.Context, have *known, after Position) (Position, error) {
	last, err := s.last(ctx)
	if err != nil || last <= after {
		return after, err
	}
	for e, err := range s.entries(ctx, query{after: after, until: last, how: identifying}) {
		var damaged *events.LineError
		if err != nil && !errors.As(err, &damaged) {
			return after, err
		}
		if err == nil {
			have.add(e.Event.ID, e.Event.Sum())
		}
	}
	return last, nil
}

// known is the set of events the ledger has, in the least memory: 28 bytes and
// the map's own for each event.
type known struct {
	first  map[[16]byte][sumPart]byte
	others map[[16 + sumPart]byte]struct{} // further bytes under an id that is there
}

type verdict int

const (
	isNew verdict = iota
	isThere
	isConflict
)

func newKnown() *known {
	return &known{make(map[[16]byte][sumPart]byte), make(map[[16 + sumPart]byte]struct{})}
}

// add puts an event into the set and says what it was before.
func (k *known) add(id events.ID, sum events.Sum) verdict {
	key, part := packID(id), [sumPart]byte(sum[:sumPart])
	first, there := k.first[key]
	switch {
	case !there:
		k.first[key] = part
		return isNew
	case first == part:
		return isThere
	}
	both := [16 + sumPart]byte(slices.Concat(key[:], part[:]))
	if _, there := k.others[both]; there {
		return isThere
	}
	k.others[both] = struct{}{}
	return isConflict
}

// packID is a UUID's 16 bytes. Of an id that is none, which only a foreign
// writer can have stored, it is the beginning of the SHA-256.
func packID(id events.ID) (key [16]byte) {
	u, err := uuid.Parse(string(id))
	if err != nil {
		sum := sha256.Sum256([]byte(id))
		return [16]byte(sum[:16])
	}
	return u
}

// sorter tells new events from known, odd and bad ones.
type sorter struct {
	have *known
	out  *publisher
	rep  LoadReport
	line int
}

func (s *sorter) sort(ctx context.Context, in iter.Seq2[events.Event, error]) error {
	for e, err := range in {
		if ctx.Err() != nil {
			return fmt.Errorf("load: %w", context.Cause(ctx))
		}
		s.line++
		s.rep.Read++
		var bad *events.LineError
		switch {
		case errors.As(err, &bad):
			s.line = bad.Line
			s.refuse("", bad.Err)
		case err != nil:
			return fmt.Errorf("load: after line %d: %w", s.line-1, err)
		default:
			if err := s.take(ctx, e); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *sorter) take(ctx context.Context, e events.Event) error {
	if err := ready(&e); err != nil {
		s.refuse(e.ID, err)
		return nil
	}
	switch s.have.add(e.ID, e.Sum()) {
	case isThere:
		s.rep.AlreadyThere++
		return nil
	case isConflict:
		s.rep.Conflicting = append(s.rep.Conflicting, Remark{s.line, e.ID, errors.New("the same id is there with other content; both are kept")})
	}
	return s.out.publish(ctx, e, s.rep)
}

func (s *sorter) refuse(id events.ID, err error) {
	s.rep.Refused = append(s.rep.Refused, Remark{s.line, id, err})
}
