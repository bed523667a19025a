package synth

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"strings"
	"testing"

	"stopledger/events"
)

func season(t testing.TB, o Options) *Season {
	t.Helper()
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// lines is the season as a file, with its first n events when n > 0.
func lines(t testing.TB, s *Season, n int) []byte {
	t.Helper()
	var out bytes.Buffer
	for e, err := range s.Events() {
		if err != nil {
			t.Fatal(err)
		}
		out.Write(e.Raw)
		out.WriteByte('\n')
		if n--; n == 0 {
			break
		}
	}
	return out.Bytes()
}

func TestSameSeedSameBytes(t *testing.T) {
	o := Options{Seed: 7, Games: 9, DoubleCharted: 0.5}
	first, again := lines(t, season(t, o), 0), lines(t, season(t, o), 0)
	if sha256.Sum256(first) != sha256.Sum256(again) {
		t.Error("the same options gave other bytes")
	}
	o.Seed = 8
	if bytes.Equal(first, lines(t, season(t, o), 0)) {
		t.Error("another seed gave the same season")
	}
}

func TestLongerSeasonBeginsWithTheShorter(t *testing.T) {
	short := lines(t, season(t, Options{Seed: 3, Games: 4, DoubleCharted: 0.25}), 0)
	long := lines(t, season(t, Options{Seed: 3, Games: 11, DoubleCharted: 0.25}), 0)
	if !bytes.HasPrefix(long, short) {
		t.Error("the first four games of eleven are not the four of a shorter season")
	}
}

func TestReaderMayStopEarly(t *testing.T) {
	s := season(t, Options{Seed: 1, Games: 3000, DoubleCharted: 0.1})
	if got := bytes.Count(lines(t, s, 5), []byte("\n")); got != 5 {
		t.Errorf("read %d events, want 5", got)
	}
}

func TestOptionsAreChecked(t *testing.T) {
	for name, tc := range map[string]struct {
		o    Options
		want string
	}{
		"no games":        {Options{Games: 0}, "games: 0; want 1 to 3000"},
		"too many":        {Options{Games: 3001}, "games: 3001; want 1 to 3000"},
		"share above 1":   {Options{Games: 1, DoubleCharted: 1.5}, "double charted: 1.5; want a share from 0 to 1"},
		"focus on nobody": {Options{Games: 1, FocusOn: "qlm-99"}, `focus on: "qlm-99" plays in no invented team`},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := New(tc.o); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want %s", err, tc.want)
			}
		})
	}
}

func TestFocusFollowsWhomeverItIsAskedTo(t *testing.T) {
	s := season(t, Options{Seed: 1, Games: 1})
	o := Options{Seed: 1, Games: 30, FocusOn: s.teams[4].players[1].id}
	scoped := 0
	for e, err := range season(t, o).Events() {
		if err != nil {
			t.Fatal(err)
		}
		if c, ok := e.Body.(*events.ChartScoped); ok && c.Focus != "" {
			scoped++
			if c.Focus != o.FocusOn || c.Ends != events.OneEnd || c.Team != "mur" {
				t.Errorf("focus chart of %+v, want one of %s", c, o.FocusOn)
			}
		}
	}
	if scoped == 0 {
		t.Error("no focus chart in 30 games")
	}
}

// Every event may enter a ledger, as it is and as it is read back; pads count
// without a gap, ids are unique and grow with the charter's clock.
func TestEveryEventIsFitForTheLedger(t *testing.T) {
	type pad struct{ game, chart, pad events.Token }
	for seed := range uint64(6) {
		last := make(map[pad]events.Event)
		seen := make(map[events.ID]bool)
		for e, err := range season(t, Options{Seed: seed, Games: 2, DoubleCharted: 0.5}).Events() {
			if err != nil {
				t.Fatal(err)
			}
			read, err := events.DecodeOwned(e.Raw)
			if err == nil {
				err = events.Check(&read)
			}
			if err != nil {
				t.Fatalf("seed %d: %v: %s", seed, err, e.Raw)
			}
			key := pad{e.Game, e.Chart, e.Pad}
			before, known := last[key]
			minted, ok := e.ID.Minted()
			switch {
			case seen[e.ID]:
				t.Fatalf("seed %d: id twice: %s", seed, e.Raw)
			case !ok || !minted.Equal(e.Recorded):
				t.Fatalf("seed %d: id minted at %v: %s", seed, minted, e.Raw)
			case e.N != before.N+1:
				t.Fatalf("seed %d: n %d after %d: %s", seed, e.N, before.N, e.Raw)
			case known && (e.ID <= before.ID || !e.Recorded.After(before.Recorded)):
				t.Fatalf("seed %d: recorded before what it follows: %s", seed, e.Raw)
			}
			seen[e.ID], last[key] = true, e
		}
	}
}

func TestPeopleMayBeStoredAndAreInvented(t *testing.T) {
	s := season(t, Defaults())
	people := s.People()
	if len(people) != teamCount*len(slots) {
		t.Errorf("%d people, want %d", len(people), teamCount*len(slots))
	}
	names := make(map[string]bool)
	how := make(map[events.How]int)
	for _, p := range people {
		if err := events.CheckPerson(p); err != nil {
			t.Errorf("%s: %v", p.ID, err)
		}
		if names[p.Name] || !strings.HasSuffix(p.Name, "(invented)") {
			t.Errorf("%s is called %q", p.ID, p.Name)
		}
		names[p.Name] = true
		how[p.HeightCM.How]++
	}
	for _, word := range events.How("").Words() {
		if how[events.How(word)] == 0 {
			t.Errorf("no height is known as %s", word)
		}
	}
	for e := range season(t, Options{Seed: 1, Games: 4}).Events() {
		if _, ok := e.Body.(*events.GameOpened); ok && !e.Invented() {
			t.Errorf("not marked as invented: %s", e.Raw)
		}
	}
}

// Every team meets every other once in seven rounds, and home and away change
// over after them.
func TestRoundRobin(t *testing.T) {
	s := season(t, Options{Seed: 1, Games: 1})
	meetings := make(map[string]int)
	for i := range 56 {
		p := s.plan(i)
		meetings[fmt.Sprint(p.home.id, "-", p.away.id)]++
	}
	if len(meetings) != 56 {
		t.Errorf("%d different pairings of home and away in 14 rounds, want 56", len(meetings))
	}
}

func BenchmarkEvents(b *testing.B) {
	s := season(b, Options{Seed: 1, Games: 100, DoubleCharted: 0.1})
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		for _, err := range s.Events() {
			if err != nil {
				b.Fatal(err)
			}
			n++
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "events/s")
}
