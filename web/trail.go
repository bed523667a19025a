package web

import (
	"context"
	"net/http"

	"stopledger/events/bus"
)

// Trail is where the server notes who changed what; [*bus.Ledger] keeps one.
type Trail interface {
	// Note appends a line and returns when it is safe.
	Note(ctx context.Context, n bus.TrailNote) error
}

// note appends to the trail. The change is made by then, so a note that cannot
// be stored is a matter for the log, not for the one who asked.
func (s *Server) note(ctx context.Context, v visitor, what, about, text string) {
	if s.trail == nil {
		return
	}
	n := bus.TrailNote{Who: v.name(), What: what, About: about, Text: text}
	if err := s.trail.Note(context.WithoutCancel(ctx), n); err != nil {
		s.log.Error().Err(err).Str("who", n.Who).Str("what", what).Str("about", about).Msg("not noted in the trail")
	}
}

// noting notes every request that changed something, under its address.
func (s *Server) noting(v visitor, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		seen := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		next(seen, r)
		if seen.status < 300 {
			s.note(r.Context(), v, "changed", r.Method+" "+r.URL.Path, "")
		}
	}
}

// statusWriter remembers the answer's code.
type statusWriter struct {
	http.ResponseWriter
	status int
}

func (w *statusWriter) WriteHeader(code int) {
	w.status = code
	w.ResponseWriter.WriteHeader(code)
}

// Unwrap is for http.ResponseController.
func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
