package web

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"stopledger/web/access"
)

// While strangers do their worst, somebody who was let in goes on charting and
// every event of his becomes safe.
func TestStrangersDoTheirWorst(t *testing.T) {
	sc, book, _ := guarded(t)
	_, key := link(t, book, access.Charter, "g1")
	mine, _ := sc.enter(key, nil)
	pad := sc.padAs(mine, "g1")
	var worst sync.WaitGroup
	for _, attack := range []func(*testing.T, *scene, *http.Cookie){
		manyConnections, hugeUploads, slowReaders, slowHeaders, forgedTokens, floodOfSockets, oddFrames,
	} {
		worst.Go(func() { attack(t, sc, mine) })
	}
	ended := make(chan struct{})
	go func() { worst.Wait(); close(ended) }()
	charted := 0
	for n := 1; ; n++ {
		sc.chart(pad, line(n, "noted", `{}`, fmt.Sprintf(`{"text":"note %d"}`, n)))
		charted++
		select {
		case <-ended:
			if last, _ := sc.ledger.Last(t.Context()); int(last) != charted {
				t.Errorf("%d events stored, %d charted", last, charted)
			}
			t.Logf("%d events charted meanwhile", charted)
			return
		default:
		}
	}
}

func (sc *scene) host() string { return strings.TrimPrefix(sc.url, "http://") }

// manyConnections opens what the process's files allow, says nothing, and goes.
func manyConnections(t *testing.T, sc *scene, _ *http.Cookie) {
	var open []net.Conn
	for range 400 {
		c, err := net.DialTimeout("tcp", sc.host(), 5*time.Second)
		if err != nil {
			break
		}
		open = append(open, c)
	}
	if len(open) < 100 {
		t.Errorf("only %d connections were taken", len(open))
	}
	for _, c := range open {
		c.Close()
	}
}

// endless is a body without end.
type endless struct{ n atomic.Int64 }

func (e *endless) Read(p []byte) (int, error) {
	e.n.Add(int64(len(p)))
	return copy(p, bytes.Repeat([]byte("x"), len(p))), nil
}

// hugeUploads sends a gigabyte where a key or nothing is wanted.
func hugeUploads(t *testing.T, sc *scene, mine *http.Cookie) {
	for _, path := range []string{"/api/enter", "/api/leave", "/api/nothing", "/"} {
		body := &endless{}
		r, _ := http.NewRequest("POST", sc.url+path, io.LimitReader(body, 1<<30))
		r.AddCookie(&http.Cookie{Name: mine.Name, Value: "x"})
		res, err := http.DefaultClient.Do(r)
		if err == nil {
			res.Body.Close()
		}
		if n := body.n.Load(); n > 64<<20 {
			t.Errorf("%s read on for %d bytes", path, n)
		}
	}
}

// slowReaders ask for the most there is and read nothing.
func slowReaders(t *testing.T, sc *scene, mine *http.Cookie) {
	for range 20 {
		ws, _, err := sc.dial("/ws/board", carrying(mine))
		if err != nil {
			t.Errorf("a board: %v", err)
			return
		}
		defer ws.Close()
	}
	time.Sleep(200 * time.Millisecond)
}

// slowHeaders begin a request and never end it.
func slowHeaders(_ *testing.T, sc *scene, _ *http.Cookie) {
	for range 50 {
		if c, err := net.Dial("tcp", sc.host()); err == nil {
			fmt.Fprintf(c, "GET /api/games HTTP/1.1\r\nHost: %s\r\nX-Slow: ", sc.host())
			defer c.Close()
		}
	}
	time.Sleep(200 * time.Millisecond)
}

// forgedTokens try what looks like a pass.
func forgedTokens(t *testing.T, sc *scene, mine *http.Cookie) {
	id, secret, _ := strings.Cut(mine.Value, ".")
	for i := range 200 {
		forged := fmt.Sprintf("%s.%s%02x", id, secret[:len(secret)-2], i)
		if forged == mine.Value {
			continue
		}
		for _, value := range []string{forged, fmt.Sprintf("%08x.%s", i, secret), strings.Repeat("a", i*20), "../../" + secret} {
			if code := sc.code("GET", "/api/games", &http.Cookie{Name: mine.Name, Value: value}); code != 401 {
				t.Errorf("%q opened: %d", value, code)
			}
		}
	}
}

// floodOfSockets knocks from other sites and for other games.
func floodOfSockets(t *testing.T, sc *scene, mine *http.Cookie) {
	for i := range 100 {
		h := carrying(mine)
		h.Set("Origin", "https://evil.example")
		if ws, _, err := sc.dial("/ws/pad", h); err == nil {
			ws.Close()
			t.Error("another site's page has a socket")
		}
		ws, _, err := sc.dial("/ws/pad", carrying(mine))
		if err != nil {
			continue
		}
		sc.say(ws, padSays{Op: "hello", Game: "g2", Chart: "main"})
		_ = ws.SetReadDeadline(time.Now().Add(5 * time.Second))
		if _, text, err := ws.ReadMessage(); err == nil {
			t.Errorf("round %d: told of another game: %s", i, text)
		}
		ws.Close()
	}
}

// oddFrames sends what no pad sends.
func oddFrames(t *testing.T, sc *scene, mine *http.Cookie) {
	for _, text := range []string{"", "{", "null", "[]", `{"op":"append","event":null}`, `{"op":"hello"}`, "\x00", strings.Repeat("[", 10_000),
		`{"op":"append","event":{"id":` + strings.Repeat(`{"a":`, 5000), `{"op":"append","event":"x"}`} {
		for _, kind := range []int{websocket.TextMessage, websocket.BinaryMessage, websocket.PingMessage} {
			ws, _, err := sc.dial("/ws/pad", carrying(mine))
			if err != nil {
				t.Errorf("dial: %v", err)
				return
			}
			sc.say(ws, padSays{Op: "hello", Game: "g1", Chart: "odd"})
			_ = ws.WriteMessage(kind, []byte(text))
			ws.Close()
		}
	}
}
