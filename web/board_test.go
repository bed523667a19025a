package web

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"stopledger/replay/evidence"
)

// ask gets an answer of the API and wants it to be one.
func (sc *scene) ask(path string, into any) {
	sc.t.Helper()
	answer, err := http.Get(sc.url + path)
	if err != nil {
		sc.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, _ := io.ReadAll(answer.Body)
	if answer.StatusCode != http.StatusOK {
		sc.t.Fatalf("%s: %d %s", path, answer.StatusCode, text)
	}
	if err := json.Unmarshal(text, into); err != nil {
		sc.t.Fatalf("%s: %v in %s", path, err, text)
	}
}

// told waits until a board hears that a game moved.
func told(t *testing.T, read func(any) error, game string) {
	t.Helper()
	for {
		var m boardSays
		if err := read(&m); err != nil {
			t.Fatalf("board: %v", err)
		}
		for _, g := range m.Games {
			if string(g) == game {
				return
			}
		}
	}
}

func TestBoardMovesWithTheGame(t *testing.T) {
	sc := start(t)
	a := sc.pad(0)
	b, _, err := sc.dial("/ws/board", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	_ = b.SetReadDeadline(time.Now().Add(10 * time.Second))
	player := func(id string) (p boardPlayer) {
		t.Helper()
		var whole boardJSON
		sc.ask("/api/board", &whole)
		for _, p := range whole.Players {
			if string(p.ID) == id {
				return p
			}
		}
		return p
	}
	if p := player("h-1"); p.ID != "" {
		t.Errorf("before the game there is %+v", p)
	}
	sc.chart(a, play...)
	told(t, b.ReadJSON, "g1")
	for range 2 { // the news may have come before the last event
		if p := player("h-1"); p.Actions == 1 && p.Role == "guard" {
			break
		}
		told(t, b.ReadJSON, "g1")
	}
	sc.chart(a, line(5, "voided", `{}`, `{"target":"`+id(3)+`","base":"`+id(3)+`"}`))
	told(t, b.ReadJSON, "g1")
	if p := player("h-1"); p.Actions != 0 {
		t.Errorf("after his action was voided: %+v; want none", p)
	}
}

// more is play with a second chance, in which h-1 is beaten by a wing and then
// contests; both are his, and m-2 scores.
var more = append(append([]string{}, play...),
	line(5, "chance-began", `{"period":2,"clock":590}`, `{"offence":"m","origin":"make"}`),
	line(6, "action", `{"period":2,"clock":585}`, `{"chance":"`+id(5)+`","kind":"drive","defender":"h-1","opponent":"m-2","outcome":"beaten"}`),
	line(7, "action", `{"period":2,"clock":584}`, `{"chance":"`+id(5)+`","kind":"contest","defender":"h-1","opponent":"m-2","outcome":"late-hand"}`),
	line(8, "chance-ended", `{"period":2,"clock":583}`, `{"chance":"`+id(5)+`","end":"made-2"}`),
)

func charted(t *testing.T, lines []string) *scene {
	t.Helper()
	sc := start(t)
	sc.chart(sc.pad(0), lines...)
	for range 1000 { // the desk follows the ledger
		var whole boardJSON
		if sc.ask("/api/board", &whole); int(whole.Position) == len(lines) {
			break
		}
		time.Sleep(time.Millisecond)
	}
	return sc
}

func TestEveryNumberOpensItsChances(t *testing.T) {
	sc := charted(t, more)
	var rates ratesJSON
	sc.ask("/api/rates?by=defender,kind", &rates)
	if len(rates.Groups) != 2 || !rates.Invented {
		t.Fatalf("%+v; want two groups, marked as invented", rates)
	}
	for _, g := range rates.Groups {
		for reading, n := range map[string]int{"": g.Actions, "held": g.Held, "even": g.Even, "broken": g.Broken} {
			path := fmt.Sprintf("/api/evidence?defender=%s&kind=%s", g.Key[0], g.Key[1])
			if reading != "" {
				path += "&reading=" + reading
			}
			var behind evidenceJSON
			sc.ask(path, &behind)
			if behind.Actions != n {
				t.Errorf("%v %q: the number says %d and opens %d actions", g.Key, reading, n, behind.Actions)
			}
			if reading == "" && behind.Chances != g.Chances {
				t.Errorf("%v: the number says %d chances and opens %d", g.Key, g.Chances, behind.Chances)
			}
		}
	}
	var late evidenceJSON
	sc.ask("/api/evidence?defender=h-1&kind=contest&stop=no", &late)
	if len(late.Rows) != 1 || late.Rows[0].At() != "P2 9:50" || late.Rows[0].Points != 2 || len(late.Rows[0].Acts) != 2 || late.Rows[0].Acts[0].Asked || !late.Rows[0].Acts[1].Asked {
		t.Errorf("the contest that was no stop: %+v", late.Rows)
	}
}

func TestFiltersOfAPage(t *testing.T) {
	sc := charted(t, more)
	for query, want := range map[string]int{
		"": 3, "period=1": 1, "period=1&period=2": 3, "role=guard": 0, "role=wing": 3, "since=2031-01-14": 3, "since=2031-01-15": 0,
		"game=g1": 3, "game=g9": 0, "against=m": 3, "against=h": 0, "level=college": 0, "as_of=4": 1, "as_of=" + id(4): 1,
	} {
		var rates ratesJSON
		sc.ask("/api/rates?by=defender&"+query, &rates)
		if rates.Total.Actions != want {
			t.Errorf("%q: %d actions; want %d", query, rates.Total.Actions, want)
		}
	}
}

func TestClipsOfAPageSayWhatNoFilmShows(t *testing.T) {
	sc := charted(t, append(append([]string{}, more...),
		line(9, "film-linked", `{}`, `{"id":"f1","name":"game.mp4"}`),
		line(10, "film-anchored", `{}`, `{"film":"f1","at":100,"period":1,"clock":600}`),
		line(11, "film-anchored", `{}`, `{"film":"f1","at":700,"period":1,"clock":0}`)))
	for _, format := range evidence.Formats() {
		var clips clipsJSON
		sc.ask("/api/clips?defender=h-1&rate=25&format="+format, &clips)
		if clips.Chances != 2 || len(clips.Files) != 1 || len(clips.Left) != 1 || !strings.Contains(clips.Left[0].Why, "period 2") {
			t.Errorf("%s: %d chances, %d files, left %+v; want one list and the second period's chance left", format, clips.Chances, len(clips.Files), clips.Left)
			continue
		}
		if !strings.Contains(clips.Files[0].Text, "INVENTED") {
			t.Errorf("%s does not carry the mark:\n%s", format, clips.Files[0].Text)
		}
	}
	for _, bad := range []string{"format=reel", "format=edl", "format=edl&rate=31", "stop=maybe", "action.kinds=drive"} {
		answer, err := http.Get(sc.url + "/api/clips?" + bad)
		if err != nil {
			t.Fatal(err)
		}
		_ = answer.Body.Close()
		if answer.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: %d; want it refused", bad, answer.StatusCode)
		}
	}
}
