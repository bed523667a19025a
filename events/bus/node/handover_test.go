package node_test

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/rs/zerolog"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/events/bus/node"
)

func note(game, pad string, n int) events.Event {
	e := events.Event{
		V: 1, ID: events.ID(uuid.Must(uuid.NewV7()).String()), Game: events.Token(game), Chart: "main", Charter: "ana", Pad: events.Token(pad), N: int64(n),
		Recorded: time.Date(2031, 1, 14, 19, 22, 7, 0, time.UTC), Type: "noted", Body: &events.Noted{Text: fmt.Sprintf("note %d", n)},
	}
	if err := e.Seal(); err != nil {
		panic(err)
	}
	return e
}

// wire is a line between a venue and its headquarters that can be cut.
type wire struct {
	listener net.Listener
	to       string
	mu       sync.Mutex
	open     map[net.Conn]bool
	dead     bool
}

func newWire(t *testing.T, to string) *wire {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{listener: l, to: strings.TrimPrefix(to, "nats-leaf://"), open: make(map[net.Conn]bool)}
	t.Cleanup(func() { l.Close(); w.cut(true) })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go w.join(c)
		}
	}()
	return w
}

func (w *wire) join(near net.Conn) {
	defer near.Close()
	far, err := net.Dial("tcp", w.to)
	if err != nil {
		return
	}
	defer far.Close()
	w.mu.Lock()
	if w.dead {
		w.mu.Unlock()
		return
	}
	w.open[near], w.open[far] = true, true
	w.mu.Unlock()
	go func() { _, _ = io.Copy(far, near); far.Close(); near.Close() }()
	_, _ = io.Copy(near, far)
}

// cut breaks what is open; dead lets nothing new through either.
func (w *wire) cut(dead bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.dead = dead
	for c := range w.open {
		c.Close()
	}
	clear(w.open)
}

func (w *wire) url() string { return "nats-leaf://" + w.listener.Addr().String() }

func startNode(t *testing.T, o node.Options) *node.Node {
	t.Helper()
	o.Log = zerolog.Nop()
	n, err := node.Start(o)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func open(t *testing.T, where string, o bus.Options) *bus.Ledger {
	t.Helper()
	l, err := bus.Open(t.Context(), where, o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Two venues chart on ledgers of their own while their lines are cut and the
// headquarters restarts; in the end it has every event once, each pad's in
// order, and the venues have their own alone.
func TestVenuesHandOver(t *testing.T) {
	dir := t.TempDir()
	hq := startNode(t, node.Options{Name: "hq", Dir: dir + "/hq", LeafListen: "127.0.0.1:0"})
	address := strings.TrimPrefix(hq.URL(), "nats://")
	leaf := strings.TrimPrefix(hq.LeafURL(), "nats-leaf://")
	central := open(t, hq.URL(), bus.Options{})
	if err := central.TakeFrom(t.Context(), "harbour", "millstone"); err != nil {
		t.Fatal(err)
	}
	names := []string{"harbour", "millstone"}
	var wires []*wire
	var venues []*bus.Ledger
	for _, name := range names {
		w := newWire(t, hq.LeafURL())
		wires = append(wires, w)
		venues = append(venues, open(t, dir+"/"+name, bus.Options{Handover: &bus.Handover{To: w.url(), As: name}}))
	}
	const each = 300
	random := rand.New(rand.NewPCG(1, 2))
	for n := 1; n <= each; n++ {
		for i, l := range venues {
			e := note("game-"+names[i], "p1", n)
			if _, err := l.Append(t.Context(), &e); err != nil {
				t.Fatalf("charting waits for the line: %v", err)
			}
		}
		if random.IntN(40) == 0 {
			wires[random.IntN(2)].cut(random.IntN(2) == 0)
		}
		switch n {
		case 100:
			hq.Close()
		case 150:
			hq = startNode(t, node.Options{Name: "hq", Dir: dir + "/hq", Listen: address, LeafListen: leaf})
		case 200: // a venue's machine is closed and opened again
			venues[0].Close()
			venues[0] = open(t, dir+"/harbour", bus.Options{Handover: &bus.Handover{To: wires[0].url(), As: "harbour"}})
		}
	}
	for _, w := range wires {
		w.cut(false)
	}
	own := note("game-hq", "p1", 1) // headquarters chart too
	if _, err := central.Append(t.Context(), &own); err != nil {
		t.Fatal(err)
	}
	arrived(t, central, 2*each+1)
	seen, last := make(map[events.ID]int), make(map[events.Token]int64)
	for e, err := range central.Read(t.Context(), 0) {
		if err != nil {
			t.Fatal(err)
		}
		if seen[e.ID]++; seen[e.ID] > 1 {
			t.Errorf("event %d of %s is there %d times", e.N, e.Game, seen[e.ID])
		}
		if e.N != last[e.Game]+1 {
			t.Errorf("event %d of %s comes behind %d", e.N, e.Game, last[e.Game])
		}
		last[e.Game] = e.N
	}
	if c, err := central.Inspect(t.Context()); err != nil || !c.Sound() {
		t.Errorf("headquarters: %+v, %v", c, err)
	}
	for i, l := range venues {
		if last, err := l.Last(t.Context()); err != nil || last != each {
			t.Errorf("%s holds %d, %v; want its own %d", names[i], last, err, each)
		}
		l.Close()
	}
	central.Close()
	hq.Close()
}

// arrived waits until a ledger holds n events.
func arrived(t *testing.T, l *bus.Ledger, n int) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	defer cancel()
	for {
		last, err := l.Last(ctx)
		if err == nil && int(last) >= n {
			return
		}
		select {
		case <-ctx.Done():
			venues, _ := l.Venues(t.Context())
			t.Fatalf("%d of %d events came, %v; venues: %+v", last, n, err, venues)
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func TestStrangersAreKeptOut(t *testing.T) {
	for what, o := range map[string]node.Options{
		"listen on 0.0.0.0":            {Listen: "0.0.0.0:0"},
		"listen for venues on 0.0.0.0": {LeafListen: "0.0.0.0:0"},
		"listen for the cluster on ::": {Cluster: "c", ClusterListen: "[::]:0"},
		"want host:port":               {Listen: "4222"},
		"no directory":                 {Dir: "-"},
		"open /nowhere: no such file":  {Config: "/nowhere"},
	} {
		if o.Dir = t.TempDir(); what == "no directory" {
			o.Dir = ""
		}
		if n, err := node.Start(o); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
			if err == nil {
				n.Close()
			}
		}
	}
}
