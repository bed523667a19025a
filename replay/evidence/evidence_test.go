package evidence_test

import (
	"fmt"
	"strings"
	"testing"

	"stopledger/events"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/replay/film"
)

func id(n int) string { return fmt.Sprintf("0198f0c2-7c1e-7b1a-9a55-%012x", n) }

// game is a chart with a film that is anchored in the first period only: at
// 100 s the clock shows 10:00, at 700 s 0:00.
func game(t *testing.T, lines ...string) *replay.Game {
	t.Helper()
	all := append([]string{
		`{"type":"game-opened","body":{"rules":"fiba","date":"2031-01-14","home":{"id":"h","name":"Harbour"},"away":{"id":"m","name":"Millstone"},"players":[{"id":"h-1","team":"h","number":"1","role":"guard"},{"id":"m-2","team":"m","number":"2","role":"wing"},{"id":"m-3","team":"m","number":"3","role":"guard"}],"invented":true}}`,
		`{"type":"film-linked","body":{"id":"f1","name":"first half.mp4"}}`,
		`{"type":"film-anchored","body":{"film":"f1","at":100,"period":1,"clock":600}}`,
		`{"type":"film-anchored","body":{"film":"f1","at":700,"period":1,"clock":0}}`,
	}, lines...)
	var list []events.Event
	for i, l := range all {
		text := fmt.Sprintf(`{"v":1,"id":%q,"game":"g1","chart":"main","charter":"ana","pad":"p1","n":%d,%s`, id(i+1), i+1, l[1:])
		e, err := events.Decode([]byte(text))
		if err != nil {
			t.Fatalf("line %d: %v", i, err)
		}
		list = append(list, e)
	}
	return replay.FoldGame("g1", list)
}

var story = []string{
	// 5: beaten and recovered, a miss the offence rebounds
	`{"when":{"period":1,"clock":590},"type":"chance-began","body":{"offence":"m","origin":"jump"}}`,
	`{"when":{"period":1,"clock":585},"type":"action","body":{"chance":"` + id(5) + `","kind":"drive","defender":"h-1","opponent":"m-2","outcome":"beaten"}}`,
	`{"when":{"period":1,"clock":583},"type":"action","body":{"chance":"` + id(5) + `","kind":"contest","defender":"h-1","opponent":"m-2","outcome":"hand-up"}}`,
	`{"when":{"period":1,"clock":580},"type":"chance-ended","body":{"chance":"` + id(5) + `","end":"missed-2","rebound":"offence"}}`,
	// 9: a made three
	`{"when":{"period":1,"clock":300},"type":"chance-began","body":{"offence":"m","origin":"make"}}`,
	`{"when":{"period":1,"clock":290},"type":"action","body":{"chance":"` + id(9) + `","kind":"closeout","defender":"h-1","opponent":"m-3","outcome":"late"}}`,
	`{"when":{"period":1,"clock":288},"type":"chance-ended","body":{"chance":"` + id(9) + `","end":"made-3"}}`,
	// 12: in the second period, where the film has no anchor
	`{"when":{"period":2,"clock":300},"type":"chance-began","body":{"offence":"m","origin":"make"}}`,
	`{"when":{"period":2,"clock":290},"type":"action","body":{"chance":"` + id(12) + `","kind":"drive","defender":"h-1","opponent":"m-3","outcome":"stopped"}}`,
	`{"when":{"period":2,"clock":288},"type":"chance-ended","body":{"chance":"` + id(12) + `","end":"missed-2","rebound":"defence"}}`,
}

