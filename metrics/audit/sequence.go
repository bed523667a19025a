package audit

import (
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/replay"
)

// checkFouls sets the fouls charted beside the free throws. A one-player chart
// holds one man's fouls, so it is asked only for the shots after his own.
func (r *review) checkFouls() {
	r.eachScoped(func(ch *replay.Chance) {
		at := placeAt(ch.When, ch.ID, ch.ID)
		fouled := false
		for _, a := range actionsOf(r.chart, ch) {
			if a.Outcome != events.Fouled {
				continue
			}
			fouled = true
			if a.Details.First("foul") == "shooting" && ch.Attempted == 0 && ch.Ended && ch.End != events.FreeThrowEnd {
				r.find(FoulWithoutShots, placeAt(a.When, ch.ID, a.ID), "%s is charted with a shooting foul, and the chance has no free throws", orNobody(a.Defender))
			}
		}
		if ch.Attempted > 0 && !fouled && ch.Actions > 0 && r.scope.focus == "" {
			r.find(ShotsWithoutFoul, at, "%s, and no foul among %s", heldBy(ch), few(ch.Actions, "action"))
		}
		if ch.End.Shot() && ch.Attempted > 1 {
			r.find(AndOneShots, at, "%s", heldBy(ch))
		}
	})
}

func orNobody(player events.Token) string {
	if player == "" {
		return "nobody"
	}
	return string(player)
}

// eachScoped goes through the chances in scope.
func (r *review) eachScoped(do func(*replay.Chance)) {
	for i := range r.chart.Chances {
		if ch := &r.chart.Chances[i]; r.scope.holds(ch) {
			do(ch)
		}
	}
}

// checkSequence compares neighbouring chances. Only a chart of both ends knows
// what came directly before; a technical's shots in between change the ball.
func (r *review) checkSequence() {
	if !r.scope.both() {
		return
	}
	var before *replay.Chance
	r.eachScoped(func(ch *replay.Chance) {
		if before != nil && before.Ended && before.When.Period == ch.When.Period && !r.penaltyBetween(before, ch) {
			r.checkNeighbours(before, ch)
		}
		before = ch
	})
}

func (r *review) penaltyBetween(before, ch *replay.Chance) bool {
	for _, p := range r.chart.Penalties {
		at := momentOf(p.When, 0)
		if !at.before(momentOf(before.When, 0)) && !momentOf(ch.When, 0).before(at) {
			return true
		}
	}
	return false
}

func (r *review) checkNeighbours(before, ch *replay.Chance) {
	at := placeAt(ch.When, ch.ID, ch.ID)
	missed := before.End.Missed() || before.Attempted > before.Made
	if before.Rebound == events.Offence && ch.Offence != before.Offence {
		r.find(ReboundContradict, at, "%s have the ball after an offensive rebound of %s", ch.Offence, before.Offence)
		return
	}
	same, wrong := ch.Offence == before.Offence, false
	switch ch.Origin {
	case events.OffensiveRebound:
		wrong = !same || !missed || before.Rebound == events.Defence
	case events.DefensiveRebound:
		wrong = same || !missed
	case events.FromMake:
		wrong = same || before.Points == 0
	case events.FromSteal:
		wrong = same || before.End != events.TurnoverEnd
	}
	if wrong && !r.chanceMissing(ch) {
		r.find(OriginContradicts, at, "a chance of %s from %q after %s of %s", ch.Offence, ch.Origin, heldBy(before), before.Offence)
	}
}

// chanceMissing reports whether another finding already says that a chance is
// missing before this one.
func (r *review) chanceMissing(ch *replay.Chance) bool {
	return r.gapBefore(ch) || slices.ContainsFunc(r.found, func(f Finding) bool {
		return f.Place.Event == ch.ID && (f.Code == replay.OffenceTwice || f.Code == replay.ChancesOverlap || f.Code == ChancesAtOnce)
	})
}

