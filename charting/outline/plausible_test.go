package outline_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stopledger/charting/outline"
	"stopledger/events"
)

// scorer plays a game by chance and writes it down as an official scorer
// would, bad habits included. It keeps the truth beside it: the box score, and
// every chance.
type scorer struct {
	t      *rapid.T
	rows   []string
	truth  map[string]*events.Totals
	tries  []string // "a made-2", in the order of play
	period int
	clock  int
	ball   string // A or B
	shown  bool   // the rows show who has it
}

func (s *scorer) chance(percent int, what string) bool {
	return rapid.IntRange(0, 99).Draw(s.t, what) < percent
}

func (s *scorer) man(team string) string {
	return fmt.Sprintf("%s%d", strings.ToLower(team), rapid.IntRange(1, 5).Draw(s.t, "man"))
}

func (s *scorer) other(team string) string { return map[string]string{"A": "B", "B": "A"}[team] }

func (s *scorer) row(team, play, made, of, player, by, note string) {
	s.rows = append(s.rows, fmt.Sprintf("%d,%d,%s,%s,%s,%s,%s,%s,%s", s.period, s.clock, team, play, made, of, player, by, note))
}

// swap writes the last two rows the other way round, as happens within a moment.
func (s *scorer) swap() {
	n := len(s.rows)
	s.rows[n-1], s.rows[n-2] = s.rows[n-2], s.rows[n-1]
}

func (s *scorer) pass(seconds int) bool {
	s.clock = max(0, s.clock-seconds)
	return s.clock > 0
}

func (s *scorer) tried(end events.End) {
	s.shown = true
	s.tries = append(s.tries, strings.ToLower(s.ball)+" "+string(end))
}

var yesNo = map[bool]string{true: "yes", false: "no"}

// throws writes a trip to the line and reports whether the last went in.
func (s *scorer) throws(team, player, note string, n int) (last bool) {
	t := s.truth[team]
	for k := 1; k <= n; k++ {
		if k == n && s.chance(20, "technical between") {
			s.technical(s.other(team))
		}
		last = s.chance(70, "throw")
		s.row(team, "free-throw", yesNo[last], fmt.Sprintf("%d/%d", k, n), player, "", note)
		t.FTA++
		if last {
			t.FTM, t.Points = t.FTM+1, t.Points+1
		} else if k < n || note != "" {
			s.row(team, "rebound", "", "", "", "", "team")
		}
		if k < n && s.chance(30, "interrupted") {
			s.interrupt()
		}
	}
	return last
}

func (s *scorer) interrupt() {
	if s.chance(50, "time-out") {
		s.row(s.ball, "timeout", "", "", "", "", "")
	} else {
		s.row(s.ball, "violation", "", "", s.man(s.ball), "", "")
	}
}

func (s *scorer) technical(by string) {
	said := by
	if s.chance(30, "team not said") {
		said = ""
	}
	s.row(said, "foul", "", "", "", "", "technical")
	s.throwOne(s.other(by), "technical")
}

func (s *scorer) throwOne(team, note string) {
	made := s.chance(80, "throw")
	s.row(team, "free-throw", yesNo[made], "1/1", s.man(team), "", note)
	s.truth[team].FTA++
	if made {
		s.truth[team].FTM++
		s.truth[team].Points++
	}
}

// board says who rebounds a miss; "" when the clock has run out.
func (s *scorer) board() {
	t := s.ball
	switch {
	case s.chance(10, "out to the defence"):
		s.row(s.other(t), "rebound", "", "", "", "", "team")
		s.ball = s.other(t)
	case s.chance(10, "out to the offence"):
		s.row(t, "rebound", "", "", "", "", "team")
	case s.chance(5, "loose-ball foul"):
		s.row(t, "foul", "", "", s.man(t), "", "loose-ball")
		s.ball, s.shown = s.other(t), false
	case s.chance(30, "offensive rebound"):
		s.row(t, "rebound", "", "", s.man(t), "", "")
		s.truth[t].OReb++
		s.tip()
	default:
		if s.chance(10, "held ball") {
			s.row(t, "jump-ball", "", "", s.man(t), "", "")
		}
		s.row(s.other(t), "rebound", "", "", s.man(s.other(t)), "", "")
		s.truth[s.other(t)].DReb++
		s.ball = s.other(t)
	}
}

// tip is a try straight from an offensive rebound, in the same second; its row
// may stand before the rebound's.
func (s *scorer) tip() {
	if !s.chance(40, "tip") {
		return
	}
	made := s.chance(60, "tip in")
	s.shoot(2, made)
	if s.chance(60, "told before its rebound") {
		s.swap()
	}
	s.afterShot(made)
}

func (s *scorer) shoot(value int, made bool) {
	t := s.truth[s.ball]
	t.FGA++
	if value == 3 {
		t.ThreeA++
	}
	if made {
		t.FGM, t.Points, t.ThreeM = t.FGM+1, t.Points+value, t.ThreeM+value-2
	}
	end := map[bool]string{true: "made", false: "missed"}[made]
	s.tried(events.End(fmt.Sprintf("%s-%d", end, value)))
	s.row(s.ball, fmt.Sprintf("shot-%d", value), yesNo[made], "", s.man(s.ball), "", "")
}

