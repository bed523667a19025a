// Package court knows the floor: where the lines lie under each rule set, what
// a shot from a spot can be worth, and what the trade calls that part of the
// floor.
//
// Start with [For]. A [Court] answers questions about a spot ([Court.Worth],
// [Court.Zone], [Court.Contains]) and gives its lines as plain shapes
// ([Court.HalfCourt]) that a page can draw to scale.
//
// Everything is in metres. The origin is on the floor under the basket's
// centre, x runs toward the sideline on the shooter's right as he faces the
// basket, y toward midcourt; the end line therefore lies at a negative y. Rule
// sets differ in lines, not in frame.
package court

import (
	"fmt"
	"math"
	"strings"
)

// Court is the floor of one rule set. All lengths are metres.
type Court struct {
	Rules  string  `json:"rules"`  // fiba, nba, ncaa-men, ncaa-women or nfhs
	Length float64 `json:"length"` // end line to end line, inner edges
	Width  float64 `json:"width"`  // sideline to sideline, inner edges

	BasketToEndLine float64 `json:"basket_to_end_line"` // the basket's centre
	BoardToEndLine  float64 `json:"board_to_end_line"`  // the backboard's face
	BoardWidth      float64 `json:"board_width"`
	RingRadius      float64 `json:"ring_radius"` // inner edge

	ThreeArc    float64 `json:"three_arc"`    // radius about the basket's centre, to the line's outer edge
	ThreeCorner float64 `json:"three_corner"` // basket's centre to the straight part, outer edge

	LaneWidth  float64 `json:"lane_width"`  // outer edges
	FreeThrow  float64 `json:"free_throw"`  // end line to the free-throw line's far edge
	CircleSize float64 `json:"circle_size"` // radius of the centre and free-throw circles
	NoCharge   float64 `json:"no_charge"`   // radius of the no-charge arc, inner edge; 0 where none is drawn

	CornerDepth float64 `json:"corner_depth"` // how far from the end line a three still counts as a corner three
}

// For returns the court of a rule set: fiba, nba, ncaa-men, ncaa-women or nfhs.
func For(rules string) (Court, error) {
	for _, c := range courts {
		if c.Rules == rules {
			return c, nil
		}
	}
	return Court{}, fmt.Errorf("no court for rules %q; want one of %s", rules, strings.Join(RuleSets(), ", "))
}

// RuleSets lists the rule sets whose court is known.
func RuleSets() []string {
	names := make([]string, len(courts))
	for i, c := range courts {
		names[i] = c.Rules
	}
	return names
}

// Distance is how far a spot lies from the point under the basket's centre.
func Distance(x, y float64) float64 { return math.Hypot(x, y) }

// ArcMeetsStraight is the y at which the three-point arc meets its straight
// parts. It is computed, so that the line closes; rule texts print it rounded.
func (c Court) ArcMeetsStraight() float64 {
	return math.Sqrt(c.ThreeArc*c.ThreeArc - c.ThreeCorner*c.ThreeCorner)
}

// Contains reports whether a spot is on the playing court. The boundary lines
// are out of bounds under every rule set.
func (c Court) Contains(x, y float64) bool {
	fromEndLine := y + c.BasketToEndLine
	return math.Abs(x) < c.Width/2 && fromEndLine > 0 && fromEndLine < c.Length
}

// InBackcourt reports whether a spot lies beyond the halfway line, seen from
// the basket that the offence attacks.
func (c Court) InBackcourt(y float64) bool { return y+c.BasketToEndLine > c.Length/2 }
