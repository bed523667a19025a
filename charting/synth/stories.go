package synth

// Story is what a named player is in the season for.
type Story string

// The stories. Each is told by numbers in [Truth], never by a label a program
// could read in the events.
const (
	// FlatteredByResults defends poorly behind good team-mates, and his
	// opponents miss.
	FlatteredByResults Story = "flattered-by-results"
	// BetterThanResults defends well among poor team-mates, and his opponents
	// make everything.
	BetterThanResults Story = "better-than-results"
	// SwitchesOntoGuards is a big on a team that switches, and can.
	SwitchesOntoGuards Story = "switches-onto-guards"
	// AttackedOnSwitches is a big on a team that switches, and cannot.
	AttackedOnSwitches Story = "attacked-on-switches"
	// SparseFilm has a handful of clips.
	SparseFilm Story = "sparse-film"
)

// tellStories gives the four named players their numbers, and the two
// prospects the team-mates that go with them.
func (s *Season) tellStories() {
	s.prospect(s.teams[0], FlatteredByResults, -0.55, -0.50, 0.10)
	s.prospect(s.teams[1], BetterThanResults, 0.55, 0.50, -0.10)
	s.switcher(s.teams[2].players[4], SwitchesOntoGuards, 0.80)
	s.switcher(s.teams[3].players[4], AttackedOnSwitches, -0.80)
}

// prospect makes a team's first wing a story: his skill moves one way, his
// luck and his team-mates' presence the other.
func (s *Season) prospect(t *team, story Story, skill, luck, mates float64) {
	for _, p := range t.players {
		p.presence += mates
	}
	p := t.players[2]
	p.story, p.luck, p.presence = story, luck, 0
	for k := range p.skill {
		p.skill[k] += skill - p.alpha
	}
	p.alpha = skill
}

// switcher makes a big average but for what a switch asks of him.
func (s *Season) switcher(p *player, story Story, skill float64) {
	p.story = story
	for k := range p.skill {
		p.skill[k] -= p.alpha
	}
	p.alpha = 0
	for _, k := range []int{drive, ballScreen, closeout} {
		p.skill[k] = skill
	}
	p.skill[coverage] = skill / 2
}
