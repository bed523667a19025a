package web

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/web/access"
)

// notes is a trail in memory.
type notes struct {
	mu   sync.Mutex
	list []bus.TrailNote
}

func (n *notes) Note(_ context.Context, note bus.TrailNote) error {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.list = append(n.list, note)
	return nil
}

func (n *notes) whats() (out []string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	for _, note := range n.list {
		out = append(out, note.What+" "+note.About)
	}
	return out
}

// guarded is a scene whose server asks for passes.
func guarded(t *testing.T) (*scene, *access.Book, *notes) {
	t.Helper()
	l, err := bus.Open(t.Context(), t.TempDir(), bus.Options{})
	if err != nil {
		t.Fatal(err)
	}
	bucket, err := l.Bucket(t.Context(), bus.Access)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	book, trail := access.Open(bucket, time.Now), new(notes)
	sc := startWith(t, Config{Passes: book, Trail: trail})
	return sc, book, trail
}

func link(t *testing.T, b *access.Book, role access.Role, games ...events.Token) (id, key string) {
	t.Helper()
	p, key, err := b.Grant(t.Context(), access.Pass{Role: role, Who: "ana", Games: games, Devices: 1, Expires: time.Now().Add(time.Hour)})
	if err != nil {
		t.Fatal(err)
	}
	return p.ID, key
}

// enter opens a link and returns the cookie, or the refusal's code.
func (sc *scene) enter(key string, header http.Header) (*http.Cookie, int) {
	sc.t.Helper()
	text, _ := json.Marshal(map[string]string{"key": key})
	r, _ := http.NewRequest("POST", sc.url+"/api/enter", bytes.NewReader(text))
	r.Header = header.Clone()
	if r.Header == nil {
		r.Header = make(http.Header)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		sc.t.Fatal(err)
	}
	defer res.Body.Close()
	for _, c := range res.Cookies() {
		return c, res.StatusCode
	}
	return nil, res.StatusCode
}

// code asks for a path as the bearer of a cookie.
func (sc *scene) code(method, path string, c *http.Cookie) int {
	sc.t.Helper()
	r, _ := http.NewRequest(method, sc.url+path, nil)
	if c != nil {
		r.AddCookie(c)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		sc.t.Fatal(err)
	}
	defer res.Body.Close()
	_, _ = io.Copy(io.Discard, res.Body)
	return res.StatusCode
}

func (sc *scene) text(path string, c *http.Cookie) string {
	sc.t.Helper()
	r, _ := http.NewRequest("GET", sc.url+path, nil)
	r.AddCookie(c)
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		sc.t.Fatal(err)
	}
	defer res.Body.Close()
	text, _ := io.ReadAll(res.Body)
	return string(text)
}

func carrying(c *http.Cookie) http.Header { return http.Header{"Cookie": {c.Name + "=" + c.Value}} }

func TestALinkOpensOnceAndTheCookieIsSafe(t *testing.T) {
	sc, book, trail := guarded(t)
	if code := sc.code("GET", "/api/games", nil); code != 401 {
		t.Errorf("without a pass: %d", code)
	}
	if code := sc.code("GET", "/", nil); code != 200 {
		t.Errorf("the page that takes the link: %d", code)
	}
	id, key := link(t, book, access.Coach)
	c, code := sc.enter(key, nil)
	if code != 200 || c == nil {
		t.Fatalf("enter: %d", code)
	}
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" {
		t.Errorf("cookie %+v", c)
	}
	if code := sc.code("GET", "/api/games", c); code != 200 {
		t.Errorf("with the cookie: %d", code)
	}
	if _, code := sc.enter(key, nil); code != 403 {
		t.Errorf("the link a second time: %d", code)
	}
	if _, code := sc.enter(key[:30], nil); code != 401 {
		t.Errorf("half a link: %d", code)
	}
	if got := trail.whats(); len(got) != 1 || got[0] != "access-opened "+id {
		t.Errorf("trail %q", got)
	}
}

func TestRolesAndScopes(t *testing.T) {
	sc, book, _ := guarded(t)
	_, ownerKey := link(t, book, access.Owner)
	boss, _ := sc.enter(ownerKey, nil)
	pad := sc.padAs(boss, "g1")
	sc.chart(pad, play...)
	sc.chart(sc.padAs(boss, "g2"), strings.ReplaceAll(strings.ReplaceAll(play[0], `"g1"`, `"g2"`), id(1), id(100)))
	for sc.code("GET", "/api/games/g2", boss) != 200 { // the desk follows the ledger
		time.Sleep(time.Millisecond)
	}
	_, coachKey := link(t, book, access.Coach)
	_, one := link(t, book, access.Charter, "g1")
	all, _ := sc.enter(coachKey, nil)
	scoped, _ := sc.enter(one, nil)
	for _, c := range []struct {
		who  *http.Cookie
		path string
		want int
	}{
		{all, "/api/games/g2", 200}, {all, "/ws/pad", 403}, {all, "/api/board", 200},
		{scoped, "/api/games/g1", 200}, {scoped, "/api/games/g2", 403}, {scoped, "/api/games/g2/charts/main/events", 403},
		{scoped, "/api/games/never-played", 403}, // not even whether there is such a game
		{scoped, "/api/vocabulary", 200},
	} {
		if got := sc.code("GET", c.path, c.who); got != c.want {
			t.Errorf("%s: %d, want %d", c.path, got, c.want)
		}
	}
	for _, path := range []string{"/api/games", "/api/teams", "/api/board"} {
		if text := sc.text(path, scoped); strings.Contains(text, "g2") {
			t.Errorf("%s tells a pass for g1 of g2: %s", path, text)
		}
	}
	ws, _, err := sc.dial("/ws/pad", carrying(scoped))
	if err != nil {
		t.Fatal(err)
	}
	defer ws.Close()
	sc.say(ws, padSays{Op: "hello", Game: "g2", Chart: "main"})
	if _, _, err := ws.ReadMessage(); !websocket.IsCloseError(err, websocket.ClosePolicyViolation) {
		t.Errorf("a pad for another game: %v", err)
	}
}