func (s *scorer) afterShot(made bool) {
	if !made {
		s.pass(s.second("flight"))
		s.board()
		return
	}
	if s.chance(15, "and one") {
		f := strings.Split(s.rows[len(s.rows)-1], ",")
		shooter := f[6]
		if f[3] == "rebound" { // the rows have changed places
			shooter = strings.Split(s.rows[len(s.rows)-2], ",")[6]
		}
		s.row(s.other(s.ball), "foul", "", "", s.man(s.other(s.ball)), "", "shooting")
		if !s.throws(s.ball, shooter, "", 1) {
			s.pass(s.second("flight"))
			s.board()
			return
		}
	}
	s.ball = s.other(s.ball)
}

func (s *scorer) second(what string) int { return rapid.IntRange(0, 1).Draw(s.t, what) }

func (s *scorer) trip() {
	n := rapid.IntRange(2, 3).Draw(s.t, "throws")
	s.row(s.other(s.ball), "foul", "", "", s.man(s.other(s.ball)), "", rapid.SampledFrom([]string{"shooting", "personal", "other", "loose-ball", ""}).Draw(s.t, "foul"))
	s.tried(events.FreeThrowEnd)
	if s.throws(s.ball, s.man(s.ball), "", n) {
		s.ball = s.other(s.ball)
		return
	}
	s.pass(s.second("flight"))
	s.board()
}

func (s *scorer) lose() {
	s.truth[s.ball].Tov++
	s.tried(events.TurnoverEnd)
	player := s.man(s.ball)
	switch {
	case s.chance(50, "steal"):
		s.row(s.ball, "turnover", "", "", player, s.man(s.other(s.ball)), "steal")
	case s.chance(50, "offensive foul"):
		s.row(s.ball, "foul", "", "", player, "", "offensive")
		s.row(s.ball, "turnover", "", "", player, "", "")
		if s.chance(50, "told the other way round") {
			s.swap()
		}
	default:
		s.row(s.ball, "turnover", "", "", "", "", "")
	}
	s.ball = s.other(s.ball)
}

func (s *scorer) penalty() {
	note := rapid.SampledFrom([]string{"flagrant", "clear-path"}).Draw(s.t, "penalty")
	s.row(s.other(s.ball), "foul", "", "", s.man(s.other(s.ball)), "", note)
	s.throws(s.ball, s.man(s.ball), rapid.SampledFrom([]string{note}).Draw(s.t, "note"), 2)
}

func (s *scorer) heldBall() {
	if !s.shown { // no row would tell whose chance it ended
		return
	}
	s.tried(events.JumpBallEnd)
	s.row("A", "jump-ball", "", "", s.man("A"), "", "")
	if s.chance(50, "lost") {
		s.ball = s.other(s.ball)
	}
	// Whoever won it must be seen to play on.
	if !s.pass(5) {
		s.clock = 1
	}
	s.lose()
}

func (s *scorer) playPeriod(length int) {
	s.clock, s.shown = length, false
	s.row("", "period-start", "", "", "", "", "")
	if s.period == 1 || s.period > 4 {
		s.row("A", "jump-ball", "", "", "a1", "", "")
	}
	s.ball = rapid.SampledFrom([]string{"A", "B"}).Draw(s.t, "first ball")
	for s.pass(rapid.IntRange(4, 24).Draw(s.t, "seconds")) {
		switch rapid.IntRange(0, 19).Draw(s.t, "play") {
		case 0, 1, 2:
			s.lose()
		case 3, 4:
			s.trip()
		case 5:
			s.technical(rapid.SampledFrom([]string{"A", "B"}).Draw(s.t, "by"))
		case 6:
			s.penalty()
		case 7:
			s.heldBall()
		case 8:
			s.row(s.other(s.ball), "foul", "", "", s.man(s.other(s.ball)), "", "personal")
		case 9:
			s.interrupt()
		default:
			made := s.chance(45, "made")
			s.shoot(rapid.IntRange(2, 3).Draw(s.t, "value"), made)
			s.afterShot(made)
		}
	}
	s.clock = 0
	s.row("", "period-end", "", "", "", "", "")
}

// A game that could have been played is read as it was played: every try in
// its order, the whole box score with both kinds of rebound, and nothing to
// remark on.
func TestAPlausibleGameIsReadAsItWasPlayed(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := &scorer{t: rt, truth: map[string]*events.Totals{"A": {}, "B": {}}}
		for s.period = 1; s.period <= 2; s.period++ {
			s.playPeriod(rapid.IntRange(30, 240).Draw(rt, "length"))
		}
		text := header + strings.Join(s.rows, "\n") + "\n"
		feed, err := outline.Read(strings.NewReader(text))
		if err != nil {
			rt.Fatal(err)
		}
		list, remarks, err := feed.Events(outline.Options{Game: "plausible", Rules: nba(t)})
		if err != nil {
			rt.Fatal(err)
		}
		chart := foldChart(failing{t, rt}, list)
		for name, want := range s.truth {
			if got := chart.Totals[events.Token(strings.ToLower(name))]; got != *want {
				rt.Errorf("%s:\n got %+v\nwant %+v", name, got, *want)
			}
		}
		var tries []string
		for _, c := range chart.Chances {
			if c.End != events.PeriodEnd {
				tries = append(tries, string(c.Offence)+" "+string(c.End))
			}
		}
		if got, want := strings.Join(tries, "\n"), strings.Join(s.tries, "\n"); got != want {
			rt.Errorf("chances:\n%s\nwant:\n%s", got, want)
		}
		for _, r := range remarks {
			rt.Errorf("remark: %s", r)
		}
		if rt.Failed() {
			rt.Logf("%s\n%s", text, printOutline(list, remarks))
		}
	})
}
