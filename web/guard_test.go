package web

import (
	"io"
	"net"
	"net/http"
	"strings"
	"testing"

	"github.com/gorilla/websocket"
)

func (sc *scene) get(path, host string) (int, string, http.Header) {
	sc.t.Helper()
	r, _ := http.NewRequest("GET", sc.url+path, nil)
	if host != "" {
		r.Host = host
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		sc.t.Fatal(err)
	}
	defer res.Body.Close()
	text, _ := io.ReadAll(res.Body)
	return res.StatusCode, string(text), res.Header
}

func TestHostsAndPaths(t *testing.T) {
	sc := start(t)
	cases := []struct {
		path, host string
		want       int
	}{
		{"/api/games", "", 200},
		{"/api/games", "localhost:8080", 200},
		{"/api/games", "[::1]:8080", 200},
		{"/api/games", "evil.example", 403},
		{"/api/games", "localhost.evil.example", 403},
		{"/api/games/..%2f..%2fetc%2fpasswd", "", 400},
		{"/api/games/%2e%2e", "", 400},
		{"/assets/..%5cx.js", "", 400},
		{"/api/games/Not%20An%20Id", "", 400},
		{"/api/games/nobody-knows", "", 404},
		{"/api/nothing", "", 404},
		{"/api/court/fiba", "", 200},
		{"/api/court/street", "", 404},
		{"/nothing.js", "", 404},
		{"/pad/g1/main", "", 200},
	}
	for _, c := range cases {
		code, text, h := sc.get(c.path, c.host)
		if code != c.want {
			t.Errorf("GET %s for host %q: %d %s; want %d", c.path, c.host, code, text, c.want)
		}
		csp := h.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'self'") || strings.Contains(csp, "unsafe") {
			t.Errorf("GET %s: policy %q", c.path, csp)
		}
	}
}

func TestOtherSitesPagesGetNoSocket(t *testing.T) {
	sc := start(t)
	for _, origin := range []string{"https://evil.example", "null", "http://127.0.0.1:1"} {
		_, res, err := sc.dial("/ws/pad", http.Header{"Origin": {origin}})
		if err == nil || res == nil || res.StatusCode != http.StatusForbidden {
			t.Errorf("origin %s: %v, %v; want 403", origin, res, err)
		}
	}
	c, _, err := sc.dial("/ws/pad", http.Header{"Origin": {sc.url}})
	if err != nil {
		t.Fatalf("own origin: %v", err)
	}
	c.Close()
}

func TestAMessageTooLongEndsTheLine(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	sc.say(a, map[string]string{"op": "append", "event": strings.Repeat("x", maxMessage)})
	for {
		if _, _, err := a.ReadMessage(); err != nil {
			if !websocket.IsCloseError(err, websocket.CloseMessageTooBig) && !strings.Contains(err.Error(), "reset") {
				t.Errorf("got %v; want the line closed as too big", err)
			}
			break
		}
	}
	sc.chart(sc.pad(0), play[0])
}

func TestOnlyLoopbackIsServed(t *testing.T) {
	s := New(Config{Ledger: newMemory()})
	if err := s.Serve(t.Context(), fakeListener{}); err == nil || !strings.Contains(err.Error(), "loopback") {
		t.Errorf("Serve on 192.0.2.1: %v; want a refusal", err)
	}
}

type fakeListener struct{ net.Listener }

func (fakeListener) Addr() net.Addr {
	return &net.TCPAddr{IP: net.IPv4(192, 0, 2, 1), Port: 80}
}
