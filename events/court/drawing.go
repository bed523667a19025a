package court

import "math"

// Shape is one line of the drawing. Kind says which fields count:
//
//	segment  from (x, y) to (x2, y2)
//	rect     corners (x, y) and (x2, y2)
//	circle   centre (x, y), radius r
//	arc      centre (x, y), radius r, from angle a counter-clockwise to angle b,
//	         radians from the x axis toward the y axis
//
// A shape lies on the edge that the rules measure to, so that a drawn line shows
// where the rule bites; painted lines are 5 cm (2 in) wide on one side of it.
type Shape struct {
	Part string  `json:"part"` // which line of the court
	Kind string  `json:"kind"` // segment, rect, circle or arc
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	X2   float64 `json:"x2"`
	Y2   float64 `json:"y2"`
	R    float64 `json:"r"`
	A    float64 `json:"a"`
	B    float64 `json:"b"`
}

// HalfCourt gives the lines of the half that the offence attacks, the boundary
// first. The drawing spans x from -Width/2 to Width/2 and y from
// -BasketToEndLine to Length/2 - BasketToEndLine.
func (c Court) HalfCourt() []Shape {
	endLine := -c.BasketToEndLine
	halfway := c.Length/2 + endLine
	foul := c.FreeThrow + endLine
	board := c.BoardToEndLine + endLine

	shapes := []Shape{
		rect("boundary", -c.Width/2, endLine, c.Width/2, halfway),
		arc("centre circle", halfway, c.CircleSize, math.Pi, 2*math.Pi),
		rect("lane", -c.LaneWidth/2, endLine, c.LaneWidth/2, foul),
		arc("free-throw circle", foul, c.CircleSize, 0, math.Pi),
	}
	shapes = append(shapes, c.threeLine()...)
	if c.NoCharge > 0 {
		shapes = append(shapes,
			segment("no-charge arc", -c.NoCharge, board, -c.NoCharge, 0),
			arc("no-charge arc", 0, c.NoCharge, 0, math.Pi),
			segment("no-charge arc", c.NoCharge, 0, c.NoCharge, board))
	}
	return append(shapes,
		segment("backboard", -c.BoardWidth/2, board, c.BoardWidth/2, board),
		Shape{Part: "ring", Kind: "circle", R: c.RingRadius})
}

func (c Court) threeLine() []Shape {
	const part = "three-point line"
	endLine, bend := -c.BasketToEndLine, c.ArcMeetsStraight()
	turn := math.Atan2(bend, c.ThreeCorner)
	return []Shape{
		segment(part, c.ThreeCorner, endLine, c.ThreeCorner, bend),
		arc(part, 0, c.ThreeArc, turn, math.Pi-turn),
		segment(part, -c.ThreeCorner, bend, -c.ThreeCorner, endLine),
	}
}

func segment(part string, x, y, x2, y2 float64) Shape {
	return Shape{Part: part, Kind: "segment", X: x, Y: y, X2: x2, Y2: y2}
}

func rect(part string, x, y, x2, y2 float64) Shape {
	return Shape{Part: part, Kind: "rect", X: x, Y: y, X2: x2, Y2: y2}
}

// arc is centred on the line through both baskets, as every arc of a court is.
func arc(part string, y, r, a, b float64) Shape {
	return Shape{Part: part, Kind: "arc", Y: y, R: r, A: a, B: b}
}
