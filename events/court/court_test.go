package court

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// TestDimensionsAgainstPublishedFigures reads the published figures, each with
// its source, and compares them with the courts. The tolerance is a tenth of a
// millimetre: the figures are exact in their own units.
func TestDimensionsAgainstPublishedFigures(t *testing.T) {
	var published struct {
		Values []struct {
			Rules, Field, Unit, Status, Source string
			Value                              float64
		}
	}
	raw, err := os.ReadFile("../../testdata/court/dimensions.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &published); err != nil {
		t.Fatal(err)
	}
	metres := map[string]float64{"m": 1, "ft": 0.3048, "in": 0.0254}
	seen := map[string]int{}
	for _, p := range published.Values {
		got, ok := figures(t, p.Rules)[p.Field]
		if !ok || metres[p.Unit] == 0 || p.Source == "" {
			t.Errorf("%s %s: unknown field or unit, or no source", p.Rules, p.Field)
			continue
		}
		if want := p.Value * metres[p.Unit]; math.Abs(got-want) > 1e-4 {
			t.Errorf("%s %s = %.4f m, published %.4f m (%g %s, %s)", p.Rules, p.Field, got, want, p.Value, p.Unit, p.Source)
		}
		seen[p.Rules]++
	}
	for _, rules := range RuleSets() {
		if seen[rules] < 9 {
			t.Errorf("%s: only %d published figures checked", rules, seen[rules])
		}
	}
}

// figures are a court's fields by their JSON names, and three derived ones.
func figures(t *testing.T, rules string) map[string]float64 {
	t.Helper()
	c, err := For(rules)
	if err != nil {
		t.Fatal(err)
	}
	raw, _ := json.Marshal(c)
	var fields map[string]any
	_ = json.Unmarshal(raw, &fields)
	byName := map[string]float64{
		"three_line_to_sideline": c.Width/2 - c.ThreeCorner,
		"no_charge_straight":     c.BasketToEndLine - c.BoardToEndLine,
		"bend_to_end_line":       c.ArcMeetsStraight() + c.BasketToEndLine,
	}
	for name, v := range fields {
		if f, ok := v.(float64); ok {
			byName[name] = f
		}
	}
	return byName
}

func TestUnknownRulesAreRefused(t *testing.T) {
	if _, err := For("street"); err == nil {
		t.Error("a court for street rules was returned")
	}
}

func TestSpots(t *testing.T) {
	for _, tt := range []struct {
		name  string
		rules string
		x, y  float64
		worth Worth
		zone  Zone
	}{
		{"under the basket", "fiba", 0, 0, Two, Rim},
		{"a floater in the lane", "fiba", 1.2, 2.5, Two, Paint},
		{"the free-throw line", "fiba", 0, 4.2, Two, Paint},
		{"the elbow, outside the key", "fiba", 2.6, 4.0, Two, MidRange},
		{"top of the arc, a step behind", "fiba", 0, 7.5, Three, AboveTheBreak},
		{"toes near the arc", "fiba", 0, 6.9, Either, AboveTheBreak},
		{"just inside the arc", "fiba", 0, 6.5, Either, MidRange},
		{"right corner, feet behind the line", "fiba", 7.2, 0, Three, CornerThree},
		{"left corner, feet behind the line", "fiba", -7.2, 0, Three, CornerThree},
		{"the corner, inside", "fiba", 5.9, -0.5, Two, MidRange},
		{"6.7 m from the corner is a three there", "nba", 7.3, 0, Three, CornerThree},
		{"6.9 m from the wing is a two in the nba", "nba", 4, 5.3, Two, MidRange},
		{"and a three in high school", "nfhs", 4, 5.3, Three, AboveTheBreak},
		{"a heave from behind halfway", "ncaa-men", 1, 16, Three, Backcourt},
		{"behind the backboard", "ncaa-men", 0, -1.7, Two, OutOfBounds},
		{"in the stands", "ncaa-women", 8, 3, Three, OutOfBounds},
		{"high-school corner", "nfhs", 6.9, 0.5, Three, CornerThree},
		{"high-school wing", "nfhs", 6, 3, Three, AboveTheBreak},
		{"at the rim without an arc on the floor", "nfhs", 0.8, 0.5, Two, Rim},
	} {
		c, err := For(tt.rules)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.Worth(tt.x, tt.y); got != tt.worth {
			t.Errorf("%s (%s): worth %q, want %q; %.2f m past the line", tt.name, tt.rules, got, tt.worth, c.PastThreeLine(tt.x, tt.y))
		}
		if got := c.Zone(tt.x, tt.y); got != tt.zone {
			t.Errorf("%s (%s): %q, want %q", tt.name, tt.rules, got, tt.zone)
		}
	}
}

