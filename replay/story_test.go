package replay_test

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"stopledger/events"
)

// A story is a small chart worked out by hand, in short form. Each line is one
// event; a word before a colon names it for later lines:
//
//	open rules=nba hbr-3:guard mil-12:wing …   both teams from the players' codes
//	pad p2 | chart second | at 2/412.3 | noclock
//	scope ends=one team=mil from=3/720 | lineup mil mil-1 … | sub mil in=.. out=.. | scheme mil zone-2-3 gap
//	C: chance hbr make set          a chance of hbr; later lines belong to it
//	A: drive mil-12 hbr-3 beaten why=..
//	end missed-2 shooter=hbr-3 rebound=offence …   (of=C for an earlier chance)
//	shots made=1 attempted=2 last=defence
//	penalty mil made=1 attempted=1 why=technical
//	amend A: <line> | amendat A 2/400 | void A | reassign mil-12 mil-21 A B | merge KEEP DROP | adopt main | score 10 8
//
// Corrections may be named too, and rest on the last one unless "on=NAME".
type story struct {
	t      *testing.T
	list   []events.Event
	names  map[string]events.ID
	latest map[events.ID]events.ID // the last revision of a target, for the default base
	n      map[events.Token]int64
	pad    events.Token
	chart  events.Token
	when   events.When
	chance events.ID
	serial int
}

func read(t *testing.T, text string) []events.Event {
	t.Helper()
	s := &story{t: t, names: map[string]events.ID{}, latest: map[events.ID]events.ID{}, n: map[events.Token]int64{}, pad: "p1", chart: "main"}
	for _, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			s.line(line)
		}
	}
	return s.list
}

func (s *story) line(line string) {
	s.t.Helper()
	if verb, rest, _ := strings.Cut(line, " "); verb == "amend" {
		target, body, _ := strings.Cut(rest, ": ")
		s.amend(target, body)
		return
	}
	name := ""
	if before, after, ok := strings.Cut(line, ": "); ok && !strings.Contains(before, " ") {
		name, line = before, after
	}
	w := words(line)
	switch w.verb {
	case "pad":
		s.pad = events.Token(w.args[0])
	case "chart":
		s.chart = events.Token(w.args[0])
	case "noclock":
		s.when = events.When{}
	case "at":
		s.when = moment(w.args[0])
	case "amendat":
		at := moment(w.args[1])
		target := s.names[w.args[0]]
		s.put(name, &events.Amended{Target: target, Base: s.base(target, w), When: &at})
		s.latest[target] = s.last()
	case "void":
		target := s.names[w.args[0]]
		s.put(name, &events.Voided{Target: target, Base: s.base(target, w)})
		s.latest[target] = s.last()
	default:
		s.put(name, s.body(w))
	}
	if w.verb == "chance" {
		s.chance = s.last()
	}
}

func (s *story) amend(target, line string) {
	w := words(line)
	id := s.names[target]
	raw, err := json.Marshal(s.body(w))
	if err != nil {
		s.t.Fatal(err)
	}
	s.put(w.opt["as"], &events.Amended{Target: id, Base: s.base(id, w), Body: raw})
	s.latest[id] = s.last()
}

func (s *story) base(target events.ID, w sentence) events.ID {
	if on := w.opt["on"]; on != "" {
		return s.names[on]
	}
	if base := s.latest[target]; base != "" {
		return base
	}
	return target
}

func (s *story) last() events.ID { return s.list[len(s.list)-1].ID }

func (s *story) put(name string, body events.Body) {
	s.t.Helper()
	s.serial++
	s.n[s.chart+"/"+s.pad]++
	e := events.Event{
		V: 1, ID: events.ID(fmt.Sprintf("0198f0c2-0000-7000-8000-%012d", s.serial)), Game: "g1", Chart: s.chart, Charter: "ana",
		Pad: s.pad, N: s.n[s.chart+"/"+s.pad], When: s.when, Type: body.Type(), Body: body,
	}
	if a, ok := afterOf(body, s.names); ok {
		e.After = a
	}
	if err := e.Seal(); err != nil {
		s.t.Fatalf("%s: %v", name, err)
	}
	if name != "" {
		s.names[name] = e.ID
	}
	s.list = append(s.list, e)
}

// afterOf finds the tag after-NAME that stories use for "place me behind".
func afterOf(body events.Body, names map[string]events.ID) (events.ID, bool) {
	if n, ok := body.(*events.Noted); ok {
		id, known := names[strings.TrimPrefix(n.Text, "after-")]
		return id, known
	}
	return "", false
}

type sentence struct {
	verb string
	args []string
	opt  map[string]string
}

func words(line string) sentence {
	w := sentence{opt: map[string]string{}}
	for i, f := range strings.Fields(line) {
		key, value, isOpt := strings.Cut(f, "=")
		switch {
		case i == 0:
			w.verb = f
		case isOpt:
			w.opt[key] = value
		default:
			w.args = append(w.args, f)
		}
	}
	return w
}

