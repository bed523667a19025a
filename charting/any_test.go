package charting_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stopledger/charting"
	"stopledger/events"
	"stopledger/replay"
)

// charter gives commands by chance, each as one who looks at the chart would.
type charter struct {
	t     *rapid.T
	s     *charting.Session
	clock float64
}

var rosters = map[events.Token][]events.Token{"a": {"a1", "a2", "a3", "a4"}, "b": {"b1", "b2", "b3", "b4"}}

var facing = map[events.Token]events.Token{"a": "b", "b": "a"}

func pick[T any](t *rapid.T, name string, from []T) T { return rapid.SampledFrom(from).Draw(t, name) }

func (c *charter) man(team events.Token) events.Token {
	if team == "" {
		return ""
	}
	return pick(c.t, "man", rosters[team])
}

func (c *charter) tick() {
	c.clock = max(1, c.clock-float64(rapid.IntRange(1, 5).Draw(c.t, "seconds")))
	w := events.At(1, c.clock)
	w.From = "ticked"
	if err := c.s.At(w); err != nil {
		c.t.Fatal(err)
	}
}

// commands by name; one that makes no sense now returns nothing.
var commands = map[string]func(*charter, charting.Next) ([]events.Event, error){
	"begin": func(c *charter, n charting.Next) ([]events.Event, error) {
		b := events.ChanceBegan{}
		if n.Offence == "" {
			b.Offence = pick(c.t, "offence", []events.Token{"a", "b"})
		}
		return c.s.Begin(b)
	},
	"act": func(c *charter, n charting.Next) ([]events.Event, error) {
		kind := pick(c.t, "kind", events.Kinds)
		return c.s.Act(events.Action{
			Kind: kind.Kind, Outcome: pick(c.t, "outcome", kind.Outcomes).Outcome, Defender: c.man(facing[n.Offence]), Opponent: c.man(n.Offence),
		})
	},
	"end": func(c *charter, n charting.Next) ([]events.Event, error) { return c.s.End(c.ending(n.Offence)) },
	"throws": func(c *charter, n charting.Next) ([]events.Event, error) {
		made := rapid.IntRange(0, 1).Draw(c.t, "made")
		return c.s.FreeThrows(events.ShotsTaken{Made: made, Attempted: 1})
	},
	"undo": func(c *charter, n charting.Next) ([]events.Event, error) { return c.s.Undo() },
	"note": func(c *charter, n charting.Next) ([]events.Event, error) { return c.s.Note("seen", "") },
	"scheme": func(c *charter, n charting.Next) ([]events.Event, error) {
		return c.s.Scheme(events.SchemeSet{Team: "a", Base: "zone-2-3"})
	},
	"substitute": func(c *charter, n charting.Next) ([]events.Event, error) {
		return c.s.Substitute("a", c.man("a"), c.man("a"))
	},
	"penalty": func(c *charter, n charting.Next) ([]events.Event, error) {
		return c.s.Penalty(events.PenaltyShots{Team: "b", Made: 1, Attempted: 1, Why: "technical", BallAfter: n.Offence})
	},
	"reassign": func(c *charter, n charting.Next) ([]events.Event, error) {
		team := pick(c.t, "team", []events.Token{"a", "b"})
		return c.s.Reassign(c.man(team), c.man(team), rapid.IntRange(1, 4).Draw(c.t, "count"))
	},
	"amend": func(c *charter, n charting.Next) ([]events.Event, error) {
		actions := c.s.Chart().Actions
		if len(actions) == 0 {
			return nil, nil
		}
		a := pick(c.t, "action", actions)
		row, _ := a.Kind.Row()
		return c.s.Amend(a.ID, &events.Action{
			Chance: a.ChanceID, Kind: a.Kind, Outcome: pick(c.t, "outcome", row.Outcomes).Outcome, Defender: a.Defender, Opponent: a.Opponent,
		}, nil, "film")
	},
	"void": func(c *charter, n charting.Next) ([]events.Event, error) {
		actions := c.s.Chart().Actions
		if len(actions) == 0 {
			return nil, nil
		}
		return c.s.Void(pick(c.t, "action", actions).ID, "slip")
	},
	"split": func(c *charter, n charting.Next) ([]events.Event, error) {
		chances := c.s.Chart().Chances
		if len(chances) == 0 {
			return nil, nil
		}
		ch := pick(c.t, "chance", chances)
		from := events.ID("")
		if ch.Actions > 0 && rapid.Bool().Draw(c.t, "with actions") {
			from = c.s.Chart().Actions[ch.First+rapid.IntRange(0, ch.Actions-1).Draw(c.t, "from")].ID
		}
		first := events.ChanceEnded{End: events.Missed2, Shooter: c.man(ch.Offence), Rebound: events.Offence}
		at := *ch.When.Clock - float64(rapid.IntRange(0, 5).Draw(c.t, "into"))
		return c.s.Split(ch.ID, events.At(1, max(0, at)), first, events.ChanceBegan{Origin: events.OffensiveRebound}, from)
	},
	"join": func(c *charter, n charting.Next) ([]events.Event, error) {
		chances := c.s.Chart().Chances
		if len(chances) < 2 {
			return nil, nil
		}
		i := rapid.IntRange(0, len(chances)-2).Draw(c.t, "chance")
		return c.s.Join(chances[i].ID, chances[i+1].ID)
	},
	"more players": func(c *charter, n charting.Next) ([]events.Event, error) {
		return c.s.OpenGame(opening(map[string]string{"rules": "fiba", "a": "a1,a9"}))
	},
	"score": func(c *charter, n charting.Next) ([]events.Event, error) {
		if n.Open != "" {
			return nil, nil
		}
		score := c.s.Chart().Now.Score
		return c.s.Score(score["a"], score["b"])
	},
}

