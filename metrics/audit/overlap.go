package audit

import (
	"fmt"

	"stopledger/replay"
)

// The least that makes two charts comparable; judgements. Two charts of one game
// seldom differ on ends and shooters; two games, aligned as well as they can be,
// agree on some.
const (
	leastShare    = 0.3 // of the smaller chart's chances that must meet
	leastForEnds  = 12  // chances that must meet before their ends can speak
	leastEndKappa = 0.5 // agreement of ends beyond chance in charts of one game
	leastShooters = 0.6 // share of shooters alike in charts of one game
)

// apartAltogether says why the charts do not meet, or "".
func (p *pairing) apartAltogether() string {
	a, b := len(p.chances)+len(p.onlyA), len(p.chances)+len(p.onlyB)
	both := len(p.chances)
	switch {
	case a == 0 || b == 0:
		name := p.a.Name
		if b == 0 {
			name = p.b.Name
		}
		return fmt.Sprintf("no overlap: chart %s holds no chance of %s", name, p.common)
	case both == 0:
		return fmt.Sprintf("no overlap: no chance of the one meets one of the other (%s holds %s, %s holds %s)",
			p.a.Name, stretch(p.a), p.b.Name, stretch(p.b))
	case float64(both) < leastShare*float64(min(a, b)):
		return fmt.Sprintf("hardly any overlap: %d chances meet, of %d in %s and %d in %s; another game, or clocks that do not fit", both, a, p.a.Name, b, p.b.Name)
	}
	if kappa, shooters, told := p.sameEnds(); told && kappa < leastEndKappa && shooters < leastShooters {
		return fmt.Sprintf("two different games, it seems: %d chances meet by the clock, and their ends and shooters do not agree", both)
	}
	return ""
}

// stretch says from which period to which a chart holds chances.
func stretch(c *replay.Chart) string {
	first, last := c.Chances[0].When.Period, c.Chances[len(c.Chances)-1].When.Period
	if first == last {
		return fmt.Sprintf("period %d", first)
	}
	return fmt.Sprintf("periods %d to %d", first, last)
}

// sameEnds is how far the ends of matched chances agree beyond chance, and the
// share of shooters alike; told is false for too few chances.
func (p *pairing) sameEnds() (kappa, shooters float64, told bool) {
	j := newJudging("end", nil)
	alike, named := 0, 0
	for i, l := range p.chances {
		a, b := &p.a.Chances[l.a], &p.b.Chances[l.b]
		if a.Ended && b.Ended {
			j.add(i, 0, string(a.End), string(b.End))
		}
		if a.Shooter != "" && b.Shooter != "" {
			named++
			if a.Shooter == b.Shooter {
				alike++
			}
		}
	}
	kappa, told = j.kappa(j.table(nil))
	return kappa, float64(alike) / float64(max(named, 1)), told && len(j.cells) >= leastForEnds
}
