package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"stopledger/charting/synth"
	"stopledger/events"
	"stopledger/metrics/audit"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/web/access"
)

// doubleCharted is a server over invented games, each charted twice, and the
// same games folded without any server.
func doubleCharted(t *testing.T, games int) (*scene, []*replay.Game) {
	t.Helper()
	made, err := synth.New(synth.Options{Seed: 7, Games: games, DoubleCharted: 1})
	if err != nil {
		t.Fatal(err)
	}
	sc := start(t)
	folded, err := replay.Fold(func(yield func(events.Event, error) bool) {
		for e, err := range made.Events() {
			if err == nil {
				_, err = sc.ledger.Append(t.Context(), &e)
			}
			if !yield(e, err) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	sc.caughtUp()
	return sc, folded.Games
}

// caughtUp waits until the pages show what the ledger holds.
func (sc *scene) caughtUp() {
	sc.t.Helper()
	last, _ := sc.ledger.Last(sc.t.Context())
	for range 5000 {
		var whole boardJSON
		if sc.ask("/api/board", &whole); whole.Position >= uint64(last) {
			return
		}
		time.Sleep(2 * time.Millisecond)
	}
	sc.t.Fatal("the pages lag behind the ledger")
}

// post sends an object and gives the code and the answer.
func (sc *scene) post(path string, body any, into any) (int, string) {
	sc.t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		sc.t.Fatal(err)
	}
	answer, err := http.Post(sc.url+path, "application/json", bytes.NewReader(text))
	if err != nil {
		sc.t.Fatal(err)
	}
	defer answer.Body.Close()
	got, _ := io.ReadAll(answer.Body)
	if into != nil && answer.StatusCode == http.StatusOK {
		if err := json.Unmarshal(got, into); err != nil {
			sc.t.Fatalf("%s: %v in %s", path, err, got)
		}
	}
	return answer.StatusCode, string(got)
}

// same compares what a page gets with what the command line's functions give.
func same(t *testing.T, what string, got json.RawMessage, want any) {
	t.Helper()
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, text) {
		t.Errorf("%s: the page gets\n%.400s\nand the command line\n%.400s", what, got, text)
	}
}

// The pages' numbers are those of the command line, to the byte.
func TestAuditSaysWhatTheCommandLineSays(t *testing.T) {
	sc, games := doubleCharted(t, 1)
	g := games[0]
	two := []*replay.Chart{g.Chart("main"), g.Chart("second")}
	var raw json.RawMessage
	sc.ask("/api/audit/"+string(g.ID), &raw)
	same(t, "audit", raw, audit.ReviewGame(g, g.Charts, audit.Limits{}))

	sc.ask("/api/audit/"+string(g.ID)+"/agreement?charts=main,second", &raw)
	same(t, "agree", raw, agreementJSON{g.ID, g.Digest, g.Info.Invented, audit.Agree(two, audit.Options{})})

	var trained map[string]json.RawMessage
	sc.ask("/api/audit/"+string(g.ID)+"/training?chart=second", &trained)
	same(t, "train", trained["confusions"], audit.Train(two[1], two[0], audit.Options{}).Confusions)

	var people map[string]json.RawMessage
	sc.ask("/api/charters", &people)
	same(t, "charters", people["charters"], audit.Charters(games, audit.Options{}))

	settling, err := audit.Agree(two, audit.Options{Resamples: -1}).Settle("main")
	if err != nil {
		t.Fatal(err)
	}
	moves, err := settling.Weigh(audit.StopRates(definition.Default(), ""))
	if err != nil {
		t.Fatal(err)
	}
	var settle map[string]json.RawMessage
	sc.ask("/api/audit/"+string(g.ID)+"/settling?charts=main,second&base=main", &settle)
	same(t, "settle", settle["moves"], moves)
	same(t, "settle", settle["disagreements"], settling.Disagreements)
}

func TestSettledChartIsWrittenAndAdopted(t *testing.T) {
	sc, games := doubleCharted(t, 1)
	path := "/api/audit/" + string(games[0].ID)
	var settle settlingJSON
	sc.ask(path+"/settling?charts=main,second&base=main", &settle)
	if len(settle.Moves) < 7 || settle.Definition != "ball-won" {
		t.Fatalf("%d moves under %q; want seven at least, under ball-won", len(settle.Moves), settle.Definition)
	}
	choices := audit.Choices{}
	for _, m := range settle.Moves[:7] {
		choices[m.ID] = m.Chart
	}
	ask := settleAsk{Charts: []string{"main", "second"}, Base: "main", Choose: choices}
	var effect struct{ Changes []audit.Change }
	if code, text := sc.post(path+"/effect", ask, &effect); code != http.StatusOK {
		t.Fatalf("effect: %d %s", code, text)
	}
	if code, text := sc.post(path+"/settled", settledSays{ask, "settled", "ana", true}, nil); code != http.StatusOK {
		t.Fatalf("settled: %d %s", code, text)
	}
	var whole gameJSON
	sc.ask("/api/games/"+string(games[0].ID), &whole)
	if whole.Record != "settled" || len(whole.Charts) != 3 {
		t.Fatalf("record %q of %d charts; want the settled one of three", whole.Record, len(whole.Charts))
	}
	// The written chart has the rates that were foretold.
	var after struct{ Changes []audit.Change }
	nothing := settleAsk{Charts: []string{"settled", "second"}, Base: "settled"}
	if code, text := sc.post(path+"/effect", nothing, &after); code != http.StatusOK {
		t.Fatalf("effect of nothing: %d %s", code, text)
	}
	for i, c := range effect.Changes {
		if now := after.Changes[i].From; (c.To == nil) != (now == nil) || c.To != nil && *c.To != *now {
			t.Errorf("%s: foretold %v, written %v", c.Name, deref(c.To), deref(now))
		}
	}
	for name, ask := range map[string]settledSays{
		"has a chart":          {settleAsk{Charts: ask.Charts, Base: "main"}, "settled", "ana", false},
		"no name of a chart":   {settleAsk{Charts: ask.Charts, Base: "main"}, "Settled!", "ana", false},
		"is nobody's id":       {settleAsk{Charts: ask.Charts, Base: "main"}, "again", "", false},
		"none of those":        {settleAsk{Charts: ask.Charts, Base: "third"}, "again", "ana", false},
		"at least two":         {settleAsk{Charts: []string{"main"}, Base: "main"}, "again", "ana", false},
		"do not disagree":      {settleAsk{Charts: ask.Charts, Base: "main", Choose: audit.Choices{events.ID(id(99)): "main"}}, "again", "ana", false},
		"named twice":          {settleAsk{Charts: []string{"main", "main"}, Base: "main"}, "again", "ana", false},
		"no chart \\\"third\\": {settleAsk{Charts: []string{"main", "third"}, Base: "main"}, "again", "ana", false},
	} {
		if code, text := sc.post(path+"/settled", ask, nil); code < 400 || code >= 500 || !strings.Contains(text, name) {
			t.Errorf("want it refused with %q; got %d %s", name, code, text)
		}
	}
}

func deref(v *float64) string {
	if v == nil {
		return "nothing"
	}
	return fmt.Sprint(*v)
}

func TestTotalsAreEnteredOnceAndThenCorrected(t *testing.T) {
	sc := charted(t, more)
	totals := func(points int) map[events.Token]events.Totals {
		return map[events.Token]events.Totals{"h": {}, "m": {Points: points, FGA: 2, FGM: 1, DReb: 0}}
	}
	enter := func(points int) (out struct{ Corrected bool }) {
		t.Helper()
		body := map[string]any{"chart": "main", "by": "ana", "teams": totals(points)}
		if code, text := sc.post("/api/audit/g1/totals", body, &out); code != http.StatusOK {
			t.Fatalf("%d %s", code, text)
		}
		return out
	}
	line := func() audit.Line {
		t.Helper()
		var report audit.GameReport
		sc.ask("/api/audit/g1", &report)
		return report.Charts[0].Totals.Teams[1].Lines[0]
	}
	if out := enter(3); out.Corrected {
		t.Error("the first totals are said to correct others")
	}
	if l := line(); l.Charted != 2 || l.Official != 3 || l.Difference != -1 {
		t.Errorf("after 3 points were entered: %+v; want 2 charted, 3 official", l)
	}
	for range 3 { // whichever pad comes first, the latest correction stands
		enter(5)
		if out := enter(2); !out.Corrected {
			t.Error("later totals do not correct the first")
		}
		if l := line(); l.Official != 2 || l.Difference != 0 {
			t.Errorf("after the correction to 2: %+v", l)
		}
	}
	for reason, body := range map[string]map[string]any{
		"does not play here": {"chart": "main", "by": "ana", "teams": map[string]any{"k": events.Totals{}}},
		"at least one team":  {"chart": "main", "by": "ana", "teams": map[string]any{}},
		"has no chart":       {"chart": "other", "by": "ana", "teams": totals(1)},
		"nobody's id":        {"chart": "main", "by": "A n a", "teams": totals(1)},
		"made more":          {"chart": "main", "by": "ana", "teams": map[string]any{"h": events.Totals{FGM: 2, FGA: 1}}},
		"more threes":        {"chart": "main", "by": "ana", "teams": map[string]any{"h": events.Totals{FGA: 1, ThreeA: 2}}},
		"unknown field":      {"chart": "main", "by": "ana", "teams": totals(1), "rebounds": 3},
	} {
		if code, text := sc.post("/api/audit/g1/totals", body, nil); code < 400 || code >= 500 || !strings.Contains(text, reason) {
			t.Errorf("want it refused with %q; got %d %s", reason, code, text)
		}
	}
}

func TestAFullLedgerLeavesNoSettledChartOfRecord(t *testing.T) {
	sc, games := doubleCharted(t, 1)
	before, _ := sc.ledger.Last(context.Background())
	sc.ledger.setFull(true)
	body := settledSays{settleAsk{Charts: []string{"main", "second"}, Base: "main"}, "settled", "ana", true}
	if code, text := sc.post("/api/audit/"+string(games[0].ID)+"/settled", body, nil); code != http.StatusServiceUnavailable {
		t.Errorf("%d %s; want it unavailable", code, text)
	}
	if last, _ := sc.ledger.Last(context.Background()); last != before {
		t.Errorf("%d events were stored", last-before)
	}
	sc.ledger.setFull(false)
	if code, text := sc.post("/api/audit/"+string(games[0].ID)+"/settled", body, nil); code != http.StatusOK {
		t.Errorf("once there is room: %d %s", code, text)
	}
}

func TestListOfGamesMovesWithTheirCharts(t *testing.T) {
	sc := charted(t, more)
	list := func() auditRow {
		t.Helper()
		var out struct{ Games []auditRow }
		sc.ask("/api/audit", &out)
		if len(out.Games) != 1 {
			t.Fatalf("%d games; want one", len(out.Games))
		}
		return out.Games[0]
	}
	before := list()
	if c := before.Charts[0]; before.Record != "main" || c.Totals != "none" || c.Chances != 2 || before.Home != "Harbour" || !before.Invented {
		t.Errorf("the list says %+v", before)
	}
	body := map[string]any{"chart": "main", "by": "ana", "teams": map[string]any{"h": events.Totals{}, "m": events.Totals{Points: 9, FGA: 5, FGM: 4}}}
	if code, text := sc.post("/api/audit/g1/totals", body, nil); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	if c := list().Charts[0]; c.Totals != "differ" || len(c.Differing) == 0 {
		t.Errorf("after other totals were entered the list says %+v", c)
	}
	if code, text := sc.post("/api/audit/g1/record", map[string]any{"chart": "main", "by": "ana"}, nil); code != http.StatusOK {
		t.Fatalf("record: %d %s", code, text)
	}
}

func TestWhoMaySettle(t *testing.T) {
	sc, b, _ := guarded(t)
	sc.chart(sc.padFor(b, access.Charter), play...)
	for _, c := range []struct {
		role  access.Role
		games []events.Token
		post  string
		want  int
	}{
		{access.Coach, nil, "settled", http.StatusForbidden},
		{access.Coach, nil, "totals", http.StatusForbidden},
		{access.Charter, nil, "record", http.StatusForbidden},
		{access.Charter, []events.Token{"g2"}, "totals", http.StatusForbidden},
		{access.Coach, []events.Token{"g2"}, "effect", http.StatusForbidden},
		{access.Charter, []events.Token{"g1"}, "totals", http.StatusBadRequest}, // let in, and then nothing is said
		{access.Analyst, nil, "record", http.StatusBadRequest},
		{access.Coach, nil, "effect", http.StatusBadRequest},
	} {
		_, key := link(t, b, c.role, c.games...)
		cookie, _ := sc.enter(key, nil)
		if got := sc.code("POST", "/api/audit/g1/"+c.post, cookie); got != c.want {
			t.Errorf("%s of %v posts %s: %d; want %d", c.role, c.games, c.post, got, c.want)
		}
	}
	_, key := link(t, b, access.Coach, "g2")
	cookie, _ := sc.enter(key, nil)
	if text := sc.text("/api/audit", cookie); strings.Contains(text, "g1") {
		t.Errorf("a pass for another game lists %s", text)
	}
	if code := sc.code("GET", "/api/audit/g1", cookie); code != http.StatusForbidden {
		t.Errorf("a pass for another game opens the audit: %d", code)
	}
}

func (sc *scene) padFor(b *access.Book, role access.Role) *websocket.Conn {
	sc.t.Helper()
	_, key := link(sc.t, b, role)
	cookie, _ := sc.enter(key, nil)
	return sc.padAs(cookie, "g1")
}
