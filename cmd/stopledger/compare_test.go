package main

import (
	"math"
	"os"
	"strings"
	"testing"
)

func TestCompare(t *testing.T) {
	ledger := inventedSeason(t, "4")
	var got struct {
		Total struct {
			Old, New struct{ Stops float64 }
		}
		Rules []struct {
			Rule string
			Rows int
		}
		Flips []struct{ From, To, Rule, Chance string }
	}
	decode(t, succeed(t, "compare", "--ledger", ledger, "--from", "ball-won", "--to", "no-points", "--format", "json"), &got)
	for side, name := range map[float64]string{got.Total.Old.Stops: "ball-won", got.Total.New.Stops: "no-points"} {
		var alone struct{ Total struct{ Stops float64 } }
		decode(t, succeed(t, "rates", "--ledger", ledger, "--definition", name, "--format", "json"), &alone)
		if math.Abs(side-alone.Total.Stops) > 0 {
			t.Errorf("%s: %v stops beside another definition, %v alone", name, side, alone.Total.Stops)
		}
	}
	if len(got.Flips) == 0 || got.Flips[0].Rule != "stop.default" || got.Flips[0].Chance == "" {
		t.Errorf("flips %+v; want the stop rule to have turned some", got.Flips[:min(3, len(got.Flips))])
	}
	out := succeed(t, "compare", "--ledger", ledger, "--from", "ball-won", "--to", "no-points", "--flips", "2")
	for _, want := range []string{"trials flipped", "by stop.default", "decided by", "more; --flips", "definition no-points", "INVENTED"} {
		if !strings.Contains(out, want) {
			t.Errorf("the table misses %q:\n%s", want, out)
		}
	}
}

// The last good definition stays: a file with mistakes is refused at its place.
func TestCompareRefusesABadFile(t *testing.T) {
	at := inDir(t)
	if err := os.WriteFile(at("bad.yaml"), []byte("name: bad\nabout: x\nstop:\n  default: 'chance.ponts == 0'\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, errs, code := stopledger(t, "compare", "--ledger", inventedSeason(t, "1"), "--from", "ball-won", "--to", at("bad.yaml"))
	if code != exitFailed || !strings.Contains(errs, "4:") || !strings.Contains(errs, `did you mean "points"`) {
		t.Errorf("code %d: %s; want the place and the nearest right word", code, errs)
	}
}

func TestBrief(t *testing.T) {
	ledger, at := inventedSeason(t, "3"), inDir(t)
	var rates struct{ Groups []struct{ Defender string } }
	decode(t, succeed(t, "rates", "--ledger", ledger, "--by", "defender", "--format", "json"), &rates)
	player := rates.Groups[len(rates.Groups)-1].Defender
	for _, ending := range []string{"html", "json"} {
		succeed(t, "brief", "--ledger", ledger, "--player", player, "--out", at("b."+ending))
		text := strings.ReplaceAll(read(t, at("b."+ending)), "&#39;", "'")
		if !strings.Contains(text, "A chart is one person") {
			t.Errorf("%s holds no cautions", ending)
		}
	}
	if _, errs, code := stopledger(t, "brief", "--ledger", ledger, "--player", player, "--out", at("b.pdf")); code != exitFailed || !strings.Contains(errs, ".html") {
		t.Errorf("an ending that is none: %d %s", code, errs)
	}
}
