package court

import "math"

// LineTolerance is how near the three-point line, in metres, a charted spot says
// nothing about the value of the shot. It is a judgement: a tap on a half-court
// drawing of 400 pixels is good to about a dozen of them, and the spot is where
// the shooter stood, not where his toes were.
const LineTolerance = 0.5

// Worth is what a field goal from a spot can be worth.
type Worth string

// The three things a spot can say.
const (
	Two    Worth = "2"
	Three  Worth = "3"
	Either Worth = "2 or 3" // within [LineTolerance] of the line
)

// Allows reports whether a shot of that many points can come from the spot.
func (w Worth) Allows(points int) bool {
	switch points {
	case 2:
		return w != Three
	case 3:
		return w != Two
	}
	return false
}

// Worth says what a field goal from the spot can be worth: a shot charted as
// something else is a finding.
func (c Court) Worth(x, y float64) Worth {
	switch past := c.PastThreeLine(x, y); {
	case past > LineTolerance:
		return Three
	case past < -LineTolerance:
		return Two
	}
	return Either
}

// PastThreeLine is how far a spot lies beyond the outer edge of the three-point
// line, in metres; negative inside it. A foot on the line is inside.
func (c Court) PastThreeLine(x, y float64) float64 {
	x = math.Abs(x)
	bend := c.ArcMeetsStraight()
	straight := math.Hypot(x-c.ThreeCorner, math.Max(0, y-bend)) // to the straight part
	arc := math.Inf(1)
	if y*c.ThreeCorner >= x*bend { // the radius through the spot meets the drawn arc
		arc = math.Abs(math.Hypot(x, y) - c.ThreeArc)
	}
	gap := math.Min(straight, arc)
	if inside := x <= c.ThreeCorner && (y <= bend || math.Hypot(x, y) <= c.ThreeArc); inside {
		return -gap
	}
	return gap
}

// Zone is a coarse part of the floor, in the trade's words. It is meant for
// comparing two charters' spots, so there are few and none is small.
type Zone string

// The zones, nearest the basket first.
const (
	Rim           Zone = "rim"
	Paint         Zone = "paint"
	MidRange      Zone = "mid-range"
	CornerThree   Zone = "corner three"
	AboveTheBreak Zone = "above-the-break three"
	Backcourt     Zone = "backcourt"
	OutOfBounds   Zone = "out of bounds"
)

// rimReach stands for the no-charge arc where the rules draw none: the 4 ft of
// the other American rule sets, a judgement.
const rimReach = 4 * foot

// Zone names the part of the floor a spot lies in. The rim is the circle of the
// no-charge arc, the paint the lane, the corner runs up to [Court.CornerDepth].
func (c Court) Zone(x, y float64) Zone {
	reach := c.NoCharge
	if reach == 0 {
		reach = rimReach
	}
	fromEndLine := y + c.BasketToEndLine
	switch {
	case !c.Contains(x, y):
		return OutOfBounds
	case c.InBackcourt(y):
		return Backcourt
	case Distance(x, y) <= reach:
		return Rim
	case math.Abs(x) <= c.LaneWidth/2 && fromEndLine <= c.FreeThrow:
		return Paint
	case c.PastThreeLine(x, y) <= 0:
		return MidRange
	case fromEndLine <= c.CornerDepth:
		return CornerThree
	}
	return AboveTheBreak
}
