package web

import (
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// maxBody is how much an HTTP request may bring along.
const maxBody = 1 << 20

// guard stands before everything: a request for a host that is not ours may be
// a page of somebody else's whose name was pointed here (DNS rebinding), and a
// path with tricks in it has no honest reason.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy(r.Host))
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		switch {
		case !s.ours(r.Host):
			s.fail(w, r, faultf(forbidden, "this server does not answer for the host %q; name it when starting, if it should", r.Host))
		case strings.Contains(r.URL.Path, "..") || strings.ContainsAny(r.URL.Path, "\\\x00") || strings.Contains(r.URL.Path, "//"):
			s.fail(w, r, faultf(invalid, "the path holds something no page of ours has"))
		case crossSite.Check(r) != nil:
			s.fail(w, r, faultf(forbidden, "a page of another site asked for this; nothing was changed"))
		default:
			r.Body = http.MaxBytesReader(w, r.Body, maxBody)
			next.ServeHTTP(w, r)
		}
	})
}

// crossSite refuses what would change something and comes from another site's
// page, by the browser's own account of where it comes from.
var crossSite = http.NewCrossOriginProtection()

// policy lets pages use what comes from here and nothing else; blob: is a film
// that the reader opened from the own disk.
func policy(host string) string {
	return strings.Join([]string{
		"default-src 'self'",
		"connect-src 'self' ws://" + host + " wss://" + host,
		"media-src 'self' blob:",
		"img-src 'self' data:",
		"object-src 'none'",
		"base-uri 'none'",
		"form-action 'self'",
		"frame-ancestors 'none'",
	}, "; ")
}

// ours reports whether the host of a request is one this server answers for.
func (s *Server) ours(host string) bool {
	return slices.Contains(s.hosts, bareHost(host))
}

// bareHost is a Host header's name without port, in lower case.
func bareHost(host string) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	return strings.ToLower(strings.Trim(host, "[]"))
}

// sameOrigin refuses websockets opened by other sites' pages. A client that is
// no browser sends no Origin and carries nobody's cookies.
func sameOrigin(r *http.Request) bool {
	origin := r.Header.Get("Origin")
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && (u.Scheme == "http" || u.Scheme == "https") && strings.EqualFold(u.Host, r.Host)
}
