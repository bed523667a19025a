package audit

import (
	"fmt"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Defence is how far a team's defence was charted.
type Defence struct {
	Team    events.Token `json:"team"`
	Chances int          `json:"chances"` // it faced, in scope
	Charted int          `json:"charted"` // of them with at least one action
	Actions int          `json:"actions"`
	Nobody  int          `json:"nobody"`  // actions that are nobody's, such as a blown switch
	Unclear int          `json:"unclear"` // actions the film does not show
}

// Prospect is how far a one-player chart accounts for its player.
type Prospect struct {
	Player    events.Token `json:"player"`
	Chances   int          `json:"chances"`    // of the other team, as charted
	Acted     int          `json:"acted"`      // with an action of his
	NotTested int          `json:"not_tested"` // nothing was asked of him
	NotSeen   int          `json:"not_seen"`   // the film does not show him
	Unsaid    int          `json:"unsaid"`     // neither an action nor a word
	Actions   int          `json:"actions"`
}

func (r *review) defences() ([]Defence, *Prospect) {
	if r.scope.focus != "" {
		return []Defence{}, r.prospect()
	}
	out := make([]Defence, 0, 2)
	for _, team := range r.scope.teams {
		d := Defence{Team: team}
		r.eachTry(team, func(ch *replay.Chance) {
			d.Chances++
			d.Actions += ch.Actions
			if ch.Actions > 0 {
				d.Charted++
			}
			for _, a := range actionsOf(r.chart, ch) {
				if a.Defender == "" {
					d.Nobody++
				}
				if a.Reading == events.Unclear {
					d.Unclear++
				}
			}
		})
		out = append(out, d)
	}
	return out, nil
}

func (r *review) prospect() *Prospect {
	p := &Prospect{Player: r.scope.focus}
	r.eachTry(r.scope.teams[0], func(ch *replay.Chance) {
		p.Chances++
		n := r.ofProspect(ch)
		p.Actions += n
		switch {
		case n > 0:
			p.Acted++
		case ch.Focus == events.NotTested:
			p.NotTested++
		case ch.Focus == events.NotSeen:
			p.NotSeen++
		default:
			p.Unsaid++
		}
	})
	return p
}

// ofProspect counts the prospect's actions in a chance.
func (r *review) ofProspect(ch *replay.Chance) int {
	n := 0
	for _, a := range actionsOf(r.chart, ch) {
		if a.Defender == r.scope.focus {
			n++
		}
	}
	return n
}

// eachTry goes through the chances in scope that a team defended.
func (r *review) eachTry(team events.Token, do func(*replay.Chance)) {
	for i := range r.chart.Chances {
		if ch := &r.chart.Chances[i]; ch.Defence == team && ch.Opportunity() && r.scope.holds(ch) {
			do(ch)
		}
	}
}

func (r *review) checkDefence() {
	if r.scope.focus != "" {
		r.checkProspect()
		return
	}
	for _, team := range r.scope.teams {
		r.checkSilent(team)
	}
}

// checkSilent reports runs of chances that a team defended and in which nothing
// it did was charted. A ball thrown away asks nothing of anybody, so a run of
// such ends is a remark.
func (r *review) checkSilent(team events.Token) {
	var run []*replay.Chance
	flush := func() {
		if len(run) > 0 {
			r.silent(team, run)
		}
		run = nil
	}
	r.eachTry(team, func(ch *replay.Chance) {
		if len(run) > 0 && run[0].When.Period != ch.When.Period {
			flush()
		}
		if ch.Actions > 0 {
			flush()
			return
		}
		run = append(run, ch)
	})
	flush()
}

func (r *review) silent(team events.Token, run []*replay.Chance) {
	severity := replay.Remark
	for _, ch := range run {
		if !ch.Heave && ch.End != events.TurnoverEnd && ch.End != events.JumpBallEnd {
			severity = replay.Odd
		}
	}
	if len(run) >= r.limits.Run {
		severity = replay.Serious
	}
	first, last := run[0], run[len(run)-1]
	at := placeAt(first.When, first.ID, first.ID)
	text := fmt.Sprintf("no action of %s in 1 chance (%s)", team, heldBy(first))
	if len(run) > 1 {
		text = fmt.Sprintf("no action of %s in %d chances in a row, to %s", team, len(run), placeAt(last.When, "", ""))
	}
	r.grave(severity, DefenceSilent, at, "%s", text)
}

// checkProspect asks of a one-player chart that every chance says what became
// of him, and that it does not contradict itself.
func (r *review) checkProspect() {
	r.eachTry(r.scope.teams[0], func(ch *replay.Chance) {
		n := r.ofProspect(ch)
		at := placeAt(ch.When, ch.ID, ch.ID)
		switch {
		case n == 0 && ch.Focus == events.Acted:
			r.find(ProspectNoAction, at, "%s is said to have acted, and no action of his is charted", r.scope.focus)
		case n == 0 && ch.Focus == "":
			r.find(ProspectUnsaid, at, "the chance does not say what became of %s", r.scope.focus)
		case n > 0 && (ch.Focus == events.NotTested || ch.Focus == events.NotSeen):
			r.find(ProspectDisputed, at, "%s is said to be %s, and has %s", r.scope.focus, ch.Focus, few(n, "action"))
		}
		for _, a := range actionsOf(r.chart, ch) {
			if a.Defender != "" && a.Defender != r.scope.focus {
				r.find(OutsideScope, placeAt(a.When, ch.ID, a.ID), "an action of %s; the chart watches %s", a.Defender, r.scope.focus)
			}
		}
	})
}

// checkFloor looks for men who take part and are not in the line-up; the fold
// has done so for defenders. Only a line-up of five says who is not in it.
func (r *review) checkFloor() {
	short := map[string]bool{}
	for i := range r.chart.Chances {
		ch := &r.chart.Chances[i]
		if !r.scope.holds(ch) {
			continue
		}
		at := placeAt(ch.When, ch.ID, ch.ID)
		r.checkEnd(ch, at)
		for _, a := range actionsOf(r.chart, ch) {
			if off(a.Opponent, ch.OffenceFloor) && teamOf(r.chart.Info, a.Opponent) == ch.Offence {
				r.find(OpponentOffFloor, placeAt(a.When, ch.ID, a.ID), "%s is charted as an opponent and is not in the line-up", a.Opponent)
			}
		}
		if r.scope.focus != "" {
			continue
		}
		for _, five := range [][]events.Token{ch.OnFloor, ch.OffenceFloor} {
			key := fmt.Sprint(five)
			if len(five) > 0 && len(five) != 5 && !short[key] {
				short[key] = true
				r.find(LineupShort, at, "%d men in a line-up: %v", len(five), five)
			}
		}
	}
}

func (r *review) checkEnd(ch *replay.Chance, at Place) {
	rebounders := ch.OnFloor
	if ch.Rebound == events.Offence {
		rebounders = ch.OffenceFloor
	}
	for _, who := range []struct {
		player events.Token
		five   []events.Token
		did    string
	}{
		{ch.Shooter, ch.OffenceFloor, "shoots"}, {ch.LostBy, ch.OffenceFloor, "loses the ball"},
		{ch.BlockedBy, ch.OnFloor, "blocks the shot"}, {ch.StealBy, ch.OnFloor, "steals the ball"}, {ch.ReboundBy, rebounders, "takes the rebound"},
	} {
		if off(who.player, who.five) {
			r.find(EndOffFloor, at, "%s %s and is not in the line-up", who.player, who.did)
		}
	}
}

func off(player events.Token, five []events.Token) bool {
	return player != "" && len(five) == 5 && !slices.Contains(five, player)
}
