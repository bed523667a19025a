package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"stopledger/events"
)

// kind is what went wrong, from the asker's point of view.
type kind string

const (
	invalid     kind = "invalid"
	unknown     kind = "unknown" // who asks is not known
	forbidden   kind = "forbidden"
	notFound    kind = "not-found"
	tooLarge    kind = "too-large"
	tooMany     kind = "too-many"
	unavailable kind = "unavailable" // later it may work
	internal    kind = "internal"
)

// codes is the one table from kinds to HTTP.
var codes = map[kind]int{
	invalid:     http.StatusBadRequest,
	unknown:     http.StatusUnauthorized,
	forbidden:   http.StatusForbidden,
	notFound:    http.StatusNotFound,
	tooLarge:    http.StatusRequestEntityTooLarge,
	tooMany:     http.StatusTooManyRequests,
	unavailable: http.StatusServiceUnavailable,
	internal:    http.StatusInternalServerError,
}

// fault is an error with its kind and a text fit for the person who asked;
// what lies behind it is for the log.
type fault struct {
	Kind   kind   `json:"kind"`
	Reason string `json:"reason"`
	Field  string `json:"field,omitempty"`
	cause  error
}

func (f *fault) Error() string {
	if f.cause != nil {
		return fmt.Sprintf("%s: %v", f.Reason, f.cause)
	}
	return f.Reason
}

func (f *fault) Unwrap() error { return f.cause }

func faultf(k kind, format string, args ...any) *fault {
	return &fault{Kind: k, Reason: fmt.Sprintf(format, args...)}
}

// asFault finds the kind of any error. What is not known to be the asker's
// doing is internal, and its text stays here.
func asFault(err error) *fault {
	var f *fault
	var field *events.FieldError
	var big *http.MaxBytesError
	switch {
	case errors.As(err, &f):
		return f
	case errors.As(err, &field):
		return &fault{Kind: invalid, Field: field.Field, Reason: field.Reason}
	case errors.Is(err, events.ErrNotAnEvent):
		return &fault{Kind: invalid, Reason: err.Error()}
	case errors.As(err, &big):
		return faultf(tooLarge, "more than %d bytes", big.Limit)
	}
	return &fault{Kind: internal, Reason: "something went wrong here; the server's log says what", cause: err}
}

func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	f := asFault(err)
	if f.Kind == internal {
		s.log.Error().Err(err).Str("path", r.URL.Path).Msg("request failed")
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(codes[f.Kind])
	_ = json.NewEncoder(w).Encode(map[string]*fault{"error": f})
}
