package web

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"

	"stopledger/events"
	"stopledger/events/bus"
)

// scene is a running server over a ledger in memory.
type scene struct {
	t      *testing.T
	ledger *memory
	url    string
}

func start(t *testing.T) *scene {
	t.Helper()
	return startWith(t, Config{})
}

func startWith(t *testing.T, cfg Config) *scene {
	t.Helper()
	m := newMemory()
	cfg.Ledger, cfg.Log = m, zerolog.New(io.Discard)
	s := New(cfg)
	ctx, stop := context.WithCancel(context.Background())
	srv := httptest.NewServer(s)
	done := make(chan struct{})
	go func() { defer close(done); _ = s.Follow(ctx) }()
	go s.followPasses(ctx)
	t.Cleanup(func() { stop(); srv.Close(); <-done })
	for i := 0; s.desk.open() != nil && i < 1000; i++ {
		time.Sleep(time.Millisecond)
	}
	return &scene{t, m, srv.URL}
}

func (sc *scene) dial(path string, header http.Header) (*websocket.Conn, *http.Response, error) {
	return websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(sc.url, "http")+path, header)
}

// pad opens a pad's line on game g1, chart main.
func (sc *scene) pad(after bus.Position) *websocket.Conn {
	sc.t.Helper()
	c, _, err := sc.dial("/ws/pad", nil)
	if err != nil {
		sc.t.Fatalf("dial: %v", err)
	}
	sc.t.Cleanup(func() { _ = c.Close() })
	_ = c.SetReadDeadline(time.Now().Add(10 * time.Second))
	sc.say(c, padSays{Op: "hello", Game: "g1", Chart: "main", After: after})
	if m := sc.hear(c); m.Op != "hello" {
		sc.t.Fatalf("first message: %+v; want a hello", m)
	}
	return c
}

// padAs opens the line with somebody's cookie.
func (sc *scene) padAs(cookie *http.Cookie, game events.Token) *websocket.Conn {
	sc.t.Helper()
	c, _, err := sc.dial("/ws/pad", http.Header{"Cookie": {cookie.Name + "=" + cookie.Value}})
	if err != nil {
		sc.t.Fatalf("dial: %v", err)
	}
	sc.t.Cleanup(func() { _ = c.Close() })
	_ = c.SetReadDeadline(time.Now().Add(10 * time.Second))
	sc.say(c, padSays{Op: "hello", Game: game, Chart: "main"})
	return c
}

func (sc *scene) say(c *websocket.Conn, m any) {
	sc.t.Helper()
	if err := c.WriteJSON(m); err != nil {
		sc.t.Fatalf("say: %v", err)
	}
}

func (sc *scene) hear(c *websocket.Conn) padHears {
	sc.t.Helper()
	var m padHears
	if err := c.ReadJSON(&m); err != nil {
		sc.t.Fatalf("hear: %v", err)
	}
	return m
}

// until hears messages up to one with that op.
func (sc *scene) until(c *websocket.Conn, op string) padHears {
	sc.t.Helper()
	for {
		if m := sc.hear(c); m.Op == op {
			return m
		}
	}
}

func id(n int) string { return fmt.Sprintf("0198f0c2-7c1e-7b1a-9a55-%012x", n) }

func line(n int, typ, when, body string) string {
	return fmt.Sprintf(`{"v":1,"id":%q,"game":"g1","chart":"main","charter":"ana","pad":"p1","n":%d,"recorded":"2031-01-14T19:22:07.318Z","when":%s,"type":%q,"body":%s}`,
		id(n), n, when, typ, body)
}

// play is a short game: opened, one chance with a stop by h-1, its end.
var play = []string{
	line(1, "game-opened", `{"period":1,"clock":600}`, `{"rules":"fiba","date":"2031-01-14","home":{"id":"h","name":"Harbour"},"away":{"id":"m","name":"Millstone"},"players":[{"id":"h-1","team":"h","number":"1","role":"guard"},{"id":"m-2","team":"m","number":"2","role":"wing"}],"invented":true}`),
	line(2, "chance-began", `{"period":1,"clock":590}`, `{"offence":"m","origin":"jump"}`),
	line(3, "action", `{"period":1,"clock":585}`, `{"chance":"`+id(2)+`","kind":"drive","defender":"h-1","opponent":"m-2","outcome":"stopped"}`),
	line(4, "chance-ended", `{"period":1,"clock":580}`, `{"chance":"`+id(2)+`","end":"missed-2","rebound":"defence"}`),
}

func (sc *scene) chart(c *websocket.Conn, lines ...string) {
	sc.t.Helper()
	for _, l := range lines {
		sc.say(c, map[string]any{"op": "append", "event": json.RawMessage(l)})
		if m := sc.until(c, "safe"); !strings.Contains(l, string(m.ID)) {
			sc.t.Fatalf("acknowledged %s; sent %s", m.ID, l)
		}
	}
}

