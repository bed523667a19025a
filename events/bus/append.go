package bus

import (
	"context"
	"encoding/base64"
	"errors"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"stopledger/events"
)

const messageIDHeader = "Nats-Msg-Id"

// sumPart is how much of the SHA-256 goes into the message id: two events of
// one id meet by accident with odds of 2^-96.
const sumPart = 12

// messageID is the event's id and the beginning of the SHA-256 of its bytes,
// see the package comment.
func messageID(e *events.Event) string {
	return string(e.ID) + "." + sumText(e)
}

func sumText(e *events.Event) string {
	sum := e.Sum()
	return base64.RawURLEncoding.EncodeToString(sum[:sumPart])
}

func cutMessageID(text string) (id events.ID, sum string, ok bool) {
	if len(text) != 36+1+base64.RawURLEncoding.EncodedLen(sumPart) || text[36] != '.' {
		return "", "", false
	}
	id, sum = events.ID(text[:36]), text[37:]
	return id, sum, id.Valid()
}

func message(e *events.Event) *nats.Msg {
	return &nats.Msg{
		Subject: subject(e),
		Header:  nats.Header{messageIDHeader: {messageID(e)}},
		Data:    e.Raw,
	}
}

func (s *stream) append(ctx context.Context, e *events.Event) (Position, error) {
	var cancel context.CancelFunc = func() {}
	if _, limited := ctx.Deadline(); !limited {
		ctx, cancel = context.WithTimeout(ctx, patience)
	}
	defer cancel()
	for {
		if err := s.room(len(e.Raw)); err != nil {
			return 0, s.explain("append event "+string(e.ID), err)
		}
		ack, err := s.js.PublishMsg(ctx, message(e))
		if err == nil {
			return Position(ack.Sequence), nil
		}
		if !isPassing(err) || !s.pause(ctx) {
			return 0, s.explain("append event "+string(e.ID), err)
		}
	}
}

// isPassing reports whether the same request may succeed in a moment: the
// connection is being made again, or a cluster is choosing a leader. The
// message id makes the repetition harmless.
func isPassing(err error) bool {
	return isOffline(err) && !errors.Is(err, nats.ErrConnectionClosed) &&
		!errors.Is(err, jetstream.ErrJetStreamNotEnabled)
}

// pause waits a little before the next try; false when there is none.
func (s *stream) pause(ctx context.Context) bool {
	if s.conn.IsClosed() || (s.here != nil && !s.here.lock.stillOf(s.dir)) {
		return false
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(50 * time.Millisecond):
		return true
	}
}