// checkActions looks for actions that cannot be with the end of their chance,
// with its clock, or beside each other.
func (r *review) checkActions() {
	r.eachScoped(func(ch *replay.Chance) {
		list := actionsOf(r.chart, ch)
		for i := range list {
			r.checkAction(ch, &list[i])
			for j := range list[:i] {
				if doubleTap(&list[j], &list[i]) {
					r.find(ActionTwice, placeAt(list[i].When, ch.ID, list[i].ID), "%s, twice within two seconds", actionText(&list[i]))
				}
			}
		}
	})
}

func (r *review) checkAction(ch *replay.Chance, a *replay.Action) {
	at := placeAt(a.When, ch.ID, a.ID)
	missed := ch.End.Missed() || ch.Attempted > ch.Made
	switch {
	case !ch.Ended:
	case a.Outcome == "blocked" && ch.Points > 0 && ch.End.Shot():
		r.find(BlockedAndMade, at, "%s blocked the shot, and the end is %s", orNobody(a.Defender), ch.End)
	case a.Outcome == events.ChargeDrawn && ch.End != events.TurnoverEnd:
		r.find(ChargeNotEnd, at, "%s drew a charge, and the end is %s", orNobody(a.Defender), ch.End)
	case a.Kind == events.BoxOut && !missed:
		r.find(BoxOutNoMiss, at, "%s, and the end is %s", actionText(a), heldBy(ch))
	}
	if out := outside(ch, a); out > r.limits.Outside {
		r.find(ActionOutside, at, "%s lies %.0f seconds outside its chance", actionText(a), out)
	}
}

// outside is how many seconds an action lies before its chance or behind it. A
// box-out may last until the ball is taken, which the limit allows for.
func outside(ch *replay.Chance, a *replay.Action) float64 {
	if a.When.Clock == nil || a.When.Period != ch.When.Period {
		return 0
	}
	far := 0.0
	if ch.When.Clock != nil {
		far = max(far, *a.When.Clock-*ch.When.Clock)
	}
	if end := ended(ch); end != nil {
		far = max(far, *end-*a.When.Clock)
	}
	return far
}

// doubleTap reports whether two actions are one tap that counted twice: alike,
// by one hand, recorded within two seconds.
func doubleTap(a, b *replay.Action) bool {
	if a.Kind != b.Kind || a.Defender != b.Defender || a.Opponent != b.Opponent || a.Outcome != b.Outcome || a.Mark.Pad != b.Mark.Pad {
		return false
	}
	first, ok := a.ID.Minted()
	second, also := b.ID.Minted()
	return ok && also && second.Sub(first).Abs().Seconds() < 2
}

// checkSpots compares the value of a shot with where it was taken.
func (r *review) checkSpots() {
	if r.court == nil {
		return
	}
	r.eachScoped(func(ch *replay.Chance) {
		if ch.Spot == nil || !ch.End.Shot() || ch.Heave {
			return
		}
		points := 2
		if ch.End.Three() {
			points = 3
		}
		if worth := r.court.Worth(ch.Spot.X, ch.Spot.Y); !worth.Allows(points) {
			r.find(SpotContradicts, placeAt(ch.Finish, ch.ID, ch.ID), "%s, and its spot is %s", heldBy(ch), lineText(r.court, ch.Spot))
		}
	})
}

// lineText says where a spot lies against the three-point line.
func lineText(c *court.Court, s *events.Spot) string {
	past := c.PastThreeLine(s.X, s.Y)
	if past > 0 {
		return fmt.Sprintf("%.1f m behind the three-point line", past)
	}
	return fmt.Sprintf("%.1f m inside the three-point line", -past)
}

// actionText says an action in the order a coach would: "drive, mil-12 on
// hbr-3: beaten".
func actionText(a *replay.Action) string {
	text := string(a.Kind) + ", " + orNobody(a.Defender)
	if a.Opponent != "" {
		text += " on " + string(a.Opponent)
	}
	return text + ": " + string(a.Outcome)
}

func freeThrows(made, attempted int) string {
	return fmt.Sprintf(", %d of %d free throws", made, attempted)
}