func TestWhichShotsASpotAllows(t *testing.T) {
	for _, tt := range []struct {
		worth      Worth
		two, three bool
	}{{Two, true, false}, {Three, false, true}, {Either, true, true}} {
		if tt.worth.Allows(2) != tt.two || tt.worth.Allows(3) != tt.three || tt.worth.Allows(1) {
			t.Errorf("%q allows 2: %v, 3: %v, 1: %v", tt.worth, tt.worth.Allows(2), tt.worth.Allows(3), tt.worth.Allows(1))
		}
	}
}

// TestLineMatchesItsDrawing compares the distance to the three-point line with
// the slow way: the nearest of many points along the drawn line.
func TestLineMatchesItsDrawing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := courts[rapid.IntRange(0, len(courts)-1).Draw(rt, "court")]
		x := rapid.Float64Range(-c.Width/2, c.Width/2).Draw(rt, "x")
		y := rapid.Float64Range(-c.BasketToEndLine, c.Length/2).Draw(rt, "y")
		want := math.Inf(1)
		for _, s := range c.threeLine() {
			for i := range 4001 {
				px, py := along(s, float64(i)/4000)
				want = math.Min(want, math.Hypot(x-px, y-py))
			}
		}
		got := c.PastThreeLine(x, y)
		// Near the end line the line stops; the distance goes on as if it did not.
		if y+c.BasketToEndLine > 1e-9 && math.Abs(math.Abs(got)-want) > 0.004 {
			rt.Fatalf("%s (%.3f, %.3f): %.4f m from the line, by its drawing %.4f m", c.Rules, x, y, got, want)
		}
		if mirrored := c.PastThreeLine(-x, y); mirrored != got {
			rt.Fatalf("%s (%.3f, %.3f): %.4f on one side, %.4f on the other", c.Rules, x, y, got, mirrored)
		}
	})
}

// along is the point at a share of a segment or arc.
func along(s Shape, share float64) (x, y float64) {
	if s.Kind == "arc" {
		turn := s.A + share*(s.B-s.A)
		return s.X + s.R*math.Cos(turn), s.Y + s.R*math.Sin(turn)
	}
	return s.X + share*(s.X2-s.X), s.Y + share*(s.Y2-s.Y)
}

func TestHalfCourtDrawing(t *testing.T) {
	for _, rules := range RuleSets() {
		c, _ := For(rules)
		parts := map[string]bool{}
		for _, s := range c.HalfCourt() {
			parts[s.Part] = true
			for i := range 11 {
				x, y := s.X+s.R, s.Y // a circle reaches farthest to its side
				switch s.Kind {
				case "segment", "arc", "rect":
					x, y = along(s, float64(i)/10)
				}
				if math.Abs(x) > c.Width/2+1e-9 || y < -c.BasketToEndLine-1e-9 || y > c.Length/2-c.BasketToEndLine+1e-9 {
					t.Errorf("%s: %s leaves the half court at (%.2f, %.2f)", rules, s.Part, x, y)
				}
			}
		}
		want := []string{"boundary", "centre circle", "lane", "free-throw circle", "three-point line", "backboard", "ring"}
		if rules != "nfhs" {
			want = append(want, "no-charge arc")
		}
		for _, part := range want {
			if !parts[part] {
				t.Errorf("%s: no %s in the drawing", rules, part)
			}
		}
		if len(parts) != len(want) {
			t.Errorf("%s: draws %v", rules, parts)
		}
		line := c.threeLine()
		for i := range 2 {
			x, y := along(line[i], 1)
			x2, y2 := along(line[i+1], 0)
			if math.Hypot(x-x2, y-y2) > 1e-9 {
				t.Errorf("%s: the three-point line is open between part %d and %d", rules, i, i+1)
			}
		}
	}
}
