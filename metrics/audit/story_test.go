package audit_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"stopledger/events"
	"stopledger/replay"
)

var update = flag.Bool("update", false, "write the answers under testdata/audit anew; read the difference before committing")

// stories runs every story of a file under testdata/audit: a title behind "==",
// the charts of one game in short form, a line of dashes, and what tell says of
// the folded game.
func stories(t *testing.T, name string, tell func(t *testing.T, g *replay.Game) string) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "audit", name)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, part := range strings.Split("\n"+string(text), "\n== ")[1:] {
		title, rest, _ := strings.Cut(part, "\n")
		said, want, _ := strings.Cut(rest, "----\n")
		want = strings.TrimSpace(want)
		t.Run(title, func(t *testing.T) {
			got := strings.TrimSpace(tell(t, readStory(t, said)))
			if got != want && !*update {
				t.Errorf("got:\n%s\n\nwant:\n%s", got, want)
			}
			fmt.Fprintf(&out, "== %s\n%s----\n%s\n\n", title, said, got)
		})
	}
	if *update {
		if err := os.WriteFile(path, []byte(strings.TrimRight(out.String(), "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// A story's lines:
//
//	open rules=fiba home=hbr away=mil hbr-3:guard mil-12:wing …
//	chart second | by edda | at 2/412.3 | pace 0.5   seconds between two entries
//	scope ends=one team=mil focus=mil-12 from=1 to=2/300
//	lineup mil mil-1 mil-2 … | sub mil in=… out=… | scheme mil man gap
//	chance hbr make set                              later lines belong to it
//	drive mil-12 hbr-3 beaten saw_end=no spot=1.2,3
//	end missed-2 shooter=hbr-3 rebound=offence by=hbr-5 spot=…
//	penalty mil made=1 attempted=1 why=technical
//	totals hbr points=10 … | player hbr-3 points=2 …  gathered, entered by "close"
//	close
type story struct {
	t      *testing.T
	list   []events.Event
	n      map[events.Token]int64
	chart  events.Token
	by     events.Token
	when   events.When
	chance events.ID
	clock  int64 // milliseconds of the latest entry
	pace   float64
	totals events.TotalsEntered
}

func readStory(t *testing.T, text string) *replay.Game {
	t.Helper()
	s := &story{t: t, n: map[events.Token]int64{}, chart: "main", by: "ana", clock: 1_800_000_000_000, pace: 4}
	for line := range strings.SplitSeq(text, "\n") {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			s.line(strings.Fields(line))
		}
	}
	return replay.FoldGame("g1", s.list)
}

func (s *story) line(f []string) {
	s.t.Helper()
	verb, args, opt := f[0], []string{}, map[string]string{}
	for _, word := range f[1:] {
		if key, value, ok := strings.Cut(word, "="); ok {
			opt[key] = value
		} else {
			args = append(args, word)
		}
	}
	arg := func(i int) string {
		if i < len(args) && args[i] != "-" {
			return args[i]
		}
		return ""
	}
	token := func(key string) events.Token { return events.Token(opt[key]) }
	switch verb {
	case "chart":
		s.chart, s.when = events.Token(args[0]), events.When{}
	case "by":
		s.by = events.Token(args[0])
	case "at":
		s.when = at(args[0])
	case "pace":
		s.pace = number(args[0])
	case "open":
		s.open(args, opt)
	case "scope":
		s.put(&events.ChartScoped{Ends: events.Ends(opt["ends"]), Team: token("team"), Focus: token("focus"), From: at(opt["from"]), To: at(opt["to"])})
	case "lineup":
		l := &events.LineupSet{Team: events.Token(args[0])}
		for _, p := range args[1:] {
			l.Players = append(l.Players, events.Token(p))
		}
		s.put(l)
	case "sub":
		s.put(&events.Substituted{Team: events.Token(args[0]), In: token("in"), Out: token("out")})
	case "scheme":
		s.put(&events.SchemeSet{Team: events.Token(args[0]), Base: events.Base(arg(1)), Principle: events.Principle(arg(2))})
	case "chance":
		s.chance = s.put(&events.ChanceBegan{Offence: events.Token(args[0]), Origin: events.Origin(arg(1)), Tempo: events.Tempo(arg(2))})
	case "end":
		s.put(&events.ChanceEnded{
			Chance: s.chance, End: events.End(args[0]), Turnover: events.Turnover(opt["turnover"]), Next: events.Side(opt["next"]), Spot: spot(opt["spot"]),
			Shooter: token("shooter"), Rebound: events.Side(opt["rebound"]), ReboundBy: token("by"), TeamRebound: opt["team"] != "", BlockedBy: token("blocked"),
			Made: int(number(opt["made"])), Attempted: int(number(opt["attempted"])), LostBy: token("lost"), StealBy: token("steal"), Focus: events.Focus(opt["focus"]),
		})
	case "penalty":
		s.put(&events.PenaltyShots{Team: events.Token(args[0]), Made: int(number(opt["made"])), Attempted: int(number(opt["attempted"])), Why: events.PenaltyWhy(opt["why"])})
	case "totals":
		s.official(&s.totals.Teams, args[0], opt)
	case "player":
		s.official(&s.totals.Players, args[0], opt)
	case "close":
		s.when = events.When{}
		if s.totals.Teams != nil {
			entered := s.totals
			s.totals = events.TotalsEntered{}
			s.put(&entered)
		}
		s.put(&events.GameClosed{})
	default:
		s.action(verb, arg, opt)
	}
}

func (s *story) action(verb string, arg func(int) string, opt map[string]string) {
	a := &events.Action{Chance: s.chance, Kind: events.Kind(verb), Defender: events.Token(arg(0)), Opponent: events.Token(arg(1)), Outcome: events.Outcome(arg(2))}
	for key, value := range opt {
		if key == "spot" {
			a.Spot = spot(value)
			continue
		}
		if a.Details == nil {
			a.Details = events.Details{}
		}
		a.Details[key] = strings.Split(value, ",")
	}
	s.put(a)
}

func (s *story) open(args []string, opt map[string]string) {
	rules, ok := events.RuleSet(events.RuleName(opt["rules"]))
	if !ok {
		rules = events.Rules{Periods: 2, Minutes: 2, OvertimeMinutes: 1} // a short invented game
	}
	home, away := opt["home"], opt["away"]
	if home == "" {
		home, away = "hbr", "mil"
	}
	g := &events.GameOpened{Rules: rules, Date: opt["date"], Home: events.Team{ID: events.Token(home)}, Away: events.Team{ID: events.Token(away)}, Invented: true}
	for _, a := range args {
		id, role, _ := strings.Cut(a, ":")
		team, shirt, _ := strings.Cut(id, "-")
		g.Players = append(g.Players, events.Player{ID: events.Token(id), Team: events.Token(team), Number: shirt, Role: events.Role(role)})
	}
	s.put(g)
}

func (s *story) official(into *map[events.Token]events.Totals, who string, opt map[string]string) {
	if *into == nil {
		*into = map[events.Token]events.Totals{}
	}
	n := func(key string) int { return int(number(opt[key])) }
	(*into)[events.Token(who)] = events.Totals{Points: n("points"), FGA: n("fga"), FGM: n("fgm"), ThreeA: n("three_a"), ThreeM: n("three_m"),
		FTA: n("fta"), FTM: n("ftm"), OReb: n("oreb"), DReb: n("dreb"), Tov: n("tov")}
}

func (s *story) put(body events.Body) events.ID {
	s.t.Helper()
	s.clock += int64(s.pace * 1000)
	s.n[s.chart]++
	hex := fmt.Sprintf("%012x", s.clock)
	e := events.Event{
		V: 1, ID: events.ID(fmt.Sprintf("%s-%s-7000-8000-%012d", hex[:8], hex[8:], len(s.list))), Game: "g1", Chart: s.chart, Charter: s.by,
		Pad: s.chart + "-pad", N: s.n[s.chart], When: s.when, Type: body.Type(), Body: body,
	}
	if err := e.Seal(); err != nil {
		s.t.Fatal(err)
	}
	s.list = append(s.list, e)
	return e.ID
}

func at(text string) events.When {
	p, c, clocked := strings.Cut(text, "/")
	w := events.When{Period: int(number(p))}
	if clocked {
		clock := number(c)
		w.Clock = &clock
	}
	return w
}

func spot(text string) *events.Spot {
	x, y, ok := strings.Cut(text, ",")
	if !ok {
		return nil
	}
	return &events.Spot{X: number(x), Y: number(y)}
}

func number(text string) float64 {
	n, _ := strconv.ParseFloat(text, 64)
	return n
}
