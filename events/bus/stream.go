package bus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/rs/zerolog"

	"stopledger/events"
)

const (
	streamName  = "LEDGER"
	storeFolder = "jetstream" // the embedded server's own name for it
	// headerRoom is what the message id and the marks of a batch may take beside
	// an event of the largest size.
	headerRoom = 1 << 10
)

// stream is a ledger on a JetStream server, wherever that runs.
type stream struct {
	conn   *nats.Conn
	js     jetstream.JetStream
	stream jetstream.Stream
	log    zerolog.Logger
	line   *line
	home   *home  // the directory the server runs on; nil for a server elsewhere
	place  *place // the same directory, to be looked at
	frozen bool   // opened read-only: make nothing
	atomic bool   // the server takes batches that are stored whole or not at all
}

// connect reaches a server and makes sure that the ledger's stream is there.
func connect(ctx context.Context, o Options, h *home, url string, opts ...nats.Option) (*stream, error) {
	log, line := o.Log, newLine()
	conn, err := nats.Connect(url, append(opts,
		nats.Name("stopledger"),
		nats.MaxReconnects(-1),
		nats.ReconnectWait(100*time.Millisecond),
		nats.ReconnectJitter(50*time.Millisecond, 100*time.Millisecond),
		// A publish while offline is an error at once: the caller keeps the event,
		// and what is not sent cannot be taken for stored.
		nats.ReconnectBufSize(-1),
		nats.DisconnectErrHandler(func(_ *nats.Conn, err error) {
			line.lost()
			if err != nil {
				log.Warn().Err(err).Msg("ledger: connection lost, trying again")
			}
		}),
		nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) {
			log.Debug().Err(err).Msg("ledger: connection")
		}),
	)...)
	if err != nil {
		return nil, err
	}
	js, err := jetstream.New(conn, jetstream.WithDefaultTimeout(patience))
	if err != nil {
		conn.Close()
		return nil, err
	}
	s := &stream{conn: conn, js: js, log: log, line: line, home: h, frozen: o.ReadOnly}
	if h != nil {
		s.place, err = placeOf(h.dir)
	}
	if err := errors.Join(err, s.ensure(ctx, o)); err != nil {
		conn.Close()
		return nil, err
	}
	return s, nil
}

func streamConfig(replicas int) jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name:        streamName,
		Description: "what was charted, appended and never edited",
		Subjects:    []string{"ledger.*.*.*"}, // ledger.<game>.<chart>.<pad>
		Retention:   jetstream.LimitsPolicy,
		Storage:     jetstream.FileStorage,
		MaxMsgSize:  events.MaxBytes + headerRoom,
		DenyDelete:  true,
		DenyPurge:   true,
		AllowDirect: true,
		Replicas:    max(1, replicas),

		AllowAtomicPublish: true,
	}
}

// ensure finds the stream or creates it, also while a server ends or a cluster
// chooses a leader.
func (s *stream) ensure(ctx context.Context, o Options) error {
	ctx, cancel := withPatience(ctx)
	defer cancel()
	for {
		err := s.attempt(ctx, answerTime, func(ctx context.Context) error { return s.find(ctx, o) })
		if err == nil || !isPassing(err) || !s.pause(ctx) {
			return err
		}
	}
}

// find takes a stream that is there as it is, for its owner may have set it up
// otherwise.
func (s *stream) find(ctx context.Context, o Options) error {
	st, err := s.js.Stream(ctx, streamName)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		if o.ReadOnly {
			return fmt.Errorf("%w: no ledger on this server", ErrNotFound)
		}
		st, err = s.create(ctx, o.Replicas)
	}
	if err != nil {
		return fmt.Errorf("find the ledger's stream: %w", err)
	}
	s.stream = st
	s.atomic = st.CachedInfo().Config.AllowAtomicPublish
	return nil
}

func (s *stream) create(ctx context.Context, replicas int) (jetstream.Stream, error) {
	cfg := streamConfig(replicas)
	st, err := s.js.CreateStream(ctx, cfg)
	var api *jetstream.APIError
	if errors.As(err, &api) && !errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		// An older server may not know batches; loading then takes single events.
		cfg.AllowAtomicPublish = false
		if plain, again := s.js.CreateStream(ctx, cfg); again == nil {
			return plain, nil
		}
	}
	if errors.Is(err, jetstream.ErrStreamNameAlreadyInUse) {
		return s.js.Stream(ctx, streamName) // somebody else was quicker
	}
	return st, err
}

func (s *stream) close() { s.conn.Close() }

// here is the server in this process, nil for one elsewhere.
func (s *stream) here() *embedded {
	if s.home == nil {
		return nil
	}
	return s.home.here.Load()
}

func (s *stream) last(ctx context.Context) (Position, error) {
	info, err := s.info(ctx)
	if err != nil {
		return 0, s.explain("ask for the ledger's end", err)
	}
	return Position(info.State.LastSeq), nil
}

// info asks the server about the stream, and again while it is gone for a moment.
func (s *stream) info(ctx context.Context, opts ...jetstream.StreamInfoOpt) (*jetstream.StreamInfo, error) {
	ctx, cancel := withPatience(ctx)
	defer cancel()
	for {
		var info *jetstream.StreamInfo
		err := s.attempt(ctx, answerTime, func(ctx context.Context) (err error) {
			info, err = s.stream.Info(ctx, opts...)
			return err
		})
		if err == nil || !isPassing(err) || !s.pause(ctx) {
			return info, err
		}
	}
}

func (s *stream) end(ctx context.Context) (Position, error) { return s.last(ctx) }

// explain adds what the connection cannot know: that the directory is gone.
func (s *stream) explain(doing string, err error) error {
	if err == nil {
		return nil
	}
	if s.conn.IsClosed() {
		return fmt.Errorf("%s: %w", doing, ErrClosed)
	}
	if gone := s.place.gone(); gone != nil && !errors.Is(err, gone) {
		return fmt.Errorf("%s: %w", doing, gone)
	}
	return explain(doing, err)
}

// subject is where an event is published. Its tokens are checked before: the
// server would take a wildcard for a part of the name.
func subject(e *events.Event) string {
	return "ledger." + string(e.Game) + "." + string(e.Chart) + "." + string(e.Pad)
}

func gameSubject(game events.Token) string { return "ledger." + string(game) + ".*.*" }
