package outline_test

import (
	"fmt"
	"strings"

	"stopledger/charting/outline"
	"stopledger/events"
)

// printOutline writes an outline as a coach would read it: one line a chance,
// from where to where on the clock, whose, how it began and how it ended; free
// throws outside chances and line-ups between them; remarks at the end.
func printOutline(list []events.Event, remarks []outline.Remark) string {
	var b strings.Builder
	began := make(map[events.ID]events.Event)
	for _, e := range list {
		switch body := e.Body.(type) {
		case *events.LineupSet:
			fmt.Fprintf(&b, "%s %4s        %s on the floor: %s\n", period(e), clock(e), body.Team, tokens(body.Players))
		case *events.Substituted:
			fmt.Fprintf(&b, "%s %4s        %s: %s in, %s out\n", period(e), clock(e), body.Team, or(body.In, "nobody"), or(body.Out, "nobody"))
		case *events.ChanceBegan:
			began[e.ID] = e
		case *events.ChanceEnded:
			start := began[body.Chance]
			c := start.Body.(*events.ChanceBegan)
			fmt.Fprintf(&b, "%s %4s-%-4s   %s, %s: %s\n", period(e), clock(start), clock(e), c.Offence, or(c.Origin, "unexplained"), ending(body))
		case *events.ShotsTaken:
			fmt.Fprintf(&b, "%s %4s        and %d of %d free throws by %s%s\n", period(e), clock(e), body.Made, body.Attempted, or(body.Shooter, "?"), board(events.Side(body.Last), body.ReboundBy, body.TeamRebound))
		case *events.PenaltyShots:
			fmt.Fprintf(&b, "%s %4s        %s: %d of %d for a %s foul, by %s; ball after: %s\n", period(e), clock(e), body.Team, body.Made, body.Attempted, body.Why, or(body.Shooter, "?"), or(body.BallAfter, "nobody yet"))
		case *events.GameClosed:
			fmt.Fprintf(&b, "closed\n")
		}
	}
	for _, r := range remarks {
		fmt.Fprintf(&b, "! %s\n", r)
	}
	return b.String()
}

func period(e events.Event) string { return fmt.Sprintf("P%d", e.When.Period) }
func clock(e events.Event) string  { return fmt.Sprintf("%g", *e.When.Clock) }

func or[T ~string](s T, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return string(s)
}

func tokens(list []events.Token) string {
	words := make([]string, len(list))
	for i, t := range list {
		words[i] = string(t)
	}
	return strings.Join(words, " ")
}

func ending(c *events.ChanceEnded) string {
	text := string(c.End)
	if c.Turnover != "" {
		text += " (" + string(c.Turnover) + ")"
	}
	if who := c.Shooter + c.LostBy; who != "" {
		text += " by " + string(who)
	}
	if c.BlockedBy != "" {
		text += ", blocked by " + string(c.BlockedBy)
	}
	if c.StealBy != "" {
		text += ", stolen by " + string(c.StealBy)
	}
	if c.Attempted > 0 {
		text += fmt.Sprintf(", %d of %d free throws", c.Made, c.Attempted)
	}
	if c.Next != "" {
		text += ", ball to the " + string(c.Next)
	}
	return text + board(c.Rebound, c.ReboundBy, c.TeamRebound)
}

func board(side events.Side, by events.Token, team bool) string {
	switch {
	case side == "made" || side == "":
		return ""
	case side == events.Dead:
		return ", the ball went dead"
	case team:
		return ", out of bounds to the " + string(side)
	}
	return fmt.Sprintf(", rebound %s %s", side, by)
}
