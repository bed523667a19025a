package synth

import (
	"math"

	"stopledger/events"
)

// FIBA's three-point line: 6.75 m from under the basket, and straight along
// the sidelines at 6.60 m (FIBA Official Basketball Rules 2024, article 2).
const (
	arc    = 6.75
	corner = 6.60
)

// place is a spot between lo and hi metres from the basket and between two
// angles, in degrees off the floor's long axis, on either side.
func place(d dice, from, to, lo, hi float64) *events.Spot {
	angle := d.between(from, to) * math.Pi / 180
	if d.odds(0.5) {
		angle = -angle
	}
	r := d.between(lo, hi)
	x := max(-7.4, min(7.4, r*math.Sin(angle)))
	return &events.Spot{X: tenth(x), Y: tenth(max(-1.4, r*math.Cos(angle)))}
}

// beyond is a spot behind the three-point line: a quarter from the corners.
func beyond(d dice) *events.Spot {
	if d.odds(0.25) {
		s := &events.Spot{X: tenth(d.between(corner+0.15, 7.2)), Y: tenth(d.between(-1, 1.2))}
		if d.odds(0.5) {
			s.X = -s.X
		}
		return s
	}
	return place(d, 0, 68, arc+0.2, arc+1.3)
}

// shotSpot is where a shot of a kind is taken from.
func shotSpot(d dice, s shot) *events.Spot {
	switch s {
	case three:
		return beyond(d)
	case middle:
		return place(d, 0, 85, 2.6, 6.3)
	case hook:
		return place(d, 20, 85, 1.2, 3)
	}
	return place(d, 0, 80, 0.3, 1.6)
}

// askSpot is where a kind of thing is asked of a defender.
func askSpot(d dice, kind int) *events.Spot {
	switch kind {
	case post:
		return place(d, 20, 80, 1.5, 3.5)
	case boxOut, rotation:
		return place(d, 0, 80, 1, 3.5)
	case transition:
		return place(d, 0, 40, 4, 12)
	case contest:
		return nil // the shot's own spot says it
	}
	return place(d, 0, 75, 4.5, 8)
}
