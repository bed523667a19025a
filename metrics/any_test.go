package metrics

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stopledger/events"
	"stopledger/metrics/definition"
)

// anySeason is a small season of anything: no action, one, all stops, opponents
// that nobody named, roles that nobody knows.
var anySeason = rapid.Custom(func(t *rapid.T) string {
	var b strings.Builder
	players := rapid.IntRange(1, 9).Draw(t, "players")
	for g := range rapid.IntRange(0, 4).Draw(t, "games") {
		fmt.Fprintf(&b, "game g%d hbr-1:guard hbr-2:big hbr-3:", g+1)
		for p := range players {
			fmt.Fprintf(&b, " mil-%d:%s", p+1, rapid.SampledFrom([]string{"guard", "guard", "wing", ""}).Draw(t, "role"))
		}
		b.WriteString("\n")
		for range rapid.IntRange(0, 12).Draw(t, "chances") {
			b.WriteString(rapid.SampledFrom([]string{"missed-2", "missed-3 rebound=offence", "made-2", "made-3", "turnover turnover=steal", "missed-2 scheme=man/gap", "missed-2 scheme=zone-2-3/unknown"}).Draw(t, "end"))
			var actions []string
			for range rapid.IntRange(0, 4).Draw(t, "actions") {
				kind := rapid.SampledFrom(events.Kinds).Draw(t, "kind")
				outcome := rapid.SampledFrom(events.OutcomesOf(kind.Kind)).Draw(t, "outcome")
				actions = append(actions, fmt.Sprintf("%s mil-%d %s %s", kind.Kind, 1+rapid.IntRange(0, players-1).Draw(t, "defender"),
					rapid.SampledFrom([]string{"hbr-1", "hbr-2", "hbr-3", "-"}).Draw(t, "opponent"), outcome.Outcome))
			}
			if len(actions) == 0 {
				b.WriteString(" offence=hbr")
			}
			b.WriteString(": " + strings.Join(actions, "; ") + "\n")
		}
	}
	return b.String()
})

// Whatever was charted, every report can be written as JSON (which has no NaN and
// no infinity), every probability lies between 0 and 1, every interval is in
// order, and the same ledger gives the same bytes.
func TestAnySeason(t *testing.T) {
	definitions := []*definition.Definition{definition.Default(), define(t, "reference: {default: 0.55}\n"), splitting(t)}
	for i := range 6 {
		text := anySeason.Example(i)
		d := definitions[i%len(definitions)]
		first := everything(t, d, text)
		if i%3 == 0 && !bytes.Equal(first, everything(t, d, text)) {
			t.Errorf("the same season gave other bytes the second time:\n%s", text)
		}
		var v any
		if err := json.Unmarshal(first, &v); err != nil {
			t.Fatal(err)
		}
		if problem := sane("", v); problem != "" {
			t.Errorf("%s\n%s", problem, text)
		}
	}
}

func splitting(t testing.TB) *definition.Definition {
	t.Helper()
	d, err := definition.ByName("held-reading")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// everything is every report there is of a season.
func everything(t testing.TB, d *definition.Definition, text string) []byte {
	t.Helper()
	games, cols := seasonOf(t, text)
	s := NewStudy(d, cols, StudyOptions{Games: games})
	var out bytes.Buffer
	write := func(v any, err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if out.Len() > 0 {
			out.WriteByte(',')
		}
		out.Write(b)
	}
	for _, id := range s.Players()[:min(3, len(s.Players()))] {
		write(s.Profile(id))
	}
	for _, target := range []Target{Process, Result} {
		write(s.Rates([]string{"defender", "kind", "role"}, target))
		write(s.Field(FieldQuery{Kind: events.Drive, Role: events.Guard, Target: target}))
	}
	return []byte("[" + out.String() + "]")
}

var probabilities = map[string]bool{"better": true, "own_share": true, "top_third": true, "decided": true, "alone": true, "blind": true}

// sane walks a report and says what is wrong with it, if anything.
func sane(at string, v any) string {
	switch x := v.(type) {
	case []any:
		for i, e := range x {
			if p := sane(fmt.Sprintf("%s[%d]", at, i), e); p != "" {
				return p
			}
		}
	case map[string]any:
		if lo, ok := x["q10"].(float64); ok {
			mid, hi, sd := x["q50"].(float64), x["q90"].(float64), x["sd"].(float64)
			if lo > mid || mid > hi || sd < 0 {
				return fmt.Sprintf("%s: %v to %v to %v, sd %v", at, lo, mid, hi, sd)
			}
		}
		for key, e := range x {
			if n, ok := e.(float64); ok && (probabilities[key] && (n < 0 || n > 1) || math.Abs(n) > 1e12) {
				return fmt.Sprintf("%s.%s is %v", at, key, n)
			}
			if text, ok := e.(string); ok && (strings.Contains(text, "NaN") || strings.Contains(text, "Inf")) {
				return fmt.Sprintf("%s.%s says %q", at, key, text)
			}
			if p := sane(at+"."+key, e); p != "" {
				return p
			}
		}
	}
	return ""
}
