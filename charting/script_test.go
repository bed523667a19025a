package charting_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"stopledger/charting"
	"stopledger/events"
	"stopledger/replay"
)

var update = flag.Bool("update", false, "rewrite what the scripts print; read the difference before you commit it")

// testMint counts: ids and times that sort, and never repeat.
type testMint struct{ ids, nows int }

var day = time.Date(2031, 1, 14, 19, 0, 0, 0, time.UTC)

func (m *testMint) ID() events.ID {
	m.ids++
	return events.ID(fmt.Sprintf("%08x-%04x-7000-8000-%012x", uint64(day.UnixMilli())>>16, uint64(day.UnixMilli())&0xffff, m.ids))
}

func (m *testMint) Now() time.Time {
	m.nows++
	return day.Add(time.Duration(m.nows) * time.Second)
}

// Each script in testdata/charting is a session as a coach could read it: what
// the charter did stands behind ">", what came of it below. "#5" is the event
// this pad numbered 5. The games are invented.
func TestScripts(t *testing.T) {
	files, err := filepath.Glob("../testdata/charting/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, path := range files {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			got := play(t, string(text))
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			} else if got != string(text) {
				t.Errorf("got:\n%s\nwant:\n%s", got, text)
			}
		})
	}
}

// stage is a script being played: a session for each pad, all at one chart.
type stage struct {
	mint testMint
	pads map[string]*charting.Session
	pad  string
	refs map[string]events.ID // "#5" of the pad in hand, "b#5" of pad b
}

func play(t *testing.T, text string) string {
	st := &stage{pads: make(map[string]*charting.Session), refs: make(map[string]events.ID)}
	st.sit(t, "p1")
	var out strings.Builder
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		switch {
		case strings.HasPrefix(line, "> "):
			fmt.Fprintf(&out, "%s\n%s", line, st.do(t, strings.Fields(line[2:])))
		case strings.HasPrefix(line, "#") || line == "":
			fmt.Fprintln(&out, line)
		}
	}
	return out.String()
}

func (st *stage) sit(t *testing.T, pad string) {
	if st.pads[pad] == nil {
		var known []events.Event
		for _, s := range st.pads {
			known = s.Events()
		}
		s, err := charting.Open(charting.Seat{Game: "g", Chart: "main", Charter: "ana", Pad: events.Token(pad)}, &st.mint, known)
		if err != nil {
			t.Fatal(err)
		}
		st.pads[pad] = s
	}
	st.pad = pad
}

func (st *stage) do(t *testing.T, words []string) string {
	s := st.pads[st.pad]
	switch words[0] {
	case "pad":
		st.sit(t, words[1])
		return ""
	case "print":
		return printChart(s.Chart())
	case "next":
		return printNext(s.Next())
	case "at":
		if err := s.At(moment(words[1], words[2])); err != nil {
			return fmt.Sprintf("  refused: %v\n", err)
		}
		return ""
	}
	list, err := st.command(t, s, words)
	if err != nil {
		return fmt.Sprintf("  refused: %v\n", err)
	}
	var out strings.Builder
	for _, e := range list {
		name := fmt.Sprintf("#%d", e.N)
		st.refs[st.pad+name] = e.ID
		fmt.Fprintf(&out, "  %s %s%s\n", name, e.Type, st.about(e))
		for _, other := range st.pads {
			other.Take(e)
		}
	}
	return out.String()
}

// about names what a correction is of.
func (st *stage) about(e events.Event) string {
	switch b := e.Body.(type) {
	case *events.Amended:
		return " " + st.name(b.Target) + why(b.Why)
	case *events.Voided:
		return " " + st.name(b.Target) + why(b.Why)
	case *events.Reassigned:
		text := fmt.Sprintf(" %s to %s:", b.From, b.To)
		for _, t := range b.Targets {
			text += " " + st.name(t)
		}
		return text
	}
	return ""
}

func why(text string) string {
	if text == "" {
		return ""
	}
	return " (" + text + ")"
}

func (st *stage) name(id events.ID) string {
	for name, known := range st.refs {
		if known == id {
			return strings.TrimPrefix(name, st.pad)
		}
	}
	return string(id)
}

func (st *stage) ref(name string) events.ID {
	if name == "" {
		return ""
	}
	if strings.HasPrefix(name, "#") {
		name = st.pad + name
	}
	if id, ok := st.refs[name]; ok {
		return id
	}
	return "00000000-0000-7000-8000-000000000000" // of no event
}

func moment(period, clock string) events.When {
	p, _ := strconv.Atoi(period)
	c, _ := strconv.ParseFloat(clock, 64)
	w := events.At(p, c)
	w.From = "typed"
	return w
}

// options splits words into plain ones and key=value.
func options(words []string) ([]string, map[string]string) {
	var plain []string
	opts := make(map[string]string)
	for _, w := range words {
		if k, v, ok := strings.Cut(w, "="); ok {
			opts[k] = v
		} else {
			plain = append(plain, w)
		}
	}
	return plain, opts
}

