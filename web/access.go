package web

import (
	"context"
	"net/http"
)

// role is what somebody may do; each includes the ones before it.
type role int

const (
	nobody  role = iota
	coach        // may read
	charter      // may chart
)

// visitor is who asks.
type visitor struct{ role role }

type visitorKey struct{}

// admit is the one place where a request learns who asks. The server binds to
// loopback only (see Serve), so whoever reaches it sits at this machine and may
// chart.
func (s *Server) admit(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := visitor{role: charter}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), visitorKey{}, v)))
	})
}

// need lets a request through only to those who may do as much as want.
func (s *Server) need(want role, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v, _ := r.Context().Value(visitorKey{}).(visitor)
		if v.role < want {
			s.fail(w, r, faultf(forbidden, "your key does not open this page; ask for one that does"))
			return
		}
		next(w, r)
	}
}