func TestPadChartsAndOthersSeeIt(t *testing.T) {
	sc := start(t)
	a, b := sc.pad(0), sc.pad(0)
	sc.chart(a, play...)
	var seen []string
	for len(seen) < len(play) {
		for _, s := range sc.until(b, "events").Events {
			seen = append(seen, string(s.Event))
		}
	}
	for i := range play {
		if seen[i] != play[i] {
			t.Errorf("event %d reached the other pad as\n%s\nwant the very bytes\n%s", i, seen[i], play[i])
		}
	}
	c := sc.pad(2)
	if m := sc.until(c, "events"); len(m.Events) != 2 || m.Events[0].At != 3 {
		t.Errorf("resumed behind 2: %+v; want events 3 and 4", m)
	}
}

func TestTheSameEventTwiceIsStoredOnce(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	sc.chart(a, play[0])
	sc.chart(a, play[0])
	if last, _ := sc.ledger.Last(context.Background()); last != 1 {
		t.Errorf("%d events stored; want 1", last)
	}
}

func TestGateRefuses(t *testing.T) {
	cases := []struct{ name, event, field, reason string }{
		{"a word that is none", strings.Replace(play[2], "stopped", "stoped", 1), "body.outcome", "stopped"},
		{"another game", strings.Replace(play[2], `"g1"`, `"g2"`, 1), "game", "this chart is of"},
		{"no n", strings.Replace(play[2], `"n":3`, `"n":0`, 1), "n", "counts up"},
		{"not an event", `{"id":"` + id(3) + `","v":"one"}`, "", "not an event"},
		{"a wildcard for a pad", strings.Replace(play[2], `"p1"`, `"*"`, 1), "pad", "no id"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			sc := start(t)
			a := sc.pad(0)
			sc.say(a, map[string]any{"op": "append", "event": json.RawMessage(c.event)})
			m := sc.hear(a)
			if m.Op != "refused" || m.Error == nil || m.Error.Field != c.field || !strings.Contains(m.Error.Reason, c.reason) {
				t.Errorf("got %+v %+v; want refused, field %q, reason with %q", m, m.Error, c.field, c.reason)
			}
			if m.ID != events.ID(id(3)) {
				t.Errorf("refusal names %q; want the event", m.ID)
			}
			if last, _ := sc.ledger.Last(context.Background()); last != 0 {
				t.Errorf("stored all the same")
			}
			sc.chart(a, play[0]) // the line still works
		})
	}
}

func TestAFullLedgerSaysLater(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	sc.ledger.setFull(true)
	sc.say(a, map[string]any{"op": "append", "event": json.RawMessage(play[0])})
	if m := sc.hear(a); m.Op != "later" || !strings.Contains(m.Error.Reason, "no space left") {
		t.Fatalf("got %+v; want later, with the reason", m)
	}
	sc.ledger.setFull(false)
	sc.chart(a, play[0])
}

func TestAGapIsAskedForOnceAndThenBelieved(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	sc.chart(a, play[0])
	send := func(c *websocket.Conn) padHears {
		sc.say(c, map[string]any{"op": "append", "event": json.RawMessage(play[2])})
		for {
			if m := sc.hear(c); m.ID == events.ID(id(3)) {
				return m
			}
		}
	}
	if m := send(a); m.Op != "later" || !strings.Contains(m.Error.Reason, "comes before 2") {
		t.Fatalf("got %+v %+v; want later", m, m.Error)
	}
	sc.say(a, map[string]any{"op": "append", "event": json.RawMessage(play[3])})
	if m := sc.until(a, "later"); m.ID != events.ID(id(4)) {
		t.Errorf("got %+v; what follows waits too", m)
	}
	a.Close()
	b := sc.pad(0)
	if m := send(b); m.Op != "safe" {
		t.Fatalf("the second time: %+v %+v", m, m.Error)
	}
	sc.chart(b, play[3])
}

func TestAnIDWithOtherContentsIsRefused(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	sc.chart(a, play[0])
	sc.say(a, map[string]any{"op": "append", "event": json.RawMessage(strings.Replace(play[0], "Harbour", "Kestrel", 1))})
	if m := sc.until(a, "refused"); m.Error.Field != "id" {
		t.Errorf("got %+v", m.Error)
	}
}

func TestAnEventIsOneLine(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	text := `{"op":"append","event":` + strings.Replace(play[0], `,"game"`, ",\n\"game\"", 1) + `}`
	if err := a.WriteMessage(websocket.TextMessage, []byte(text)); err != nil {
		t.Fatal(err)
	}
	if m := sc.until(a, "refused"); !strings.Contains(m.Error.Reason, "one line") {
		t.Errorf("got %+v", m.Error)
	}
}