func (st *stage) command(t *testing.T, s *charting.Session, words []string) ([]events.Event, error) {
	plain, opts := options(words[1:])
	word := func(i int) string {
		if i < len(plain) {
			return plain[i]
		}
		return ""
	}
	token := func(i int) events.Token { return events.Token(word(i)) }
	switch words[0] {
	case "open":
		return s.OpenGame(opening(opts))
	case "scope":
		return s.Scope(events.ChartScoped{Ends: events.Ends(opts["ends"]), Team: events.Token(opts["team"]), Focus: events.Token(opts["focus"])})
	case "lineup":
		var players []events.Token
		for _, p := range plain[1:] {
			players = append(players, events.Token(p))
		}
		return s.LineUp(token(0), players...)
	case "sub":
		return s.Substitute(token(0), events.Token(opts["in"]), events.Token(opts["out"]))
	case "scheme":
		return s.Scheme(events.SchemeSet{Team: token(0), Base: events.Base(opts["base"]), Principle: events.Principle(opts["principle"])})
	case "begin":
		return s.Begin(events.ChanceBegan{Offence: token(0), Origin: events.Origin(word(1))})
	case "act":
		next := s.Next()
		a := events.Action{Chance: st.ref(opts["chance"]), Kind: events.Kind(word(0)), Outcome: events.Outcome(word(1)), Defender: next.Defender}
		if word(2) != "" && word(2) != "." { // a point: as it defaults
			a.Defender = token(2)
		}
		a.Opponent = next.Opponent(a.Defender)
		if word(3) != "" {
			a.Opponent = token(3)
		}
		return s.Act(a)
	case "end":
		return s.End(ending(word(0), opts))
	case "throws":
		made, attempted := fraction(word(0))
		return s.FreeThrows(events.ShotsTaken{Made: made, Attempted: attempted, Last: events.LastShot(opts["last"]), ReboundBy: events.Token(opts["by"]), Chance: st.ref(opts["chance"])})
	case "penalty":
		made, attempted := fraction(word(1))
		return s.Penalty(events.PenaltyShots{Team: token(0), Made: made, Attempted: attempted, Why: events.PenaltyWhy(word(2)), BallAfter: events.Token(opts["ball"])})
	case "score":
		made, attempted := fraction(word(0))
		return s.Score(made, attempted)
	case "note":
		return s.Note(strings.Join(plain, " "), st.ref(opts["about"]))
	case "film":
		return s.LinkFilm(events.FilmLinked{ID: token(0), Name: word(1)})
	case "anchor":
		at, _ := strconv.ParseFloat(word(1), 64)
		w := moment(word(2), word(3))
		return s.Anchor(events.FilmAnchored{Film: token(0), At: at, Period: w.Period, Clock: *w.Clock})
	case "adopt":
		return s.Adopt(token(0))
	case "close":
		return s.Close()
	case "totals":
		points, _ := strconv.Atoi(word(1))
		return s.Totals(events.TotalsEntered{Teams: map[events.Token]events.Totals{token(0): {Points: points}}})
	case "undo":
		return s.Undo()
	case "void":
		return s.Void(st.ref(word(0)), opts["why"])
	case "amend":
		return st.amend(s, plain, opts)
	case "reassign":
		count, _ := strconv.Atoi(word(2))
		return s.Reassign(token(0), token(1), count)
	case "insert":
		return s.Insert(moment(word(0), word(1)), moment(word(0), word(2)), events.ChanceBegan{Offence: token(3), Origin: events.Origin(opts["origin"])}, ending(word(4), opts))
	case "split":
		return s.Split(st.ref(word(0)), moment(word(1), word(2)), ending(word(3), opts), events.ChanceBegan{Offence: events.Token(opts["then"]), Origin: events.Origin(opts["origin"])}, st.ref(opts["from"]))
	case "join":
		return s.Join(st.ref(word(0)), st.ref(word(1)))
	}
	t.Fatalf("no command %q", words[0])
	return nil, nil
}

func opening(opts map[string]string) events.GameOpened {
	rules, _ := events.RuleSet(events.RuleName(opts["rules"]))
	g := events.GameOpened{Rules: rules, Home: events.Team{ID: "a"}, Away: events.Team{ID: "b"}, Invented: true}
	if opts["home"] != "" {
		g.Home.ID = events.Token(opts["home"])
	}
	for _, team := range []string{"a", "b"} {
		for _, p := range strings.Split(opts[team], ",") {
			if p != "" {
				g.Players = append(g.Players, events.Player{ID: events.Token(p), Team: events.Token(team)})
			}
		}
	}
	return g
}

func fraction(text string) (int, int) {
	a, b, _ := strings.Cut(text, "/")
	made, _ := strconv.Atoi(a)
	attempted, _ := strconv.Atoi(b)
	return made, attempted
}

