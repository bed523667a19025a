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
	ctx, cancel := withPatience(ctx)
	defer cancel()
	for revived := false; ; {
		if err := s.place.check(len(e.Raw)); err != nil {
			return 0, explain("append event "+string(e.ID), err)
		}
		var ack *jetstream.PubAck
		err := s.writing(ctx, func(ctx context.Context) (err error) {
			ack, err = s.js.PublishMsg(ctx, message(e))
			return err
		})
		switch {
		case err == nil:
			return Position(ack.Sequence), nil
		case !revived && s.revive(err):
			revived = true
		case !isPassing(err) || !s.pause(ctx):
			return 0, s.explain("append event "+string(e.ID), err)
		}
	}
}

// writeError is a failed write of the embedded server.
type writeError struct {
	here  *embedded
	by    *running
	cause error
}

func (e *writeError) Error() string { return e.cause.Error() }
func (e *writeError) Unwrap() error { return e.cause }

// writing does something that writes, and ends it when the embedded server says
// in its log that a write has failed.
func (s *stream) writing(ctx context.Context, do func(context.Context) error) error {
	return s.writingFor(ctx, answerTime, do)
}

func (s *stream) writingFor(ctx context.Context, time time.Duration, do func(context.Context) error) error {
	here := s.here()
	if here == nil {
		return s.attempt(ctx, time, do)
	}
	now := here.current()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer context.AfterFunc(now.log.writing, cancel)()
	err := s.attempt(ctx, time, do)
	if cause := context.Cause(now.log.writing); err != nil && cause != nil {
		return &writeError{here, now, cause}
	}
	return err
}

// revive starts the embedded server anew after a failed write, if there is
// room now.
func (s *stream) revive(err error) bool {
	var failed *writeError
	if !errors.As(err, &failed) || s.place.check(0) != nil {
		return false
	}
	if err := failed.here.restart(failed.by); err != nil {
		s.log.Error().Err(err).Msg("the embedded server does not start again")
		return false
	}
	return true
}
