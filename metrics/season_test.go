package metrics

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
	"testing"

	"stopledger/charting/synth"
	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// A small season is written by hand, a line for a game, a line for a chance:
//
//	game g1 level=college hbr-3:guard hbr-9:big mil-12:wing …
//	made-2: drive mil-12 hbr-3 beaten hand=weak; rotation mil-5 hbr-3 never-came
//	3x missed-2 rebound=offence scheme=man/gap: contest mil-5 hbr-9 hand-up
//
// The defending team is that of the first defender; a miss is rebounded by the
// defence unless said otherwise. A chance without actions is that of a team:
// "missed-2 offence=hbr:".
type script struct {
	t     testing.TB
	games []*replay.Game
	list  []events.Event
	id    events.Token
	teams map[events.Token]events.Token // of players
	n     int
	sec   float64
}

func seasonOf(t testing.TB, text string) ([]*replay.Game, *replay.Columns) {
	t.Helper()
	s := &script{t: t}
	for _, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || strings.HasPrefix(line, "#"):
		case strings.HasPrefix(line, "game "):
			s.close()
			s.open(strings.Fields(line)[1:])
		default:
			s.chances(line)
		}
	}
	s.close()
	return s.games, replay.ColumnsOf(&replay.Season{Games: s.games}, nil)
}

func (s *script) put(body events.Body) events.ID {
	s.t.Helper()
	s.n++
	e := events.Event{V: 1, ID: events.ID(fmt.Sprintf("0198f0c2-%04x-7000-8000-%012x", len(s.games), s.n)), Game: s.id, Chart: "main", Charter: "ana", Pad: "p1",
		N: int64(s.n), When: events.At(1+int(2400-s.sec)/600, float64(int(s.sec-1)%600)+1), Type: body.Type(), Body: body}
	if err := e.Seal(); err != nil {
		s.t.Fatal(err)
	}
	if err := events.Check(&e); err != nil {
		s.t.Fatal(err)
	}
	s.list = append(s.list, e)
	return e.ID
}

func (s *script) close() {
	if s.id != "" {
		s.games = append(s.games, replay.FoldGame(s.id, s.list))
	}
	s.list, s.id, s.n, s.sec = nil, "", 0, 2399
}

func (s *script) open(words []string) {
	rules, _ := events.RuleSet("fiba")
	s.id, s.teams = events.Token(words[0]), map[events.Token]events.Token{}
	body := events.GameOpened{Rules: rules, Level: "college", Date: "2031-01-0" + strconv.Itoa(1+len(s.games)%9), Invented: true}
	var teams []events.Team
	for _, w := range words[1:] {
		if level, ok := strings.CutPrefix(w, "level="); ok {
			body.Level = events.Level(level)
			continue
		}
		id, role, _ := strings.Cut(w, ":")
		team := events.Token(id[:strings.Index(id, "-")])
		if s.teams[events.Token(id)] = team; len(teams) == 0 || teams[len(teams)-1].ID != team {
			teams = append(teams, events.Team{ID: team})
		}
		body.Players = append(body.Players, events.Player{ID: events.Token(id), Team: team, Role: events.Role(role)})
	}
	body.Home, body.Away = teams[0], teams[1]
	s.put(&body)
}

// chances writes a line's chance as often as it says.
func (s *script) chances(line string) {
	s.t.Helper()
	times := 1
	if n, rest, ok := strings.Cut(line, "x "); ok {
		if v, err := strconv.Atoi(n); err == nil {
			times, line = v, rest
		}
	}
	head, actions, _ := strings.Cut(line, ":")
	for range times {
		s.chance(strings.Fields(head), strings.Split(actions, ";"))
	}
}

func (s *script) chance(head, actions []string) {
	s.t.Helper()
	ended := &events.ChanceEnded{End: events.End(head[0])}
	began := &events.ChanceBegan{Origin: "make", Tempo: "set"}
	if strings.HasPrefix(head[0], "missed") {
		ended.Rebound = "defence"
	}
	var scheme *events.SchemeSet
	for _, w := range head[1:] {
		key, value, _ := strings.Cut(w, "=")
		switch key {
		case "rebound":
			ended.Rebound = events.Side(value)
		case "turnover":
			ended.Turnover = events.Turnover(value)
		case "offence":
			began.Offence = events.Token(value)
		case "scheme":
			base, principle, _ := strings.Cut(value, "/")
			scheme = &events.SchemeSet{Base: events.Base(base), Principle: events.Principle(principle)}
		}
	}
	var list []*events.Action
	for _, text := range actions {
		if w := strings.Fields(text); len(w) > 0 {
			a := &events.Action{Kind: events.Kind(w[0]), Defender: events.Token(w[1]), Opponent: events.Token(w[2]), Outcome: events.Outcome(w[3]), Details: events.Details{}}
			for _, d := range w[4:] {
				key, value, _ := strings.Cut(d, "=")
				a.Details[key] = append(a.Details[key], value)
			}
			if a.Opponent == "-" {
				a.Opponent = ""
			}
			list = append(list, a)
			began.Offence = s.other(s.teams[a.Defender])
		}
	}
	if scheme != nil {
		scheme.Team = s.other(began.Offence)
		s.put(scheme)
	}
	s.sec -= 2
	ended.Chance = s.put(began)
	for _, a := range list {
		a.Chance = ended.Chance
		s.put(a)
	}
	s.put(ended)
}

func (s *script) other(team events.Token) events.Token {
	info := s.list[0].Body.(*events.GameOpened)
	if info.Home.ID == team {
		return info.Away.ID
	}
	return info.Home.ID
}

func studyOf(t testing.TB, text string) *Study {
	t.Helper()
	games, cols := seasonOf(t, text)
	return NewStudy(definition.Default(), cols, StudyOptions{Games: games})
}

// define reads a definition that says no more than is given.
func define(t testing.TB, more string) *definition.Definition {
	t.Helper()
	return mustDefine(more)
}

func mustDefine(more string) *definition.Definition {
	d, err := definition.Parse("test.yaml", []byte("name: test\nabout: a definition for a test\nstop:\n  default: 'chance.points == 0 && chance.ball == \"defence\"'\nblame: first-break\neven: 0.5\n"+more))
	if err != nil {
		panic(err)
	}
	return d
}

// invented is a season of synth, folded once for all tests.
type invented struct {
	games []*replay.Game
	cols  *replay.Columns
	truth synth.Truth
}

var shared = sync.OnceValue(func() invented { return inventedSeason(3, 24) })

// sharedStudy is that season under a definition without a step in level, fitted
// once for all tests.
var sharedStudy = sync.OnceValue(func() *Study {
	in := shared()
	return NewStudy(mustDefine(""), in.cols, StudyOptions{Games: in.games})
})

func inventedSeason(seed uint64, n int) invented {
	s, err := synth.New(synth.Options{Seed: seed, Games: n})
	if err != nil {
		panic(err)
	}
	folded, err := replay.Fold(s.Events())
	if err != nil {
		panic(err)
	}
	return invented{folded.Games, replay.ColumnsOf(folded, s.People()), s.Truth()}
}