func ending(end string, opts map[string]string) events.ChanceEnded {
	made, attempted := fraction(opts["throws"])
	return events.ChanceEnded{
		End: events.End(end), Turnover: events.Turnover(opts["how"]), Next: events.Side(opts["next"]),
		Shooter: events.Token(opts["shooter"]), LostBy: events.Token(opts["lost"]), StealBy: events.Token(opts["steal"]), BlockedBy: events.Token(opts["block"]),
		Rebound: events.Side(opts["rebound"]), ReboundBy: events.Token(opts["by"]), TeamRebound: opts["team"] != "", Made: made, Attempted: attempted,
	}
}

// amend changes the named fields of what stands of an event.
func (st *stage) amend(s *charting.Session, plain []string, opts map[string]string) ([]events.Event, error) {
	id := st.ref(plain[0])
	var when *events.When
	if len(plain) == 3 {
		w := moment(plain[1], plain[2])
		when = &w
	}
	var body events.Body
	for _, f := range replay.Facts(s.Events()) {
		if f.Event.ID != id {
			continue
		}
		switch b := f.Body.(type) {
		case *events.Action:
			a := *b
			if v, ok := opts["outcome"]; ok {
				a.Outcome = events.Outcome(v)
			}
			if v, ok := opts["defender"]; ok {
				a.Defender = events.Token(v)
			}
			body = &a
		case *events.ChanceEnded:
			if opts["end"] != "" {
				c := ending(opts["end"], opts)
				c.Chance = b.Chance
				body = &c
			}
		}
	}
	return s.Amend(id, body, when, opts["why"])
}

func printNext(n charting.Next) string {
	text := fmt.Sprintf("  ball %s, origin %s; defender %s", or(n.Offence, "?"), or(n.Origin, "?"), or(n.Defender, "?"))
	var pairs []string
	for d, o := range n.Matchups {
		pairs = append(pairs, fmt.Sprintf("%s on %s", d, o))
	}
	slices.Sort(pairs)
	if len(pairs) > 0 {
		text += "; " + strings.Join(pairs, ", ")
	}
	words := make([]string, len(n.Commands))
	for i, c := range n.Commands {
		words[i] = string(c)
	}
	return text + "\n  may come: " + strings.Join(words, " ") + "\n"
}

func or[T ~string](s T, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return string(s)
}

// printChart prints a chart as it stands: a line a chance, a line an action
// under it, then the score, what was left hanging, and the findings.
func printChart(c *replay.Chart) string {
	var b strings.Builder
	for i := range c.Chances {
		ch := &c.Chances[i]
		fmt.Fprintf(&b, "  P%d %s-%s %s, %s: %s\n", ch.When.Period, clockOf(ch.When), clockOf(ch.Finish), ch.Offence, or(ch.Origin, "?"), endOf(ch))
		for _, a := range c.Actions[ch.First : ch.First+ch.Actions] {
			fmt.Fprintf(&b, "    %s %s: %s on %s, %s\n", a.Kind, a.Outcome, or(a.Defender, "nobody"), or(a.Opponent, "nobody"), or(a.Reading, "no reading"))
		}
	}
	if c.Info.Home.ID != "" {
		fmt.Fprintf(&b, "  score %s %d, %s %d\n", c.Info.Home.ID, c.Now.Score[c.Info.Home.ID], c.Info.Away.ID, c.Now.Score[c.Info.Away.ID])
	}
	for _, team := range []events.Token{"a", "b"} {
		if floor := c.Now.LineUps[team]; len(floor) > 0 {
			fmt.Fprintf(&b, "  on the floor for %s: %s\n", team, floor)
		}
	}
	for _, a := range c.Strays {
		fmt.Fprintf(&b, "  stray: %s %s by %s\n", a.Kind, a.Outcome, a.Defender)
	}
	for _, n := range c.Notes {
		fmt.Fprintf(&b, "  note: %s\n", n.Text)
	}
	for _, f := range c.Findings {
		fmt.Fprintf(&b, "  finding: %s\n", f.What)
	}
	return b.String()
}

func clockOf(w events.When) string {
	if w.Clock == nil {
		return "?"
	}
	return strconv.FormatFloat(*w.Clock, 'g', -1, 64)
}

func endOf(c *replay.Chance) string {
	if !c.Ended {
		return "open"
	}
	text := string(c.End)
	if who := c.Shooter + c.LostBy; who != "" {
		text += " by " + string(who)
	}
	if c.Attempted > 0 {
		text += fmt.Sprintf(", %d of %d free throws", c.Made, c.Attempted)
	}
	if c.Rebound != "" {
		text += fmt.Sprintf(", rebound %s %s", c.Rebound, c.ReboundBy)
	}
	return fmt.Sprintf("%s, %d points, ball to %s", text, c.Points, or(c.Ball, "?"))
}
