package bus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nuid"

	"stopledger/events"
)

// A batch is published whole or not at all, and the embedded server syncs once
// for it: 1,000 is the most a server takes (JetStream's atomic batch publish,
// server 2.12 and later).
const (
	batchEvents = 1000
	batchBytes  = 4 << 20

	batchIDHeader     = "Nats-Batch-Id"
	batchSeqHeader    = "Nats-Batch-Sequence"
	batchCommitHeader = "Nats-Batch-Commit"

	repeatInBatch = 10201 // the server's code: a message id of the batch is in its window
)

// publisher stores batches while the next one is being read and checked.
type publisher struct {
	stream *stream
	report func(LoadReport)
	batch  []events.Event
	bytes  int
	queue  chan full
	done   chan error
	at     Position // everything up to here was read or stored by this load
	added  int
}

// full is a batch to be stored, and the report as of its last event.
type full struct {
	events []events.Event
	report LoadReport
}

func (p *publisher) start(ctx context.Context, cancel context.CancelFunc) {
	p.queue, p.done = make(chan full, 1), make(chan error, 1)
	go func() {
		var failed error
		for f := range p.queue {
			if failed != nil {
				continue
			}
			if failed = p.store(ctx, f.events); failed != nil {
				cancel() // no use reading on
				continue
			}
			p.added += len(f.events)
			f.report.Added = p.added
			p.report(f.report)
		}
		p.done <- failed
	}()
}

func (p *publisher) publish(ctx context.Context, e events.Event, sofar LoadReport) error {
	p.batch, p.bytes = append(p.batch, e), p.bytes+len(e.Raw)
	if len(p.batch) < batchEvents && p.bytes < batchBytes {
		return nil
	}
	return p.flush(ctx, sofar)
}

func (p *publisher) flush(ctx context.Context, sofar LoadReport) error {
	if len(p.batch) == 0 {
		return nil
	}
	f := full{p.batch, sofar}
	p.batch, p.bytes = nil, 0
	select {
	case p.queue <- f:
		return nil
	case <-ctx.Done():
		return fmt.Errorf("load: %w", context.Cause(ctx))
	}
}

// finish stores what is left and waits until everything is stored.
func (p *publisher) finish(ctx context.Context, sofar LoadReport) error {
	err := p.flush(ctx, sofar)
	close(p.queue)
	return errors.Join(<-p.done, err)
}

// store makes a batch safe. If the connection or the server fails on the way,
// it is not known whether the batch was stored; so store looks, and sends what
// is missing again.
func (p *publisher) store(ctx context.Context, batch []events.Event) error {
	s, revived := p.stream, false
	for try := 0; ; try++ {
		err := s.place.check(2 * sizeOf(batch)) // a batch is staged beside the log first
		if err == nil {
			err = s.writingFor(ctx, patience, func(ctx context.Context) error { return p.send(ctx, batch) })
		}
		if err == nil {
			return nil
		}
		passing := isPassing(err)
		if !passing && !revived {
			revived = s.revive(err)
			passing = revived
		}
		if try == storeTries || !passing || ctx.Err() != nil {
			return s.explain("load", err)
		}
		time.Sleep(200 * time.Millisecond << try)
		there := newKnown()
		if p.at, err = s.learn(ctx, there, p.at); err != nil {
			return err
		}
		if batch = without(batch, there); len(batch) == 0 {
			return nil
		}
	}
}

const storeTries = 5

// send publishes a batch in the best way the server offers.
func (p *publisher) send(ctx context.Context, batch []events.Event) error {
	if p.stream.atomic {
		at, err := p.stream.sendWhole(ctx, batch)
		var api *jetstream.APIError
		if err == nil {
			p.at = at
			return nil
		}
		if !errors.As(err, &api) || api.ErrorCode != repeatInBatch {
			return err
		}
	}
	at, err := p.stream.sendSingly(ctx, batch)
	p.at = max(p.at, at)
	return err
}

// sendWhole publishes an atomic batch: the answer to its last message says that
// all are stored. The first message asks for an answer too, so that a refusal
// (no room, batches switched off) is not drowned by what follows it.
func (s *stream) sendWhole(ctx context.Context, batch []events.Event) (Position, error) {
	id := nuid.Next()
	for i := range batch {
		m := message(&batch[i])
		m.Header[batchIDHeader] = []string{id}
		m.Header[batchSeqHeader] = []string{strconv.Itoa(i + 1)}
		last := i == len(batch)-1
		if last {
			m.Header[batchCommitHeader] = []string{"1"}
		}
		if !last && i > 0 {
			if err := s.conn.PublishMsg(m); err != nil {
				return 0, err
			}
			continue
		}
		answer, err := s.conn.RequestMsgWithContext(ctx, m)
		if err != nil {
			return 0, err
		}
		at, err := readAck(answer.Data)
		if err != nil || last {
			return at, err
		}
	}
	return 0, nil
}

// readAck reads the server's answer to a published message; that to the first
// of a batch is empty.
func readAck(data []byte) (Position, error) {
	if len(data) == 0 {
		return 0, nil
	}
	var ack struct {
		Error *jetstream.APIError `json:"error"`
		Seq   Position            `json:"seq"`
	}
	if err := json.Unmarshal(data, &ack); err != nil {
		return 0, fmt.Errorf("read the server's answer: %w", err)
	}
	if ack.Error != nil {
		return 0, ack.Error
	}
	return ack.Seq, nil
}

// inFlight is how many single events may wait for their acknowledgement.
const inFlight = 256

// sendSingly publishes events one by one without waiting for each.
func (s *stream) sendSingly(ctx context.Context, batch []events.Event) (Position, error) {
	var at Position
	waiting := make([]jetstream.PubAckFuture, 0, inFlight)
	settle := func() error {
		for _, f := range waiting {
			select {
			case ack := <-f.Ok():
				at = max(at, Position(ack.Sequence))
			case err := <-f.Err():
				return err
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		waiting = waiting[:0]
		return nil
	}
	for i := range batch {
		f, err := s.js.PublishMsgAsync(message(&batch[i]))
		if err != nil {
			return at, err
		}
		if waiting = append(waiting, f); len(waiting) == inFlight {
			if err := settle(); err != nil {
				return at, err
			}
		}
	}
	return at, settle()
}

func sizeOf(batch []events.Event) (n int) {
	for i := range batch {
		n += len(batch[i].Raw) + headerRoom/4
	}
	return n
}

// without returns the events of a batch that are not there yet, in order.
func without(batch []events.Event, there *known) []events.Event {
	var missing []events.Event
	for i := range batch {
		if there.add(batch[i].ID, batch[i].Sum()) != isThere {
			missing = append(missing, batch[i])
		}
	}
	return missing
}
