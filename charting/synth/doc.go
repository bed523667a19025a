// Package synth invents a season of which the truth is known: a league of
// eight invented teams, games that add up, and charts of them with the slips
// that charters make. Estimates are tested against [Season.Truth]; demos show
// its numbers. Everything in it is marked as invented.
//
// Begin with [New], stream [Season.Events] into a ledger or a file, and keep
// [Season.People] and [Season.Truth] beside it. The same [Options] give the
// same bytes, and a longer season begins with the games of a shorter one.
//
// # How a season is made
//
// A game is played first and charted afterwards, by dice of their own; charts
// differ, what happened does not.
//
// Readings. A defender d asked to do kind k against an opponent of role r, in
// a scheme s (base and principle), is even with probability even_k, else held
// with probability
//
//	logistic(mu_k + own_{role of d,k} + alpha_d + beta_{d,k} + facing_{r,k} + scheme_{s,k})
//
// and else broken. Nothing else moves a reading: not the action before it, not
// the score, not fatigue, not whether he came by a switch. That is simpler than
// basketball, so that an estimate has a truth to be compared with.
//
// Chances. Possession runs as the rules say: a make gives the ball away, an
// offensive rebound begins another chance, free throws, held balls and period
// ends settle who is next. How the ball was won chooses the tempo; handler,
// play and what follows are drawn by role and scheme: a ball screen with its
// coverage, a drive, help from one pass away or the weak side, a closeout, a
// contest, a box-out when the shot misses. At most five are charted.
//
// Results. Each reading pushes the offence's advantage up or down (a broken
// drive costs 0.85). A shot goes in with log-odds of its place, plus the
// advantage, plus the shooter's skill, less the presence of those defenders
// who had no part in the chance, plus the luck of those who had. So readings
// make results likely and do not decide them; the presence of team-mates and luck
// belong to no defender's technique. An outcome may end a chance by itself (a
// strip, a charge, a foul), and an advantage finds a better shot.
//
// Stories. One wing's results flatter his technique, another's belittle it,
// one big holds guards after switches and one does not, three men a team are
// seen in a handful of clips. [PlayerTruth] names them.
//
// Charts. The main chart reads every action as it was. Of those that were not
// whistled one in fifty is "unclear", which lifts the share of fouls among the
// broken by a hair, and one in twenty-five has a reading and no word. It holds slips and what
// put them right (amended once or twice, voided, voided and restored, a clock
// corrected, a shirt number misread over a stretch and reassigned, a chance
// begun twice and merged, an action remembered late), and in some games one that
// was never put right, listed under [Truth.Planted]. A second chart departs
// from the truth by its charter's habits, see [CharterTruth]. A focus chart
// follows one player. Official totals are counted from what happened, never
// from a chart.
//
// All sizes, rates and effects are invented; their signs are common practice,
// no source.
package synth
