package bus

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"runtime"
	"slices"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"stopledger/events"
)

const (
	// chunkSize is how many messages one goroutine decodes at a time.
	chunkSize = 128
	// idle is how long a bounded reading waits for the next message before it
	// asks whether the server is still there.
	idle = 2 * time.Second
)

// chunk is a run of messages and, once done is closed, their entries.
type chunk struct {
	messages []jetstream.Msg
	entries  []decoded
	done     chan struct{}
}

type decoded struct {
	Entry
	err  error
	left uint64 // messages that match and are still to come, as the server counts
}

// entries reads with an ordered consumer: messages are gathered into chunks,
// decoded on all cores and yielded in their order. A gap in the positions is
// yielded as an error, never passed over.
func (s *stream) entries(ctx context.Context, q query) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		consumer, err := s.consumer(ctx, q)
		if err != nil || consumer == nil {
			if err != nil && ctx.Err() == nil {
				yield(Entry{}, s.explain("read the ledger", err))
			}
			return
		}
		incoming := newMailbox()
		running, err := consumer.Consume(func(m jetstream.Msg) { incoming.put(ctx, m) })
		if err != nil {
			yield(Entry{}, s.explain("read the ledger", err))
			return
		}
		defer running.Stop()
		r := &reader{stream: s, query: q, at: q.after, yield: yield}
		r.run(ctx, decodeChunks(ctx, incoming, q.how))
	}
}

// consumer returns nil without an error if there is nothing to read.
func (s *stream) consumer(ctx context.Context, q query) (jetstream.Consumer, error) {
	cfg := jetstream.OrderedConsumerConfig{DeliverPolicy: jetstream.DeliverAllPolicy}
	if q.after > 0 {
		cfg.DeliverPolicy, cfg.OptStartSeq = jetstream.DeliverByStartSequencePolicy, uint64(q.after)+1
	}
	if q.game != "" {
		cfg.FilterSubjects = []string{gameSubject(q.game)}
	}
	if q.until > 0 {
		s.settled(ctx)
	}
	start := time.Now()
	for {
		var c jetstream.Consumer
		err := s.attempt(ctx, answerTime, func(ctx context.Context) (err error) {
			c, err = s.stream.OrderedConsumer(ctx, cfg)
			return err
		})
		switch {
		case err == nil && q.until > 0 && c.CachedInfo().NumPending == 0:
			return nil, nil
		case err == nil:
			return c, nil
		case q.until > 0 && time.Since(start) > patience, kindOf(err) != ErrUnreachable, !s.pause(ctx):
			return nil, err
		}
	}
}

// settled waits, for a while, until the servers that keep copies of the ledger
// have caught up: any of them may be the one that is read from, and one that
// was just started again has its end yet to come.
func (s *stream) settled(ctx context.Context) {
	for range 100 {
		info, err := s.stream.Info(ctx)
		if err != nil || info.Cluster == nil || !slices.ContainsFunc(info.Cluster.Replicas, behind) || !s.pause(ctx) {
			return
		}
	}
}

func behind(r *jetstream.PeerInfo) bool { return !r.Offline && (!r.Current || r.Lag > 0) }

// decodeChunks decodes on all cores; the chunks come out in their order. A live
// event does not wait for its chunk to fill.
func decodeChunks(ctx context.Context, in *mailbox, how manner) <-chan *chunk {
	workers := runtime.GOMAXPROCS(0)
	work, out := make(chan *chunk), make(chan *chunk, workers+2)
	for range workers {
		go func() {
			for c := range work {
				c.decode(how)
			}
		}()
	}
	go func() {
		defer close(out)
		defer close(work)
		for {
			messages := in.take(ctx)
			if messages == nil {
				return
			}
			for part := range slices.Chunk(messages, chunkSize) {
				c := &chunk{messages: part, done: make(chan struct{})}
				select {
				case out <- c:
				case <-ctx.Done():
					return
				}
				work <- c
			}
		}
	}()
	return out
}

func (c *chunk) decode(how manner) {
	defer close(c.done)
	c.entries = make([]decoded, len(c.messages))
	for i, m := range c.messages {
		c.entries[i] = decodeMessage(m, how)
	}
	c.messages = nil
}

