package web

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"stopledger/web/access"
)

// Config says what a server serves, and to whom.
type Config struct {
	Ledger Ledger
	// Passes say who is let in. Without them whoever reaches the server may do
	// everything, and only a loopback address is served.
	Passes *access.Book
	// Trail is where changes are noted; without it they are not.
	Trail Trail
	// TLS is the certificate to serve with. Without it only a loopback address
	// is served, unless PlainHTTP says that the network may read along.
	TLS       *tls.Config
	PlainHTTP bool
	// Authority is a certificate, in PEM, that devices may fetch to trust TLS.
	Authority []byte
	// Hosts are the names this server answers for, without port; loopback's
	// names are always among them.
	Hosts []string
	// Sockets is how many websockets may be open at once; 0 means 1000.
	Sockets int
	Log     zerolog.Logger
}

// Server answers the Pad, the Board and the JSON API.
type Server struct {
	ledger  Ledger
	passes  *access.Book
	trail   Trail
	tls     *tls.Config
	plain   bool
	ca      []byte
	hosts   []string
	log     zerolog.Logger
	desk    *desk
	room    *room
	audits  *audits
	seats   *seats
	sockets chan struct{} // one token for each open websocket
	handler http.Handler
}

// New returns a server; it knows nothing until [Server.Serve] or
// [Server.Follow] has read the ledger.
func New(cfg Config) *Server {
	if cfg.Sockets == 0 {
		cfg.Sockets = 1000
	}
	s := &Server{
		ledger:  cfg.Ledger,
		passes:  cfg.Passes,
		trail:   cfg.Trail,
		tls:     cfg.TLS,
		plain:   cfg.PlainHTTP,
		ca:      cfg.Authority,
		hosts:   append([]string{"localhost", "127.0.0.1", "::1"}, cfg.Hosts...),
		log:     cfg.Log,
		desk:    newDesk(),
		room:    newRoom(cfg.Ledger),
		audits:  newAudits(),
		seats:   &seats{open: make(map[chartKey]*seat)},
		sockets: make(chan struct{}, cfg.Sockets),
	}
	s.handler = s.guard(s.admit(s.routes()))
	return s
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// maySee refuses to open to a network what it must not.
func (s *Server) maySee(a net.Addr) error {
	if tcp, ok := a.(*net.TCPAddr); ok && tcp.IP.IsLoopback() {
		return nil
	}
	switch {
	case s.passes == nil:
		return fmt.Errorf("serve on %s: without passes only a loopback address such as 127.0.0.1:8080 is served", a)
	case s.tls == nil && !s.plain:
		return fmt.Errorf("serve on %s: without TLS everybody on the way reads along, keys included; serve with TLS, or only a loopback address such as 127.0.0.1:8080", a)
	}
	return nil
}

// Serve follows the ledger and answers on a listener until ctx ends; then it
// closes its sockets and returns nil. A listener that is not on loopback is
// refused without passes, and without TLS unless Config.PlainHTTP.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	if err := s.maySee(l.Addr()); err != nil {
		return err
	}
	if s.tls != nil {
		l = tls.NewListener(l, s.tls)
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	srv := &http.Server{
		Handler:           s,
		ErrorLog:          log.New(debugLog{s.log}, "", 0), // strangers cause these: broken handshakes and the like
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	done := make(chan error, 2)
	go func() { done <- s.Follow(ctx) }()
	go s.followPasses(ctx)
	go func() { done <- srv.Serve(l) }()
	var err error
	select {
	case <-ctx.Done():
	case err = <-done:
	}
	stop() // hijacked connections see it too
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer cancel()
	if srv.Shutdown(end) != nil {
		_ = srv.Close()
	}
	if errors.Is(err, http.ErrServerClosed) || errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

// followPasses keeps up with grants and revocations; while it cannot, every
// request asks the ledger.
func (s *Server) followPasses(ctx context.Context) {
	for s.passes != nil && ctx.Err() == nil {
		if err := s.passes.Follow(ctx); err != nil && ctx.Err() == nil {
			s.log.Warn().Err(err).Msg("passes")
		}
		select {
		case <-ctx.Done():
		case <-time.After(time.Second):
		}
	}
}

// debugLog takes what net/http would print.
type debugLog struct{ zerolog.Logger }

func (d debugLog) Write(text []byte) (int, error) {
	d.Debug().Msg(strings.TrimSpace(string(text)))
	return len(text), nil
}
