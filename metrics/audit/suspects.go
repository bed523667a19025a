package audit

import (
	"fmt"

	"stopledger/events"
	"stopledger/replay"
)

// suspect weighs what speaks for a chance having been charted wrongly in the
// way that delta would put right: its spot, and its players' official lines.
func (r *review) suspect(ch *replay.Chance, delta lines, official *events.TotalsEntered) Suspect {
	s := Suspect{Place: placeAt(ch.Finish, ch.ID, ch.ID), Text: heldBy(ch)}
	if !ch.Ended {
		s.Place, s.weight, s.Evidence = placeAt(ch.When, ch.ID, ch.ID), 2, "the chance has no end"
	}
	if d := delta[r.sideOf(ch.Offence)*10+3]; d != 0 {
		r.weighSpot(ch, d > 0, &s)
	}
	r.weighPlayer(ch, delta, official, &s)
	return s
}

// weighSpot holds a change of the shot's value against its spot.
func (r *review) weighSpot(ch *replay.Chance, toThree bool, s *Suspect) {
	if r.court == nil || ch.Spot == nil {
		return
	}
	past := r.court.PastThreeLine(ch.Spot.X, ch.Spot.Y)
	if !toThree {
		past = -past
	}
	text := "its spot is " + lineText(r.court, ch.Spot)
	switch {
	case past > 0:
		s.weight += 3
		s.Evidence = join(s.Evidence, text)
	case past > -0.5: // as good as a tap on the drawing
		s.weight++
		s.Evidence = join(s.Evidence, text)
	default:
		s.weight -= 2
	}
}

// weighPlayer holds the correction against the official line of the player it
// would change.
func (r *review) weighPlayer(ch *replay.Chance, delta lines, official *events.TotalsEntered, s *Suspect) {
	if official == nil || len(official.Players) == 0 {
		return
	}
	side := r.sideOf(ch.Offence)
	shooter := ch.Shooter
	if shooter == "" {
		shooter = ch.LostBy
	}
	for _, p := range []struct {
		player   events.Token
		from, to int // of its team's lines
		side     int
	}{{shooter, 0, 7, side}, {ch.ReboundBy, 7, 9, reboundSide(side, ch.Rebound)}} {
		theirs, known := official.Players[p.player]
		if p.player == "" || !known {
			continue
		}
		short := replay.Lines(theirs)
		for i, l := range replay.Lines(r.chart.Players[p.player]) {
			short[i].Value -= l.Value
		}
		touched, fits := false, true
		for i := p.from; i < p.to; i++ {
			d := int(delta[p.side*10+i])
			touched = touched || d != 0
			fits = fits && (d == 0 || short[i].Value*d > 0)
		}
		switch {
		case touched && fits:
			s.weight += 4
			s.Evidence = join(s.Evidence, fmt.Sprintf("%s's own line differs the same way", p.player))
		case touched:
			s.weight -= 4
		}
	}
}

func reboundSide(offence int, rebound events.Side) int {
	if rebound == events.Defence {
		return 1 - offence
	}
	return offence
}

// doubtful weighs what speaks for a chance having been charted twice.
func (r *review) doubtful(ch *replay.Chance) Suspect {
	s := Suspect{Place: placeAt(ch.When, ch.ID, ch.ID), Text: heldBy(ch)}
	for _, f := range r.found {
		if f.Place.Event == ch.ID && (f.Code == replay.ChancesOverlap || f.Code == replay.OffenceTwice || f.Code == ChancesAtOnce) {
			s.weight += 2
			s.Evidence = join(s.Evidence, f.Text)
		}
	}
	return s
}

// missingAt lists where a chance of a side may be missing: where the other
// team has the ball twice running, and where no chance covers the clock.
func (r *review) missingAt(side int) []Suspect {
	team := r.side(side)
	var out []Suspect
	for _, f := range r.found {
		if f.Code != replay.OffenceTwice {
			continue
		}
		for i := range r.chart.Chances {
			if ch := &r.chart.Chances[i]; ch.ID == f.Place.Event && ch.Offence != team {
				out = append(out, Suspect{f.Place, "before this chance", f.Text, 3})
			}
		}
	}
	for _, g := range r.gaps {
		weight := 1.0
		if g.seconds() < r.limits.Long {
			weight = 2 // room for one chance or two, not for a stretch of the game
		}
		out = append(out, Suspect{g.place, "in this stretch", fmt.Sprintf("no chance covers the clock from %s to %s", clockText(g.high), clockText(g.low)), weight})
	}
	return out
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
