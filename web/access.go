package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"stopledger/events"
	"stopledger/web/access"
)

// The roles under their short names, for the table of routes.
const (
	coach   = access.Coach
	charter = access.Charter
	analyst = access.Analyst
	owner   = access.Owner
)

// visitor is who asks. The zero visitor is nobody.
type visitor struct {
	pass  access.Pass
	token string
}

// anyone is the visitor of a server without a book of passes: whoever reaches
// its loopback address sits at this machine.
var anyone = visitor{pass: access.Pass{Role: access.Owner, Who: "this machine"}}

func (v visitor) sees(game events.Token) bool { return v.pass.Sees(game) }
func (v visitor) scoped() bool                { return len(v.pass.Games) > 0 }

// name is how the trail names the visitor.
func (v visitor) name() string {
	if v.pass.ID == "" {
		return v.pass.Who
	}
	return v.pass.Who + " (" + v.pass.Role.String() + ", pass " + v.pass.ID + ")"
}

type visitorKey struct{}

func visitorOf(ctx context.Context) visitor {
	v, _ := ctx.Value(visitorKey{}).(visitor)
	return v
}

var errEnded = faultf(unknown, "your pass was revoked or has expired; ask for a new link")

// admit is the one place where a request learns who asks. The request's
// context ends when the pass does, and with it every socket.
func (s *Server) admit(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, err := s.who(r)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		ctx := context.WithValue(r.Context(), visitorKey{}, v)
		if v.pass.ID != "" {
			held, release := s.passes.Hold(ctx, v.pass)
			defer release()
			ctx = held
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

func (s *Server) who(r *http.Request) (visitor, error) {
	if s.passes == nil {
		return anyone, nil
	}
	c, err := r.Cookie(s.cookieName())
	if err != nil {
		return visitor{}, nil
	}
	p, err := s.passes.Who(r.Context(), c.Value)
	switch {
	case errors.Is(err, access.ErrUnknown):
		return visitor{}, nil
	case err != nil:
		return visitor{}, &fault{Kind: unavailable, Reason: "who you are cannot be looked up now; try again in a moment", cause: err}
	}
	return visitor{pass: p, token: c.Value}, nil
}

// why is the reason of the end of a request's context, for the one who asked.
func why(ctx context.Context) error {
	if errors.Is(context.Cause(ctx), access.ErrEnded) {
		return errEnded
	}
	return ctx.Err()
}

// need lets a request through to those who may do as much as want. A pass for
// some games opens only addresses that name one of them; see needAny.
func (s *Server) need(want access.Role, next http.HandlerFunc) http.HandlerFunc {
	return s.needAny(want, func(w http.ResponseWriter, r *http.Request) {
		v, game := visitorOf(r.Context()), events.Token(r.PathValue("game"))
		if v.scoped() && !v.sees(game) {
			s.fail(w, r, faultf(forbidden, "your pass is for some games, and this is not of them alone; ask for one that opens it"))
			return
		}
		next(w, r)
	})
}

// needAny is need for what shows nothing of games, or looks itself at which
// games the visitor sees. What changes something is noted in the trail.
func (s *Server) needAny(want access.Role, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		switch v := visitorOf(r.Context()); {
		case v.pass.Role == access.Nobody:
			s.fail(w, r, faultf(unknown, "open the link you were given; without it nothing is shown here"))
		case v.pass.Role < want:
			s.fail(w, r, faultf(forbidden, "this takes the role %s, and your pass is for a %s; ask for one", want, v.pass.Role))
		case r.Method == http.MethodGet || r.Method == http.MethodHead:
			next(w, r)
		default:
			s.noting(v, next)(w, r)
		}
	}
}

// postEnter changes a link's key into a cookie. The key came in the link's
// fragment, which browsers send to nobody; the page takes it from there.
func (s *Server) postEnter(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Key string `json:"key"`
	}
	if s.passes == nil {
		s.fail(w, r, faultf(invalid, "this server is open to whoever sits at this machine; no link is needed"))
		return
	}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		s.fail(w, r, faultf(invalid, "want a JSON object with the link's key"))
		return
	}
	p, token, err := s.passes.Enter(r.Context(), in.Key)
	switch {
	case errors.Is(err, access.ErrSpent):
		s.fail(w, r, faultf(forbidden, "this link was opened before, on as many devices as it is for; ask for a new one"))
		return
	case errors.Is(err, access.ErrUnknown):
		s.fail(w, r, faultf(unknown, "this link opens nothing: it is cut short, has expired or was revoked; ask for a new one"))
		return
	case err != nil:
		s.fail(w, r, &fault{Kind: unavailable, Reason: "the link cannot be looked up now; try again in a moment", cause: err})
		return
	}
	s.note(r.Context(), visitor{pass: p}, "access-opened", p.ID, "")
	http.SetCookie(w, s.cookie(token, p.Expires))
	s.answer(w, r, meOf(visitor{pass: p}))
}

// postLeave forgets the device.
func (s *Server) postLeave(w http.ResponseWriter, r *http.Request) {
	if v := visitorOf(r.Context()); v.token != "" {
		if err := s.passes.Leave(r.Context(), v.token); err != nil && !errors.Is(err, access.ErrUnknown) {
			s.fail(w, r, err)
			return
		}
	}
	http.SetCookie(w, s.cookie("", time.Unix(1, 0)))
	s.answer(w, r, struct{}{})
}

func (s *Server) cookieName() string {
	if s.tls != nil {
		return "__Host-stopledger" // browsers take it only over TLS, for this host alone
	}
	return "stopledger"
}

func (s *Server) cookie(token string, until time.Time) *http.Cookie {
	return &http.Cookie{
		Name: s.cookieName(), Value: token, Path: "/", Expires: until,
		HttpOnly: true, Secure: s.tls != nil, SameSite: http.SameSiteStrictMode,
	}
}

// meJSON is what the pages are told of who looks at them.
type meJSON struct {
	Role  access.Role    `json:"role"`
	Who   string         `json:"who"`
	Games []events.Token `json:"games,omitempty"`
	Until *time.Time     `json:"until,omitempty"`
}

func meOf(v visitor) meJSON {
	me := meJSON{Role: v.pass.Role, Who: v.pass.Who, Games: v.pass.Games}
	if !v.pass.Expires.IsZero() {
		me.Until = &v.pass.Expires
	}
	return me
}

func (s *Server) getMe(w http.ResponseWriter, r *http.Request) {
	s.answer(w, r, meOf(visitorOf(r.Context())))
}
