package outline

import (
	"fmt"

	"stopledger/events"
)

// chance is a chance as the walk finds it.
type chance struct {
	offence events.Token
	origin  events.Origin
	from    float64 // the clock it began at
	opened  int     // place of the row that gave its side the ball
	at      int     // place of the row that ended it
	end     events.ChanceEnded
	andOne  *trip // a free throw of another man after the made shot
}

// ball is who has it, and how and when he came by it.
type ball struct {
	team   events.Token // "" when the rows leave it open
	origin events.Origin
	from   float64
	pos    int
}

// walker goes through a game's plays and keeps track of the ball.
type walker struct {
	*reading
	ball    ball
	last    *chance // of this period
	lastTry *try    // that ended it, while nothing came after
	chances []*chance
}

func (rd *reading) walk() []*chance {
	w := &walker{reading: rd}
	tries, strays, penalties := rd.tries, rd.strays, rd.penalties
	for i := range rd.rows {
		r := &rd.rows[i]
		if i == 0 || r.period != rd.rows[i-1].period {
			w.startPeriod(i)
		}
		switch {
		case len(tries) > 0 && tries[0].pos == i:
			w.try(tries[0])
			tries = tries[1:]
		case len(strays) > 0 && strays[0] == i:
			w.stray(i)
			strays = strays[1:]
		case len(penalties) > 0 && penalties[0].at[0] == i:
			w.penalty(penalties[0])
			penalties = penalties[1:]
		case r.play == jumpBall:
			w.jump(i)
		}
		if i+1 == len(rd.rows) || rd.rows[i+1].period != r.period {
			w.endPeriod(i)
		}
	}
	return w.chances
}

func (w *walker) startPeriod(pos int) {
	r := &w.rows[pos]
	w.ball = ball{origin: events.FromDeadBall, from: r.clock, pos: pos - 1}
	w.last, w.lastTry = nil, nil
}

// begin opens the chance that a row at a place ends for a team.
func (w *walker) begin(team events.Token, pos int) *chance {
	w.settleMiss(team)
	c := &chance{offence: team, origin: w.ball.origin, from: w.ball.from, opened: w.ball.pos, at: pos}
	if w.ball.team != "" && w.ball.team != team {
		r := &w.rows[pos]
		w.remark(r.line, fmt.Sprintf("%s by %s, though %s had the ball and no row says how it was lost; kept as a chance of its own", r.play, team, w.ball.team))
		c.origin, c.from, c.opened = "", r.clock, pos-1
	}
	if c.origin == events.FromMake && w.last != nil && w.last.offence == team {
		c.origin = events.FromDeadBall // the scorers kept the ball
	}
	w.chances = append(w.chances, c)
	w.last = c
	return c
}

// settleMiss says who got a miss that has no rebound row: the side that plays
// next. No official count has it, so it is the team's.
func (w *walker) settleMiss(next events.Token) {
	t := w.lastTry
	if t == nil || !t.missed() || t.rebound != nil {
		return
	}
	w.last.end.TeamRebound = true
	w.last.end.Rebound = sideOf(next, t.team)
	if !w.whistled(t.lastAt(), w.nextAt(t)) {
		w.remark(t.line, fmt.Sprintf("a miss without a rebound row; %s plays next, so the ball went to %s", next, next))
	}
	w.lastTry = nil
}

// nextAt is the place of the try after another.
func (w *walker) nextAt(t *try) int {
	if i := w.at(t.pos) + 1; i < len(w.tries) {
		return w.tries[i].pos
	}
	return len(w.rows)
}

func sideOf(team, offence events.Token) events.Side {
	if team == offence {
		return events.Offence
	}
	return events.Defence
}

// try ends a chance with a shot, a trip to the line or a turnover.
func (w *walker) try(t *try) {
	pos := t.pos
	if t.trip != nil && t.trip.cause >= 0 && t.trip.cause < pos && (w.last == nil || t.trip.cause > w.last.at) {
		// The foul ended it; substitutions between foul and line came after.
		pos = t.trip.cause
	}
	c := w.begin(t.team, pos)
	c.end.End = endOf(t)
	switch {
	case t.play == turnover:
		c.end.LostBy, c.end.StealBy = t.player, t.by
		if t.by != "" {
			c.end.Turnover = "steal"
		}
	case t.trip != nil:
		c.end.Shooter, c.end.Made, c.end.Attempted = t.player, t.trip.made, t.trip.attempted()
	default:
		c.end.Shooter = t.player
		w.block(c, t)
	}
	if one := t.andOne; one != nil {
		if one.player == t.player {
			c.end.Made, c.end.Attempted = one.made, one.attempted()
		} else {
			c.andOne = one
		}
	}
	w.lastTry = t
	w.after(c, t)
}

func (w *walker) block(c *chance, t *try) {
	switch {
	case t.by == "":
	case t.made:
		w.remark(t.line, fmt.Sprintf("%q beside a made shot is no blocker; left out", t.by))
	default:
		c.end.BlockedBy = t.by
	}
}

func endOf(t *try) events.End {
	switch {
	case t.play == turnover:
		return events.TurnoverEnd
	case t.trip != nil:
		return events.FreeThrowEnd
	case t.play == shot2 && t.made:
		return events.Made2
	case t.play == shot3 && t.made:
		return events.Made3
	case t.play == shot2:
		return events.Missed2
	}
	return events.Missed3
}

