package web

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"stopledger/events"
)

// FuzzPadFrame hands anything to the gate behind a pad's websocket. Whatever it
// answers, what is stored is an event that was checked, of this chart, one line.
func FuzzPadFrame(f *testing.F) {
	for _, l := range play {
		f.Add(`{"op":"append","event":` + l + `}`)
	}
	f.Add(`{"op":"append","event":null}`)
	f.Add(`{"op":"append"}`)
	f.Add(`{"op":"append","event":{"v":9,"id":"` + id(9) + `","game":"g1","chart":"main","charter":"a","pad":"p","n":1,"type":"new"}}`)
	f.Fuzz(func(t *testing.T, text string) {
		var m padSays
		if json.Unmarshal([]byte(text), &m) != nil || m.Op != "append" {
			return
		}
		mem := newMemory()
		s := New(Config{Ledger: mem, Log: zerolog.Nop()})
		seat, leave := s.seats.take(chartKey{"g1", "main"})
		defer leave()
		l := &padLine{s, seat, make(map[events.Token]int64)}
		ctx := context.WithValue(t.Context(), visitorKey{}, anyone)
		var said padHears
		for range 2 { // a gap is asked for once
			said = l.judge(ctx, m.Event)
		}
		if said.Op != "safe" && said.Op != "refused" && said.Op != "later" {
			t.Errorf("answered %+v", said)
		}
		if (said.Op == "safe") != (len(mem.list) == 1) {
			t.Errorf("answered %s, %d stored", said.Op, len(mem.list))
		}
		for _, e := range mem.list {
			if err := events.Check(&e.Event); err != nil || e.Event.Game != "g1" || e.Event.Chart != "main" || strings.ContainsAny(string(e.Event.Raw), "\r\n") {
				t.Errorf("stored %s: %v", e.Event.Raw, err)
			}
		}
	})
}

// FuzzRequest asks for anything under any host, with any cookie. A stranger is
// never told of a game.
func FuzzRequest(f *testing.F) {
	mem := newMemory()
	for _, l := range play {
		e, err := events.Decode([]byte(l))
		if err != nil {
			f.Fatal(err)
		}
		if _, err := mem.Append(context.Background(), &e); err != nil {
			f.Fatal(err)
		}
	}
	s := New(Config{Ledger: mem, Passes: nobodyIn(f), Log: zerolog.New(io.Discard)})
	ctx, stop := context.WithCancel(context.Background())
	f.Cleanup(stop)
	go func() { _ = s.Follow(ctx) }()
	for s.desk.open() != nil {
		time.Sleep(time.Millisecond)
	}
	for _, seed := range [][4]string{
		{"GET", "/api/games/g1?x=1", "localhost", "stopledger=a.b"}, {"POST", "/api/enter", "127.0.0.1:80", ""},
		{"GET", "/api/games/%2e%2e/x", "[::1]", ""}, {"GET", "/ws/pad", "evil.example", ""}, {"DELETE", "/assets/../x", "localhost", "stopledger="},
	} {
		f.Add(seed[0], seed[1], seed[2], seed[3])
	}
	f.Fuzz(func(t *testing.T, method, target, host, cookie string) {
		r, err := http.NewRequest(method, "http://localhost/", strings.NewReader(cookie))
		if err != nil {
			return
		}
		if r.URL, err = r.URL.Parse(target); err != nil {
			return
		}
		r.Host = host
		r.Header.Set("Cookie", cookie)
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if text := w.Body.String(); w.Code >= 500 && w.Code != http.StatusServiceUnavailable || strings.Contains(text, "Harbour") {
			t.Errorf("%s %q for %q: %d %s", method, target, host, w.Code, text)
		}
	})
}
