package outline_test

import (
	"errors"
	"strings"
	"testing"

	"stopledger/charting/outline"
	"stopledger/events"
)

func TestReadRefusesWhatItCannotRead(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty file", "", "read plays: line 1: the file is empty; want a header and plays"},
		{"header alone", header, "read plays: line 1: no plays follow the header"},
		{"column missing", "period,clock,team,made\n", `read plays: line 1, column play: is missing; the header is "period,clock,team,made"`},
		{"column twice", "period,clock,team,play,made,Team\n", "read plays: line 1, column team: stands twice in the header"},
		{"period", header + "first,20,A,timeout,,,,,\n", `read plays: line 2, column period: "first"; want 1 to 20`},
		{"period out of range", header + "0,20,A,timeout,,,,,\n", `read plays: line 2, column period: "0"; want 1 to 20`},
		{"clock", header + "1,11:40,A,timeout,,,,,\n", `read plays: line 2, column clock: "11:40"; want the seconds left in the period`},
		{"clock not a number", header + "1,NaN,A,timeout,,,,,\n", `read plays: line 2, column clock: "NaN"; want the seconds left in the period`},
		{"made", header + "1,20,A,shot-2,good,,a1,,\n", `read plays: line 2, column made: "good"; a shot or free throw is made yes or no`},
		{"third team", header + "1,20,A,timeout,,,,,\n1,20,B,timeout,,,,,\n\n1,20,C,timeout,,,,,\n", `read plays: line 5, column team: "c" is a third team beside "a" and "b"`},
		{"player without letters", header + "1,20,A,timeout,,,???,,\n", `read plays: line 2, column player: "???" holds neither letter nor digit to make an id of`},
		{"cell too many", header + "1,20,A,timeout,,,a1,,,spare\n", `read plays: line 2: "spare" stands beyond the last column`},
		{"quote", header + "1,20,\"A,timeout,,,a1,,\n", `read plays: line 2: no CSV at byte 24: extraneous or missing " in quoted-field`},
		{"all errors together", header + "1,x,A,timeout,,,a1,,\ny,2,A,timeout,,,a1,,\n", "read plays: line 2, column clock: \"x\"; want the seconds left in the period\nline 3, column period: \"y\"; want 1 to 20"},
		{"binary", "\x00\x01\x02", `read plays: line 1, column period: is missing; the header is "\x00\x01\x02"`},
		{"too many rows", header + strings.Repeat("1,20,A,timeout,,,,,\n", 5001), "read plays: line 5002: more than 5000 plays; want one game"},
		{"too large", strings.Repeat("x", 4<<20+1), "read plays: more than 4194304 bytes; want the plays of one game"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := outline.Read(strings.NewReader(c.text))
			if err == nil {
				t.Fatalf("no error; want %q", c.want)
			}
			if err.Error() != c.want {
				t.Errorf("got  %q\nwant %q", err, c.want)
			}
		})
	}
}

func TestErrorNamesLineAndColumn(t *testing.T) {
	_, err := outline.Read(strings.NewReader(header + "1,20,A,shot-2,good,,a1,,\n"))
	var cell *outline.Error
	if !errors.As(err, &cell) || cell.Line != 2 || cell.Column != "made" {
		t.Errorf("%v holds no outline.Error of line 2, column made", err)
	}
}

func TestOptionsAreChecked(t *testing.T) {
	feed, err := outline.Read(strings.NewReader(header + "1,20,A,shot-2,yes,,a1,,\n"))
	if err != nil {
		t.Fatal(err)
	}
	rules := nba(t)
	for _, c := range []struct {
		name    string
		options outline.Options
		want    string
	}{
		{"game", outline.Options{Game: "No Game", Rules: rules}, `outline: game "No Game" is no id: want 1 to 63 of a-z, 0-9 and -`},
		{"home", outline.Options{Game: "g", Rules: rules, Home: "c"}, `outline: home "c" plays for neither side; the feed's teams are a and b`},
		{"totals", outline.Options{Game: "g", Rules: rules, Totals: map[events.Token]events.Totals{"c": {}}}, `outline: totals of "c"; the feed's teams are a and b`},
		{"rules", outline.Options{Game: "g"}, "outline of g: line 2: game-opened: body.rules: 0 periods of 0 minutes, overtimes of 0: want 1 to 12 periods of up to 60 minutes"},
		{"date", outline.Options{Game: "g", Rules: rules, Date: "14.1."}, `outline of g: line 2: game-opened: body.date: "14.1."; want a date such as 2031-01-14`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, _, err := feed.Events(c.options); err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestTotalsThatDifferAreRemarked(t *testing.T) {
	feed, err := outline.Read(strings.NewReader(header + "1,20,A,shot-2,yes,,a1,,\n1,0,,period-end,,,,,\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, remarks, err := feed.Events(outline.Options{Game: "g", Rules: nba(t), Totals: map[events.Token]events.Totals{"a": {Points: 3, FGA: 1, FGM: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	if len(remarks) != 1 || remarks[0].String() != "a: 2 points in the events, 3 in the official totals" {
		t.Errorf("remarks: %v", remarks)
	}
}

func TestReadTotalsRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", `{"A":{"pts":1}}`, `{"A":{},"a":{}}`, `{"A team":{}}`} {
		if _, err := outline.ReadTotals(strings.NewReader(text)); err == nil {
			t.Errorf("%q: no error", text)
		}
	}
}