// after works out who has the ball once a try is over.
func (w *walker) after(c *chance, t *try) {
	other := w.feed.other(t.team)
	end := &w.rows[t.lastAt()]
	w.ball = ball{team: other, origin: events.FromMake, from: min(end.clock, t.clock), pos: t.lastAt()}
	kept := t.andOne != nil && t.andOne.keepsBall || t.trip != nil && w.maybeKept(t)
	switch {
	case t.rebound != nil:
		w.rebounded(c, t)
	case t.missed():
		w.ball.team, w.ball.origin = "", events.FromDeadBall
	case t.play == turnover && t.by != "":
		w.ball.origin = events.FromSteal
	case t.play == turnover:
		w.ball.origin = events.FromDeadBall
	case kept:
		w.ball.team = ""
	}
}

// maybeKept reports whether the shooting side may have kept the ball after its
// trip, made or not: a single throw that followed no made shot, for a foul away
// from the play.
func (w *walker) maybeKept(t *try) bool {
	return t.trip.keepsBall || t.trip.n <= 1 && t.trip.attempted() == 1
}

func (w *walker) rebounded(c *chance, t *try) {
	r := t.rebound
	side := sideOf(r.team, t.team)
	c.end.Rebound, c.end.ReboundBy = side, r.player
	w.ball = ball{team: r.team, from: min(r.clock, w.ball.from), pos: t.rebAt, origin: events.DefensiveRebound}
	if side == events.Offence {
		w.ball.origin = events.OffensiveRebound
	}
	if !r.teamRebound() {
		return
	}
	c.end.TeamRebound, c.end.ReboundBy = true, ""
	w.ball.origin = events.FromDeadBall // nobody took it: it is thrown in
	if r.clock == 0 && !w.triesAfter(t) {
		// The horn went while the ball was loose; the row is bookkeeping.
		c.end.Rebound, c.end.TeamRebound = events.Dead, false
		w.ball.team = ""
	}
}

// triesAfter reports whether the period goes on after a try.
func (w *walker) triesAfter(t *try) bool {
	i := w.at(t.pos) + 1
	return i < len(w.tries) && w.tries[i].period == t.period
}

// nextTeam is the side that plays next in the period after a place, or "".
func (w *walker) nextTeam(pos int) events.Token {
	if i := w.at(pos + 1); i < len(w.tries) && w.tries[i].period == w.rows[pos].period {
		return w.tries[i].team
	}
	return ""
}

// jump ends the chance of whoever has the ball. The row does not say who won
// it: the side that plays next did.
func (w *walker) jump(pos int) {
	r := &w.rows[pos]
	if t := w.lastTry; t != nil && t.missed() && t.rebound == nil {
		w.ball = ball{origin: events.FromJump, from: r.clock, pos: pos}
		return
	} else if t != nil && t.missed() && t.rebAt > pos {
		return // it settles who rebounds, and the rebound is told below
	}
	if w.ball.origin == events.FromJump && w.ball.from-r.clock <= tipIn {
		return // tossed again
	}
	next := w.nextTeam(pos)
	if holder := w.ball.team; holder != "" {
		c := w.begin(holder, pos)
		c.end.End = events.JumpBallEnd
		if next != "" {
			c.end.Next = sideOf(next, holder)
		}
		w.lastTry = nil
	}
	w.ball = ball{team: next, origin: events.FromJump, from: r.clock, pos: pos}
}

// penalty leaves the chance open; who is fouled flagrantly or on a clear path
// has the ball afterwards, whoever had it before.
func (w *walker) penalty(t *trip) {
	if !t.keepsBall || w.ball.team == t.team {
		return
	}
	last := t.at[len(t.at)-1]
	i := w.at(last)
	lost := i < len(w.tries) && w.tries[i].play == turnover && w.tries[i].team == w.ball.team && w.tries[i].period == t.period && t.clock-w.tries[i].clock <= 1
	if !lost { // else the turnover's row follows and says it
		w.ball = ball{team: t.team, origin: events.FromDeadBall, from: w.rows[last].clock, pos: last}
	}
}

// stray keeps a rebound that no row's miss explains. The official count has
// it, so it needs a chance to stand in: one whose try nobody recorded.
func (w *walker) stray(pos int) {
	r := &w.rows[pos]
	offence := w.feed.other(r.team)
	if w.ball.team == r.team {
		offence = r.team
	}
	w.remark(r.line, "a rebound of no recorded miss; kept in a chance without a try, so that it counts")
	c := w.begin(offence, pos)
	side := sideOf(r.team, offence)
	c.end = events.ChanceEnded{End: events.FreeThrowEnd, Rebound: side, ReboundBy: r.player}
	w.lastTry = nil
	w.ball = ball{team: r.team, origin: events.DefensiveRebound, from: r.clock, pos: pos}
	if side == events.Offence {
		w.ball.origin = events.OffensiveRebound
	}
}

// endPeriod closes the chance of a side that had the ball and some time, and
// did not try.
func (w *walker) endPeriod(pos int) {
	r := &w.rows[pos]
	if t := w.lastTry; t != nil && t.missed() && t.rebound == nil {
		if r.play == periodEnd || pos+1 < len(w.rows) {
			w.last.end.Rebound = events.Dead
		}
		return
	}
	if r.play != periodEnd || w.ball.team == "" || w.ball.from <= r.clock {
		return
	}
	c := w.begin(w.ball.team, pos)
	c.end.End = events.PeriodEnd
}
