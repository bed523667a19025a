package charting_test

import (
	"errors"
	"strings"
	"testing"

	"stopledger/charting"
	"stopledger/events"
)

// noted is pad p's event number n, sealed.
func noted(t *testing.T, m *testMint, pad events.Token, n int64, change func(*events.Event)) *events.Event {
	t.Helper()
	e := &events.Event{
		V: 1, ID: m.ID(), Game: "g", Chart: "main", Charter: "ana", Pad: pad, N: n, Recorded: m.Now(),
		Type: "noted", Body: &events.Noted{Text: "seen"},
	}
	if change != nil {
		change(e)
	}
	if err := e.Seal(); err != nil {
		t.Fatal(err)
	}
	return e
}

func TestGateRefuses(t *testing.T) {
	var m testMint
	gate := charting.NewGate("g", "main")
	first := noted(t, &m, "p", 1, nil)
	gate.Learn(first)
	gate.Learn(noted(t, &m, "p", 2, func(e *events.Event) { e.Chart = "other" })) // not of this chart: passed over
	for _, c := range []struct {
		name  string
		event func() *events.Event
		want  string
		later bool
	}{
		{"other game", func() *events.Event { return noted(t, &m, "p", 2, func(e *events.Event) { e.Game = "h" }) }, `game: "h"; this chart is of "g"`, false},
		{"other chart", func() *events.Event { return noted(t, &m, "q", 1, func(e *events.Event) { e.Chart = "second" }) }, `chart: "second"; this is "main"`, false},
		{"same id, other contents", func() *events.Event {
			return noted(t, &m, "p", 1, func(e *events.Event) { e.ID, e.Body = first.ID, &events.Noted{Text: "changed"} })
		}, "id: " + string(first.ID) + " is here with other contents; an event is never changed, amend it", false},
		{"number used", func() *events.Event { return noted(t, &m, "p", 1, nil) }, "n: 1 is event " + string(first.ID) + "; each event of a pad has a number of its own", false},
		{"too early", func() *events.Event { return noted(t, &m, "p", 4, nil) }, "n: 4 of pad p comes before 2 is here; send that first", true},
		{"a pad's second first", func() *events.Event { return noted(t, &m, "r", 2, nil) }, "n: 2 of pad r comes before 1 is here; send that first", true},
		{"not valid", func() *events.Event {
			e := noted(t, &m, "s", 1, nil)
			e.Body = &events.Noted{}
			return e
		}, "body.text: is missing", false},
		{"not sealed", func() *events.Event {
			e := noted(t, &m, "u", 1, nil)
			e.Raw = nil
			return e
		}, "event: has no bytes to store", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := gate.Judge(c.event())
			var refusal *charting.Refusal
			if !errors.As(err, &refusal) {
				t.Fatalf("%v is no refusal", err)
			}
			if refusal.Error() != c.want || refusal.Later != c.later {
				t.Errorf("got  %s (later %v)\nwant %s (later %v)", refusal, refusal.Later, c.want, c.later)
			}
		})
	}
}

// What is refused for good stays with its sender; the pad goes on behind it.
func TestGateGoesOnBehindARefusedEvent(t *testing.T) {
	var m testMint
	gate := charting.NewGate("g", "main")
	bad := noted(t, &m, "p", 1, nil)
	bad.Body = &events.Noted{Text: ""}
	if _, err := gate.Judge(bad); err == nil {
		t.Fatal("an event without its text came in")
	}
	second := noted(t, &m, "p", 2, nil)
	if verdict, err := gate.Judge(second); err != nil || verdict != charting.Fresh {
		t.Fatalf("verdict %d, %v", verdict, err)
	}
	gate.Learn(second)
	mended := noted(t, &m, "p", 1, nil) // put right by its sender, later
	if verdict, err := gate.Judge(mended); err != nil || verdict != charting.Fresh {
		t.Fatalf("verdict %d, %v", verdict, err)
	}
}

func TestOpenRefusesASeatWithoutAnID(t *testing.T) {
	for _, seat := range []charting.Seat{
		{Game: "G", Chart: "main", Charter: "ana", Pad: "p"}, {Game: "g", Chart: "", Charter: "ana", Pad: "p"},
		{Game: "g", Chart: "main", Charter: "ana b", Pad: "p"}, {Game: "g", Chart: "main", Charter: "ana", Pad: "*"},
	} {
		if _, err := charting.Open(seat, &testMint{}, nil); err == nil || !strings.Contains(err.Error(), "is no id") {
			t.Errorf("%+v: %v", seat, err)
		}
	}
}
