package film

import (
	"math"
	"strconv"
	"testing"
)

// TestMediaFragments runs the published cases of the W3C; the source stands in
// each row. An empty end means to the end of the film.
func TestMediaFragments(t *testing.T) {
	number := func(text string, without float64) float64 {
		if text == "" {
			return without
		}
		n, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	valid := 0
	for _, row := range rows(t, "media_fragments.csv") {
		start, end, err := ParseFragment(row["fragment"])
		if row["valid"] == "0" {
			if err == nil {
				t.Errorf("%s: read as %g to %g, should be refused: %s (%s)", row["fragment"], start, end, row["meaning"], row["source"])
			}
			continue
		}
		valid++
		wantStart, wantEnd := number(row["start_s"], 0), number(row["end_s"], math.Inf(1))
		if err != nil || math.Abs(start-wantStart) > 1e-9 || (end != wantEnd && math.Abs(end-wantEnd) > 1e-9) {
			t.Errorf("%s: %g to %g (%v), published %g to %g (%s)", row["fragment"], start, end, err, wantStart, wantEnd, row["source"])
		}
	}
	if valid < 20 {
		t.Errorf("only %d valid cases read", valid)
	}
}

func FuzzParseFragment(f *testing.F) {
	for _, s := range []string{"t=3,7", "t=npt:1:00:10.5", "&t=3&t=meow", "t=%33", "t=99999999999999999999:00:00", "xywh=1,2,3,4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, fragment string) {
		start, end, err := ParseFragment(fragment)
		if err == nil && !(start >= 0 && start < end && !math.IsInf(start, 0)) {
			t.Fatalf("%q read as %g to %g", fragment, start, end)
		}
	})
}
