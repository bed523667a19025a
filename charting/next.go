package charting

import (
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Next is what may come next and what it defaults to.
type Next struct {
	Commands []events.Type // the types of event that may be charted now
	Open     events.ID     // the chance that has begun and not ended, or ""
	Offence  events.Token  // whose chance comes next, or is open; "" when nobody can tell
	Origin   events.Origin // how it comes about
	Defender events.Token  // who is most likely meant: the last one, or the focus
	Matchups map[events.Token]events.Token
}

// Opponent is the man a defender guards, or "" when that is not known: the
// last he was charted on.
func (n Next) Opponent(defender events.Token) events.Token { return n.Matchups[defender] }

// Next says what may come next, from the chart as it stands.
func (s *Session) Next() Next {
	c := s.Chart()
	n := Next{Matchups: make(map[events.Token]events.Token)}
	if c.Info.Home.ID == "" {
		n.Commands = []events.Type{"game-opened"}
		return n
	}
	n.Open = c.Now.Open
	n.Commands = []events.Type{
		"game-opened", "chart-scoped", "film-linked", "film-anchored", "lineup-set", "substituted", "scheme-set",
		"penalty-shots", "score-noted", "noted", "totals-entered", "chart-adopted",
	}
	switch {
	case n.Open != "":
		n.Commands = append(n.Commands, "action", "chance-ended")
	case !c.Closed:
		n.Commands = append(n.Commands, "chance-began", "game-closed")
	}
	if len(c.Chances) > 0 {
		n.Commands = append(n.Commands, "shots-taken", "amended", "voided", "reassigned", "chance-merged")
	}
	slices.Sort(n.Commands)
	n.Offence, n.Origin = s.nextBall(c)
	n.whoGuards(c)
	return n
}

// whoGuards reads the match-ups off the actions charted so far, and the
// defender of the last of them.
func (n *Next) whoGuards(c *replay.Chart) {
	defence := other(c, n.Offence)
	var latest events.ID
	seen := make(map[events.Token]events.ID)
	for _, a := range c.Actions {
		if a.Defender == "" {
			continue
		}
		if a.Opponent != "" && a.ID > seen[a.Defender] {
			seen[a.Defender], n.Matchups[a.Defender] = a.ID, a.Opponent
		}
		if a.ID > latest && (defence == "" || teamOf(c, a.Defender) == defence) {
			latest, n.Defender = a.ID, a.Defender
		}
	}
	if c.Scope.Focus != "" {
		n.Defender = c.Scope.Focus
	}
}

// nextBall infers the next chance's side and origin from how the last ended.
func (s *Session) nextBall(c *replay.Chart) (events.Token, events.Origin) {
	offence, origin := events.Token(""), events.Origin("")
	period := s.when.Period
	last := lastChance(c)
	switch {
	case last == nil || period > 0 && period != last.When.Period:
		origin = events.FromDeadBall
		if period <= 1 || c.Info.Rules.Overtime(period) {
			origin = events.FromJump
		}
	case !last.Ended:
		return last.Offence, last.Origin
	default:
		offence, origin = afterEnd(last)
		if p := lastPenalty(c); p != nil && p.ID > last.Finished.Revision && p.BallAfter != "" && p.BallAfter != offence {
			offence, origin = p.BallAfter, events.FromDeadBall
		}
	}
	// A chart of one end holds only what that team defends.
	if c.Scope.Ends == events.OneEnd || c.Scope.Focus != "" {
		team := c.Scope.Team
		if team == "" {
			team = teamOf(c, c.Scope.Focus)
		}
		if them := other(c, team); them != "" {
			if offence != them {
				origin = ""
			}
			offence = them
		}
	}
	return offence, origin
}

func lastChance(c *replay.Chart) *replay.Chance {
	if len(c.Chances) == 0 {
		return nil
	}
	return &c.Chances[len(c.Chances)-1]
}

func lastPenalty(c *replay.Chart) *replay.Penalty {
	if len(c.Penalties) == 0 {
		return nil
	}
	return &c.Penalties[len(c.Penalties)-1]
}

// afterEnd is who has the ball behind an ended chance, and how he came by it.
func afterEnd(c *replay.Chance) (events.Token, events.Origin) {
	switch c.Ball {
	case events.Offence:
		return c.Offence, originAfter(c, events.OffensiveRebound)
	case events.Defence:
		return c.Defence, originAfter(c, events.DefensiveRebound)
	}
	if c.End == events.JumpBallEnd {
		return "", events.FromJump
	}
	return "", ""
}

func originAfter(c *replay.Chance, byRebound events.Origin) events.Origin {
	switch {
	case c.End == events.TurnoverEnd && (c.StealBy != "" || c.Turnover == "steal"):
		return events.FromSteal
	case c.End == events.TurnoverEnd, c.TeamBoard:
		return events.FromDeadBall
	case c.End == events.JumpBallEnd:
		return events.FromJump
	case c.Rebound == events.Offence || c.Rebound == events.Defence:
		return byRebound
	}
	return events.FromMake
}

func other(c *replay.Chart, team events.Token) events.Token {
	switch team {
	case "":
		return ""
	case c.Info.Home.ID:
		return c.Info.Away.ID
	case c.Info.Away.ID:
		return c.Info.Home.ID
	}
	return ""
}

func teamOf(c *replay.Chart, player events.Token) events.Token {
	for _, p := range c.Info.Players {
		if p.ID == player {
			return p.Team
		}
	}
	return ""
}