func TestOnlyAnAnalystAdoptsAChart(t *testing.T) {
	sc, book, trail := guarded(t)
	adopt := json.RawMessage(line(2, "chart-adopted", `{}`, `{"chart":"main"}`))
	_, key := link(t, book, access.Charter)
	c, _ := sc.enter(key, nil)
	pad := sc.padAs(c, "g1")
	sc.chart(pad, play[0])
	sc.say(pad, map[string]any{"op": "append", "event": adopt})
	if m := sc.until(pad, "refused"); !strings.Contains(m.Error.Reason, "analyst") {
		t.Errorf("a charter: %+v", m.Error)
	}
	_, key = link(t, book, access.Analyst)
	c, _ = sc.enter(key, nil)
	sc.chart(sc.padAs(c, "g1"), string(adopt))
	if got := trail.whats(); got[len(got)-1] != "chart-of-record g1" {
		t.Errorf("trail %q", got)
	}
}

func TestRevocationClosesSockets(t *testing.T) {
	sc, book, _ := guarded(t)
	id, key := link(t, book, access.Charter)
	c, _ := sc.enter(key, nil)
	pad := sc.padAs(c, "g1")
	sc.chart(pad, play[0])
	if _, err := book.Revoke(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	var err error
	for err == nil {
		_, _, err = pad.ReadMessage()
	}
	if !websocket.IsCloseError(err, websocket.ClosePolicyViolation) || !strings.Contains(err.Error(), "revoked") {
		t.Errorf("the socket ended with %v", err)
	}
	if code := sc.code("GET", "/api/games", c); code != 401 {
		t.Errorf("the cookie still opens: %d", code)
	}
}

func TestOtherSitesCannotPost(t *testing.T) {
	sc, book, _ := guarded(t)
	_, key := link(t, book, access.Owner)
	for _, h := range []http.Header{{"Origin": {"https://evil.example"}}, {"Sec-Fetch-Site": {"cross-site"}}} {
		if c, code := sc.enter(key, h); code != 403 || c != nil {
			t.Errorf("%v: %d", h, code)
		}
	}
	c, _ := sc.enter(key, http.Header{"Origin": {sc.url}})
	if c == nil {
		t.Fatal("the own page cannot enter")
	}
	if code := sc.code("POST", "/api/leave", c); code != 200 {
		t.Errorf("leave: %d", code)
	}
	if code := sc.code("GET", "/api/games", c); code != 401 {
		t.Errorf("after leaving: %d", code)
	}
}

func TestNetworksAreServedOnlyWithPassesAndTLS(t *testing.T) {
	_, book, _ := guarded(t)
	for _, c := range []struct {
		cfg  Config
		want string
	}{
		{Config{}, "without passes"},
		{Config{Passes: book}, "without TLS"},
	} {
		c.cfg.Ledger = newMemory()
		if err := New(c.cfg).Serve(t.Context(), fakeListener{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v; want %s", err, c.want)
		}
	}
	for _, cfg := range []Config{{Passes: book, PlainHTTP: true}, {Passes: book, TLS: &tls.Config{}}} {
		if err := New(cfg).maySee(fakeListener{}.Addr()); err != nil {
			t.Error(err)
		}
	}
}

// A server with an authority of its own is trusted by who trusts that, keeps
// its key to its owner, and cannot vouch for others.
func TestOwnAuthority(t *testing.T) {
	dir := t.TempDir()
	a, err := OwnAuthority(dir, []string{"ledger.example", "203.0.113.7"})
	if err != nil {
		t.Fatal(err)
	}
	again, err := OwnAuthority(dir, nil)
	if err != nil || again.Fingerprint != a.Fingerprint {
		t.Fatalf("made anew: %v", err)
	}
	for _, name := range []string{authorityFile, authorityKey} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", name, info, err)
		}
	}
	if _, err := again.Config([]string{"bank.example"}); err == nil || !strings.Contains(err.Error(), "may not vouch") {
		t.Errorf("it vouches for bank.example: %v", err)
	}
	cfg, err := again.Config([]string{"ledger.example", "203.0.113.7"})
	if err != nil {
		t.Fatal(err)
	}
	_, book, _ := guarded(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- New(Config{Ledger: newMemory(), Passes: book, TLS: cfg, Authority: a.PEM, Log: zerolog.Nop()}).Serve(ctx, l)
	}()
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(a.PEM)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	res, err := client.Get("https://" + l.Addr().String() + "/authority.pem")
	if err != nil {
		t.Fatal(err)
	}
	text, _ := io.ReadAll(res.Body)
	res.Body.Close()
	if !bytes.Equal(text, a.PEM) {
		t.Errorf("got %s", text)
	}
	_, key := link(t, book, access.Coach)
	res, err = client.Post("https://"+l.Addr().String()+"/api/enter", "application/json", strings.NewReader(`{"key":"`+key+`"}`))
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if c := res.Cookies(); len(c) != 1 || !c[0].Secure || !strings.HasPrefix(c[0].Name, "__Host-") {
		t.Errorf("cookies %v", c)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// nobodyIn is a book without a pass.
func nobodyIn(t testing.TB) *access.Book {
	l, err := bus.Open(context.Background(), t.TempDir(), bus.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	bucket, err := l.Bucket(context.Background(), bus.Access)
	if err != nil {
		t.Fatal(err)
	}
	return access.Open(bucket, time.Now)
}
