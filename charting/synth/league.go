package synth

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"stopledger/events"
)

// Roles as indices; noRole is an opponent nobody named, as in a zone.
const (
	guard = iota
	wing
	big
	noRole
)

var roleWords = [...]events.Role{guard: events.Guard, wing: events.Wing, big: events.Big, noRole: ""}

// teamCount is the size of the league: an even number, for the round robin.
const teamCount = 8

// The towns exist on no map, and say so in their names.
var towns = [teamCount]struct{ code, name string }{
	{"qlm", "Quillmarsh (invented)"},
	{"bdw", "Brindlewick (invented)"},
	{"trn", "Tarnhollow (invented)"},
	{"vex", "Vexmoor (invented)"},
	{"mur", "Murkhythe (invented)"},
	{"gsp", "Gorsepenny (invented)"},
	{"ltn", "Lanternby (invented)"},
	{"swh", "Saltwhistle (invented)"},
}

// team is one of the eight: who plays and how it defends.
type team struct {
	index   int
	id      events.Token
	name    string
	players []*player
	first   scheme // how it defends most of the time
	second  scheme // what it changes to
}

// player is a roster line with his truth behind it.
type player struct {
	id     events.Token
	team   int
	number string
	role   int
	share  float64 // of the minutes he is meant to play
	rounds [2]int  // a sparse player appears in these rounds only; zero: in all
	story  Story
	person events.Person

	skill    [kindCount]float64 // alpha + beta: his own log-odds by kind
	alpha    float64
	presence float64 // log-odds that team-mates' shots to contest are missed
	luck     float64 // log-odds of makes in chances he acted in; not repeatable
	shot     float64 // as a shooter, log-odds
	line     float64 // probability of a made free throw
}

// slots is the roster: role and share of the minutes. The shares sum to five.
var slots = []struct {
	role   int
	share  float64
	sparse bool
}{
	{guard, 0.76, false}, {guard, 0.74, false}, {wing, 0.76, false}, {wing, 0.72, false}, {big, 0.70, false},
	{guard, 0.44, false}, {wing, 0.46, false}, {big, 0.42, false},
	{guard, 0.12, true}, {wing, 0.12, true}, {big, 0.12, true},
}

func (s *Season) makeLeague(d dice) {
	names := codenames(d)
	for i := range s.teams {
		t := &team{index: i, id: events.Token(towns[i].code), name: towns[i].name}
		t.first, t.second = teamSchemes[i][0], teamSchemes[i][1]
		numbers := d.Perm(55)[:len(slots)]
		slices.Sort(numbers)
		order := d.Perm(len(slots))
		for j, slot := range slots {
			p := &player{team: i, role: slot.role, share: slot.share, number: strconv.Itoa(numbers[order[j]])}
			p.id = events.Token(fmt.Sprintf("%s-%s", t.id, p.number))
			if slot.sparse {
				p.rounds = [2]int{1 + j - 8, 2 + j - 8}
				p.story = SparseFilm
			}
			s.measure(d, p, names[i*len(slots)+j])
			s.train(d, p)
			t.players = append(t.players, p)
		}
		s.teams[i] = t
	}
	s.tellStories()
}

// codenames are adjective and tool, so that nobody takes them for people.
func codenames(d dice) []string {
	first := []string{"Amber", "Brass", "Cobalt", "Dusky", "Ember", "Flint", "Granite", "Hollow", "Indigo", "Jade", "Umber", "Velvet"}
	last := []string{"Anvil", "Barrel", "Compass", "Kettle", "Ladder", "Mallet", "Pulley", "Rudder", "Spindle", "Trowel"}
	var names []string
	for _, f := range first {
		for _, l := range last {
			names = append(names, f+" "+l)
		}
	}
	d.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	return names
}

// measure gives a player a body; sizes by role are invented.
func (s *Season) measure(d dice, p *player, name string) {
	height := d.normal([]float64{188, 198, 206}[p.role], 3.5)
	known := func(value float64) events.Measure {
		how := d.say(word{"listed", 0.6}, word{"measured", 0.25}, word{"guess", 0.15})
		return events.Measure{Value: math.Round(value), How: events.How(how)}
	}
	shooter := d.odds([]float64{0.65, 0.6, 0.25}[p.role])
	p.person = events.Person{
		ID: p.id, Name: name + " (invented)",
		HeightCM: known(height),
		Wingspan: known(height*1.03 + d.normal(0, 4)),
		WeightKG: known((height-100)*0.92 + d.normal(0, 5)),
		Hand:     events.Hand(d.say(word{"right", 0.84}, word{"left", 0.14}, word{"both", 0.02})),
		Shooter:  &shooter,
	}
	p.shot = d.normal(0, 0.12)
	if shooter {
		p.shot += 0.08
	}
	p.line = min(0.92, max(0.5, d.normal(0.73, 0.07)))
}

// People lists everybody in the league, for a people.jsonl.
func (s *Season) People() []events.Person {
	var people []events.Person
	for _, t := range s.teams {
		for _, p := range t.players {
			people = append(people, p.person)
		}
	}
	return people
}

func (s *Season) player(id events.Token) *player {
	for _, t := range s.teams {
		for _, p := range t.players {
			if p.id == id {
				return p
			}
		}
	}
	return nil
}