var commandNames = func() []string {
	var names []string
	for name := range commands {
		names = append(names, name)
	}
	slices.Sort(names)
	return append(names, "begin", "begin", "act", "act", "act", "act", "end", "end", "end")
}()

func (c *charter) ending(offence events.Token) events.ChanceEnded {
	defence := facing[offence]
	endings := []events.ChanceEnded{
		{End: events.Made2, Shooter: c.man(offence)},
		{End: events.Made3, Shooter: c.man(offence), Made: 1, Attempted: 1},
		{End: events.Missed2, Shooter: c.man(offence), Rebound: events.Offence, ReboundBy: c.man(offence)},
		{End: events.Missed3, Shooter: c.man(offence), BlockedBy: c.man(defence), Rebound: events.Defence, TeamRebound: true},
		{End: events.FreeThrowEnd, Shooter: c.man(offence), Made: 1, Attempted: 2, Rebound: events.Defence},
		{End: events.TurnoverEnd, Turnover: "steal", LostBy: c.man(offence), StealBy: c.man(defence)},
		{End: events.JumpBallEnd, Next: events.Offence},
	}
	return pick(c.t, "ending", endings)
}

// Whatever a charter does, in whatever order, of what the session lets him do:
// a refused command changes nothing, the chart folds without a finding, a
// session opened anew goes on where this one stands, and a server's gate takes
// the events one by one and knows them again.
func TestLegalCommandsFoldWithoutFindings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		mint := &testMint{}
		seat := charting.Seat{Game: "g", Chart: "main", Charter: "ana", Pad: "p1"}
		s, err := charting.Open(seat, mint, nil)
		if err != nil {
			rt.Fatal(err)
		}
		c := &charter{rt, s, 600}
		if _, err := s.OpenGame(opening(map[string]string{"rules": "fiba", "a": "a1,a2,a3,a4", "b": "b1,b2,b3,b4"})); err != nil {
			rt.Fatal(err)
		}
		c.tick()
		for range rapid.IntRange(5, 40).Draw(rt, "commands") {
			name := pick(rt, "command", commandNames)
			c.tick()
			before := s.Events()
			list, err := commands[name](c, s.Next())
			after := s.Events()
			if len(after) != len(before)+len(list) {
				rt.Fatalf("%s: returned %d events and took in %d (%v)", name, len(list), len(after)-len(before), err)
			}
			for _, f := range s.Chart().Findings {
				// A correction may give the ball or the score another turn
				// than what was charted after it: the charter is to look.
				if f.What != replay.OffenceTwice && f.What != replay.ScoreDiffers {
					rt.Fatalf("after %s: finding %s: %s", name, f.What, f.Text)
				}
			}
		}
		again, err := charting.Open(seat, mint, rapid.Permutation(s.Events()).Draw(rt, "shuffled"))
		if err != nil {
			rt.Fatal(err)
		}
		if got, want := printChart(again.Chart()), printChart(s.Chart()); got != want {
			rt.Fatalf("opened anew:\n%s\nwant:\n%s", got, want)
		}
		passGate(rt, s.Events())
	})
}

func passGate(t *rapid.T, list []events.Event) {
	gate := charting.NewGate("g", "main")
	for i := range list {
		if verdict, err := gate.Judge(&list[i]); err != nil || verdict != charting.Fresh {
			t.Fatalf("n %d: verdict %d, %v", list[i].N, verdict, err)
		}
		gate.Learn(&list[i])
		if verdict, err := gate.Judge(&list[i]); err != nil || verdict != charting.Repeat {
			t.Fatalf("n %d again: verdict %d, %v", list[i].N, verdict, err)
		}
	}
}

// Undoing until nothing is left takes everything back but the opening, and
// never anything twice.
func TestUndoGoesAllTheWayBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, err := charting.Open(charting.Seat{Game: "g", Chart: "main", Charter: "ana", Pad: "p1"}, &testMint{}, nil)
		if err != nil {
			rt.Fatal(err)
		}
		c := &charter{rt, s, 600}
		if _, err := s.OpenGame(opening(map[string]string{"rules": "fiba", "a": "a1,a2,a3,a4", "b": "b1,b2,b3,b4"})); err != nil {
			rt.Fatal(err)
		}
		var states []string
		for range rapid.IntRange(1, 25).Draw(rt, "commands") {
			name := pick(rt, "command", commandNames)
			if name == "undo" || name == "more players" {
				continue
			}
			c.tick()
			state := printChart(s.Chart())
			if list, err := commands[name](c, s.Next()); err == nil && len(list) > 0 {
				states = append(states, state)
				rt.Logf("%s: %d events from n %d", name, len(list), list[0].N)
			}
		}
		for i := range states {
			if _, err := s.Undo(); err != nil {
				rt.Fatalf("undo %d of %d: %v", i+1, len(states), err)
			}
			if got, want := printChart(s.Chart()), states[len(states)-1-i]; got != want {
				rt.Fatalf("after undo %d:\n%s\nwant:\n%s", i+1, got, want)
			}
		}
		if list, err := s.Undo(); err == nil {
			rt.Fatalf("one undo too many wrote %d events", len(list))
		}
	})
}