func (w sentence) arg(i int) string {
	if i < len(w.args) && w.args[i] != "-" {
		return w.args[i]
	}
	return ""
}

func (w sentence) num(key string) int {
	n, _ := strconv.Atoi(w.opt[key])
	return n
}

func momentOf(text string) events.When {
	if text == "" {
		return events.When{}
	}
	return moment(text)
}

func moment(text string) events.When {
	p, c, _ := strings.Cut(text, "/")
	period, _ := strconv.Atoi(p)
	clock, _ := strconv.ParseFloat(c, 64)
	return events.At(period, clock)
}

func (s *story) body(w sentence) events.Body {
	s.t.Helper()
	chance := s.chance
	if of := w.opt["of"]; of != "" {
		chance = s.names[of]
	}
	tok := func(key string) events.Token { return events.Token(w.opt[key]) }
	switch w.verb {
	case "open":
		return opening(w)
	case "scope":
		return &events.ChartScoped{Ends: events.Ends(w.opt["ends"]), Team: tok("team"), Focus: tok("focus"), From: momentOf(w.opt["from"])}
	case "lineup":
		return &events.LineupSet{Team: events.Token(w.args[0]), Players: tokens(w.args[1:])}
	case "sub":
		return &events.Substituted{Team: events.Token(w.args[0]), In: tok("in"), Out: tok("out")}
	case "scheme":
		return &events.SchemeSet{Team: events.Token(w.args[0]), Base: events.Base(w.arg(1)), Principle: events.Principle(w.arg(2)), Pressure: events.Pressure(w.arg(3))}
	case "chance":
		return &events.ChanceBegan{Offence: events.Token(w.args[0]), Origin: events.Origin(w.arg(1)), Tempo: events.Tempo(w.arg(2))}
	case "end":
		return &events.ChanceEnded{
			Chance: chance, End: events.End(w.args[0]), Turnover: events.Turnover(w.opt["turnover"]), Next: events.Side(w.opt["next"]),
			Shooter: tok("shooter"), Rebound: events.Side(w.opt["rebound"]), ReboundBy: tok("by"), TeamRebound: w.opt["team"] != "",
			Made: w.num("made"), Attempted: w.num("attempted"), Heave: w.opt["heave"] != "", LostBy: tok("lost"), StealBy: tok("steal"), Focus: events.Focus(w.opt["focus"]),
		}
	case "shots":
		return &events.ShotsTaken{Chance: chance, Made: w.num("made"), Attempted: w.num("attempted"), Last: events.LastShot(w.opt["last"])}
	case "penalty":
		return &events.PenaltyShots{Team: events.Token(w.args[0]), Made: w.num("made"), Attempted: w.num("attempted"), Why: events.PenaltyWhy(w.opt["why"]), BallAfter: tok("after")}
	case "score":
		home, _ := strconv.Atoi(w.args[0])
		away, _ := strconv.Atoi(w.args[1])
		return &events.ScoreNoted{Home: home, Away: away}
	case "reassign":
		r := &events.Reassigned{From: events.Token(w.args[0]), To: events.Token(w.args[1])}
		for _, name := range w.args[2:] {
			r.Targets = append(r.Targets, s.names[name])
		}
		return r
	case "merge":
		return &events.ChanceMerged{Keep: s.names[w.args[0]], Drop: s.names[w.args[1]]}
	case "adopt":
		return &events.ChartAdopted{Chart: events.Token(w.args[0])}
	case "note":
		return &events.Noted{Text: w.args[0]}
	case "close":
		return &events.GameClosed{}
	}
	return actionBody(w, chance)
}

func actionBody(w sentence, chance events.ID) events.Body {
	a := &events.Action{Chance: chance, Kind: events.Kind(w.verb), Defender: events.Token(w.arg(0)), Opponent: events.Token(w.arg(1)), Outcome: events.Outcome(w.arg(2))}
	for key, value := range w.opt {
		if key == "of" || key == "on" || key == "as" {
			continue
		}
		if a.Details == nil {
			a.Details = events.Details{}
		}
		a.Details[key] = strings.Split(value, ",")
	}
	return a
}

func opening(w sentence) events.Body {
	rules, _ := events.RuleSet(events.RuleName(w.opt["rules"]))
	g := &events.GameOpened{Rules: rules, Home: events.Team{ID: "hbr"}, Away: events.Team{ID: "mil"}, Invented: true}
	for _, arg := range w.args {
		id, role, _ := strings.Cut(arg, ":")
		team, number, _ := strings.Cut(id, "-")
		g.Players = append(g.Players, events.Player{ID: events.Token(id), Team: events.Token(team), Number: number, Role: events.Role(role)})
	}
	return g
}

func tokens(list []string) []events.Token {
	out := make([]events.Token, len(list))
	for i, s := range list {
		out[i] = events.Token(s)
	}
	return out
}