func TestFind(t *testing.T) {
	g := game(t, story...)
	cases := []struct {
		name string
		want evidence.Want
		got  string // the chances, by number
	}{
		{"everything", evidence.Want{}, "5 9 12"},
		{"a kind", evidence.Want{Kinds: []events.Kind{events.Drive}}, "5 12"},
		{"one action must be all of it", evidence.Want{Kinds: []events.Kind{events.Contest}, Readings: []events.Reading{events.Broken}}, ""},
		{"the opponent's role", evidence.Want{Roles: []events.Role{"guard"}}, "9 12"},
		{"a chance by its id", evidence.Want{Chances: []events.ID{events.ID(id(9))}}, "9"},
		{"another game", evidence.Want{Games: []events.Token{"g2"}}, ""},
		{"a player and an outcome", evidence.Want{Players: []events.Token{"h-1"}, Outcomes: []events.Outcome{"late"}}, "9"},
		{"a player who did nothing", evidence.Want{Players: []events.Token{"m-2"}}, ""},
	}
	for _, c := range cases {
		var got []string
		for _, r := range evidence.Find([]*replay.Game{g}, c.want) {
			var n int
			fmt.Sscanf(string(r.Chance)[24:], "%x", &n)
			got = append(got, fmt.Sprint(n))
		}
		if s := strings.Join(got, " "); s != c.got {
			t.Errorf("%s: found %q; want %q", c.name, s, c.got)
		}
	}
}

func TestRowSaysWhatAPersonNeeds(t *testing.T) {
	rows := evidence.Find([]*replay.Game{game(t, story...)}, evidence.Want{Kinds: []events.Kind{events.Closeout}})
	if len(rows) != 1 {
		t.Fatalf("%d rows; want one", len(rows))
	}
	r := rows[0]
	for _, c := range []struct{ what, got, want string }{
		{"title", r.Title(), "P1 5:00 h-1 closeout late (m-3)"},
		{"score", r.Score(), "level"},
		{"end", r.Ended(), "made 3, 3 points"},
		{"match", r.Match(), "2031-01-14 Harbour – Millstone"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q; want %q", c.what, c.got, c.want)
		}
	}
	if far := evidence.Find([]*replay.Game{game(t, story...)}, evidence.Want{Chances: []events.ID{events.ID(id(12))}})[0]; far.Film != nil || !strings.Contains(far.NoFilm, "period 2") {
		t.Errorf("in a period without an anchor: %+v, %q; want no film and the reason", far.Film, far.NoFilm)
	}
	// Between the anchors film and clock run alike: 100 + (600 - 300) = 400 s.
	if r.Film == nil || r.Film.At != 400 || r.Film.End != 412 || r.Film.Name != "first half.mp4" {
		t.Errorf("film %+v (%s); want 400 to 412 s of the first half", r.Film, r.NoFilm)
	}
}

func TestCutSaysWhatItCannotShow(t *testing.T) {
	games := []*replay.Game{game(t, story...)}
	rows := evidence.Find(games, evidence.Want{})
	reels, left := evidence.Cut(games, rows, film.DefaultMargins)
	if len(reels) != 1 || len(reels[0].Clips) != 2 || !reels[0].Invented {
		t.Fatalf("reels %+v; want one of two clips, marked", reels)
	}
	// From five seconds before 110 s to three after 120 s.
	if c := reels[0].Clips[0]; c.Start != 105 || c.End != 123 {
		t.Errorf("first clip %g to %g; want 105 to 123", c.Start, c.End)
	}
	if len(left) != 1 || left[0].Chance != events.ID(id(12)) || !strings.Contains(left[0].Why, "period 2") {
		t.Errorf("left %+v; want chance 12 for want of an anchor in period 2", left)
	}
	rate, err := film.ParseRate("25")
	if err != nil {
		t.Fatal(err)
	}
	for _, format := range evidence.Formats() {
		files, err := evidence.Write(format, reels[0], rate)
		if err != nil || len(files) != 1 {
			t.Errorf("%s: %v, %d files", format, err, len(files))
			continue
		}
		if !strings.HasPrefix(files[0].Name, "g1-f1.") || !strings.Contains(files[0].Text, "INVENTED") {
			t.Errorf("%s: file %s does not carry the mark", format, files[0].Name)
		}
	}
	if _, err := evidence.Write("reel", reels[0], rate); err == nil || !strings.Contains(err.Error(), "vtt") {
		t.Errorf("an unknown format: %v; want an error that names the formats", err)
	}
}