func decodeMessage(m jetstream.Msg, how manner) (d decoded) {
	meta, err := m.Metadata()
	if err != nil {
		d.err = fmt.Errorf("read a stored message: %w", err)
		return d
	}
	d.Position, d.Stored, d.left = Position(meta.Sequence.Stream), meta.Timestamp, meta.NumPending
	if how == identifying {
		d.Event.Raw = m.Data()
		if d.Event.ID = idFromHeader(m, &d.Event); d.Event.ID != "" {
			return d
		}
	}
	d.Event, err = events.DecodeOwned(m.Data())
	if err != nil {
		d.Event.Raw = m.Data()
		err = fmt.Errorf("%w: %w", ErrDamaged, err)
	} else if how == checking {
		err = whole(m, &d.Event)
	}
	if err != nil {
		d.err = &events.LineError{Line: int(d.Position), Err: err}
	}
	return d
}

// idFromHeader takes the event's id from the message id, if that was made for
// exactly these bytes; else it is "".
func idFromHeader(m jetstream.Msg, e *events.Event) events.ID {
	id, part, ok := cutMessageID(m.Headers().Get(messageIDHeader))
	if !ok || part != sumText(e) {
		return ""
	}
	return id
}

// reader hands out entries in order and knows when to stop.
type reader struct {
	stream *stream
	query  query
	at     Position
	yield  func(Entry, error) bool
	tail   bool // the server of a cluster says that is all, short of the end
}

func (r *reader) run(ctx context.Context, chunks <-chan *chunk) {
	for {
		c, err := r.next(ctx, chunks)
		if err != nil {
			r.yield(Entry{}, err)
			return
		}
		if c == nil {
			return
		}
		<-c.done
		for i := range c.entries {
			if !r.hand(&c.entries[i]) {
				return
			}
		}
	}
}

// next waits for a chunk. A reading with an end does not wait for a server that
// is gone; one without an end does.
func (r *reader) next(ctx context.Context, chunks <-chan *chunk) (*chunk, error) {
	waited := time.Duration(0)
	for {
		timer := time.NewTimer(idle)
		select {
		case c := <-chunks:
			timer.Stop()
			return c, r.ended(ctx)
		case <-ctx.Done():
			timer.Stop()
			return nil, r.ended(ctx)
		case <-timer.C:
		}
		if r.tail {
			r.gap(r.query.until + 1)
			return nil, nil
		}
		if r.stream.conn.IsClosed() {
			return nil, fmt.Errorf("read the ledger: %w", ErrClosed)
		}
		if waited += idle; r.query.until > 0 && waited >= patience {
			return nil, fmt.Errorf("read the ledger: %w: nothing came for %s after position %d", ErrUnreachable, waited, r.at)
		}
	}
}

// ended tells a reading that was cut short from a following that is over.
func (r *reader) ended(ctx context.Context) error {
	err := context.Cause(ctx)
	if err == nil || r.query.until == 0 && errors.Is(err, context.Canceled) {
		return nil
	}
	if r.query.until == 0 && errors.Is(err, context.DeadlineExceeded) {
		return nil
	}
	return fmt.Errorf("read the ledger: %w", err)
}

// hand yields one entry, and before it what is missing. It returns false when
// the reading is over.
func (r *reader) hand(d *decoded) bool {
	until := r.query.until
	if until > 0 && d.Position > until {
		return r.gap(until+1) && false
	}
	if !r.gap(d.Position) {
		return false
	}
	if d.Position > 0 {
		r.at = d.Position
	}
	if !r.yield(d.Entry, d.err) {
		return false
	}
	if until > 0 && d.left == 0 && d.Position < until && r.query.game == "" && r.stream.copies() > 1 {
		r.tail = true // a copy may be a moment behind: wait for what it lacks
		return true
	}
	if until > 0 && d.left == 0 {
		return r.gap(until+1) && false
	}
	return until == 0 || d.Position < until
}

// copies is how many servers keep the ledger.
func (s *stream) copies() int { return s.stream.CachedInfo().Config.Replicas }

// gap yields an error for the positions between the last entry and the next.
// Positions before the first entry are no gap: a ledger restored from a backup
// may begin later.
func (r *reader) gap(next Position) bool {
	first := r.at + 1
	if next <= first || r.at == 0 || r.query.game != "" {
		return true
	}
	r.at = next - 1
	missing := fmt.Errorf("%w: nothing is stored at positions %d to %d", ErrDamaged, first, r.at)
	return r.yield(Entry{Position: r.at}, &events.LineError{Line: int(first), Err: missing})
}
