package audit

import (
	"math"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/metrics/stats"
	"stopledger/replay"
)

func sqrt(x float64) float64 { return math.Sqrt(max(x, 0)) }

// judged is every field of a pair of charts.
type judged struct {
	kind, outcome, reading, defender, opponent, role, zone *judging // of actions
	end, scheme                                            *judging // of chances
	order                                                  *judging
	blind                                                  [3]*judging // both blind, one of them, neither
}

func (f *judged) list() []*judging {
	return []*judging{f.kind, f.outcome, f.reading, f.defender, f.opponent, f.role, f.zone, f.end, f.scheme}
}

var scale = []string{string(events.Held), string(events.Even), string(events.Broken)}

func newJudged() *judged {
	f := &judged{
		kind: newJudging("kind", events.Kind("").Words()), outcome: newJudging("outcome", nil),
		reading: newJudging("reading", events.Reading("").Words()), defender: newJudging("defender", nil),
		opponent: newJudging("opponent", nil), role: newJudging("role", events.Role("").Words()), zone: newJudging("zone", nil),
		end: newJudging("end", events.End("").Words()), scheme: newJudging("scheme", events.Base("").Words()),
	}
	for i, row := range events.Kinds {
		var words []string
		for _, o := range events.OutcomesOf(row.Kind) {
			words = append(words, string(o.Outcome))
		}
		f.outcome.stratum(i, words)
	}
	ordered := func(name string) *judging {
		j := newJudging(name, scale)
		j.weights = stats.LinearWeights
		return j
	}
	f.order = ordered("held, even, broken")
	for i, name := range []string{"both readings blind", "one reading blind", "neither said to be blind"} {
		f.blind[i] = ordered(name)
	}
	return f
}

// judge collects the labels of what both charts saw.
func (p *pairing) judge() *judged {
	f := newJudged()
	zones := zoner(p.a)
	roles := rolesOf(p.a, p.b)
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		f.action(p.chanceOfA[a.Chance], a, b, roles, zones)
	}
	for i, l := range p.chances {
		f.chance(i, &p.a.Chances[l.a], &p.b.Chances[l.b])
	}
	return f
}

func (f *judged) action(chance int, a, b *replay.Action, roles map[events.Token]events.Role, zone func(*events.Spot) string) {
	f.kind.add(chance, 0, string(a.Kind), string(b.Kind))
	if a.Kind == b.Kind && !bare(a.Outcome) && !bare(b.Outcome) {
		f.outcome.add(chance, kindIndex[a.Kind], string(a.Outcome), string(b.Outcome))
	}
	if a.Reading != events.NoReading && b.Reading != events.NoReading {
		f.reading.add(chance, 0, string(a.Reading), string(b.Reading))
	}
	if onScale(a.Reading) && onScale(b.Reading) {
		f.order.add(chance, 0, string(a.Reading), string(b.Reading))
		f.blind[2-blindness(a)-blindness(b)].add(chance, 0, string(a.Reading), string(b.Reading))
	}
	both := func(j *judging, x, y string) {
		if x != "" && y != "" {
			j.add(chance, 0, x, y)
		}
	}
	f.defender.add(chance, 0, orNobody(a.Defender), orNobody(b.Defender))
	both(f.opponent, string(a.Opponent), string(b.Opponent))
	both(f.role, string(roles[a.Opponent]), string(roles[b.Opponent]))
	both(f.zone, zone(a.Spot), zone(b.Spot))
}

func (f *judged) chance(i int, a, b *replay.Chance) {
	if a.Ended && b.Ended {
		f.end.add(i, 0, string(a.End), string(b.End))
	}
	if a.Base != events.Unknown && b.Base != events.Unknown {
		f.scheme.add(i, 0, string(a.Base), string(b.Base))
	}
}

var kindIndex = func() map[events.Kind]int {
	at := map[events.Kind]int{}
	for i, row := range events.Kinds {
		at[row.Kind] = i
	}
	return at
}()

// bare reports whether an outcome says no more than the reading, or nothing: it
// is a missing word, not another one.
func bare(o events.Outcome) bool {
	return o == events.BareHeld || o == events.BareEven || o == events.BareBroken || o == events.NotClear
}

func onScale(r events.Reading) bool {
	return r == events.Held || r == events.Even || r == events.Broken
}

// blindness is 1 for a reading said to be taken before the result was seen.
func blindness(a *replay.Action) int {
	if a.Details.First("saw_end") == "no" {
		return 1
	}
	return 0
}

// zoner names the part of the floor of a spot; "" where the spot or the court is
// not known.
func zoner(c *replay.Chart) func(*events.Spot) string {
	floor, err := court.For(string(c.Info.Rules.Name))
	return func(s *events.Spot) string {
		if s == nil || err != nil {
			return ""
		}
		return string(floor.Zone(s.X, s.Y))
	}
}

func rolesOf(charts ...*replay.Chart) map[events.Token]events.Role {
	roles := map[events.Token]events.Role{}
	for _, c := range charts {
		for _, p := range c.Info.Players {
			if p.Role != "" && roles[p.ID] == "" {
				roles[p.ID] = p.Role
			}
		}
	}
	return roles
}

// Hindsight sets readings taken blind beside readings of the same actions taken
// with the result in sight. If the result leads the eye, the one who saw it is
// harsher where the offence scored and milder where it did not.
type Hindsight struct {
	Scored    Lean `json:"scored"`
	NotScored Lean `json:"not_scored"`
}

// Lean counts actions read once blind and once in sight.
type Lean struct {
	Pairs   int `json:"pairs"`
	Harsher int `json:"harsher"` // the one in sight read worse for the defender
	Milder  int `json:"milder"`
}

func (p *pairing) hindsight() Hindsight {
	var h Hindsight
	for _, l := range p.actions {
		a, b := &p.a.Actions[l.a], &p.b.Actions[l.b]
		if blindness(a)+blindness(b) != 1 || !onScale(a.Reading) || !onScale(b.Reading) {
			continue
		}
		blind, sight := a, b
		if blindness(b) == 1 {
			blind, sight = b, a
		}
		lean := &h.NotScored
		if p.a.Chances[a.Chance].Points > 0 {
			lean = &h.Scored
		}
		lean.Pairs++
		switch step := rank(sight.Reading) - rank(blind.Reading); {
		case step > 0:
			lean.Harsher++
		case step < 0:
			lean.Milder++
		}
	}
	return h
}

// rank puts the readings on their scale: 0 held, 1 even, 2 broken.
func rank(r events.Reading) int {
	for i, word := range scale {
		if string(r) == word {
			return i
		}
	}
	return -1
}
