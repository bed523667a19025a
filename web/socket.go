package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"github.com/gorilla/websocket"
	"golang.org/x/time/rate"

	"stopledger/events"
)

// Bounds of one websocket. Somebody who charts sends an event a second; a pad
// that comes back after a game without a line sends a few thousand, and is
// slowed to the rate rather than refused.
const (
	maxMessage    = events.MaxBytes + 1024 // an event and what is said around it
	messageRate   = 300                    // a second
	messageBurst  = 600
	writePatience = 10 * time.Second // a reader slower than this is let go
	pingEvery     = 20 * time.Second
	silence       = 50 * time.Second // no pong for so long: the line is dead
)

var upgrader = websocket.Upgrader{
	HandshakeTimeout:  5 * time.Second,
	ReadBufferSize:    4 << 10,
	WriteBufferSize:   16 << 10,
	CheckOrigin:       sameOrigin,
	EnableCompression: false,
}

// socket is one websocket; reads happen in the handler's goroutine, writes in
// the goroutine of its writer.
type socket struct {
	ws    *websocket.Conn
	limit *rate.Limiter
}

// upgrade turns a request into a socket. It answers the request itself when it
// cannot; leave gives the place back.
func (s *Server) upgrade(w http.ResponseWriter, r *http.Request) (*socket, func(), bool) {
	if err := s.desk.open(); err != nil {
		s.fail(w, r, err)
		return nil, nil, false
	}
	select {
	case s.sockets <- struct{}{}:
	default:
		s.fail(w, r, faultf(tooMany, "%d sockets are open, which is all this server holds", cap(s.sockets)))
		return nil, nil, false
	}
	ws, err := upgrader.Upgrade(w, r, nil)
	if err != nil { // the upgrader has answered
		<-s.sockets
		return nil, nil, false
	}
	ws.SetReadLimit(maxMessage)
	_ = ws.SetReadDeadline(time.Now().Add(silence))
	ws.SetPongHandler(func(string) error { return ws.SetReadDeadline(time.Now().Add(silence)) })
	k := &socket{ws: ws, limit: rate.NewLimiter(messageRate, messageBurst)}
	return k, func() { _ = ws.Close(); <-s.sockets }, true
}

// read waits for the next message.
func (k *socket) read(ctx context.Context, into any) error {
	if err := k.limit.Wait(ctx); err != nil {
		return err
	}
	kind, text, err := k.ws.ReadMessage()
	if err != nil {
		return err
	}
	if kind != websocket.TextMessage {
		return faultf(invalid, "a message is JSON text")
	}
	_ = k.ws.SetReadDeadline(time.Now().Add(silence))
	if err := json.Unmarshal(text, into); err != nil {
		return faultf(invalid, "no message of ours: %v", err)
	}
	return nil
}

// write sends one message, and gives up on a reader that does not take it.
func (k *socket) write(message any) error {
	_ = k.ws.SetWriteDeadline(time.Now().Add(writePatience))
	return k.ws.WriteJSON(message)
}

func (k *socket) ping() error {
	return k.ws.WriteControl(websocket.PingMessage, nil, time.Now().Add(writePatience))
}

// close says why and ends the connection.
func (k *socket) close(err error) {
	code, text := websocket.CloseNormalClosure, ""
	var f *fault
	switch {
	case errors.As(err, &f):
		code, text = websocket.ClosePolicyViolation, f.Reason
	case errors.Is(err, context.Canceled):
		code, text = websocket.CloseGoingAway, "the server stops"
	}
	if len(text) > 120 { // a close frame holds 125 bytes
		text = text[:120]
	}
	_ = k.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, text), time.Now().Add(time.Second))
	_ = k.ws.Close()
}
