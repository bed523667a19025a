package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events"
)

// Config says what a server serves.
type Config struct {
	Ledger Ledger
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
	hosts   []string
	log     zerolog.Logger
	desk    *desk
	book    *boardBook
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
		hosts:   append([]string{"localhost", "127.0.0.1", "::1"}, cfg.Hosts...),
		log:     cfg.Log,
		desk:    newDesk(),
		book:    &boardBook{games: make(map[events.Token]gameTally)},
		sockets: make(chan struct{}, cfg.Sockets),
	}
	s.handler = s.guard(s.admit(s.routes()))
	return s
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Serve follows the ledger and answers on a loopback listener until ctx ends;
// then it closes its sockets and returns nil. Another than a loopback listener
// is refused: there is no access control for strangers yet.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	if a, ok := l.Addr().(*net.TCPAddr); !ok || !a.IP.IsLoopback() {
		return fmt.Errorf("serve on %s: only a loopback address such as 127.0.0.1:8080 is served", l.Addr())
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	srv := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	done := make(chan error, 2)
	go func() { done <- s.Follow(ctx) }()
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
