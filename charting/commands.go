package charting

import (
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// OpenGame opens the game, or adds to it: players are united, so that numbers
// may be added as they are seen.
func (s *Session) OpenGame(g events.GameOpened) ([]events.Event, error) {
	if home := s.Chart().Info.Home.ID; home != "" && (g.Home.ID != home || g.Away.ID != s.Chart().Info.Away.ID) {
		return nil, refuse("body.home.id", "%s against %s; this game is %s against %s", g.Home.ID, g.Away.ID, home, s.Chart().Info.Away.ID)
	}
	return s.write(nil, s.now(&g))
}

// Scope says what this chart sets out to hold.
func (s *Session) Scope(c events.ChartScoped) ([]events.Event, error) {
	if err := s.team("body.team", c.Team, true); err != nil {
		return nil, err
	}
	if err := s.player("body.focus", c.Focus, c.Team); err != nil {
		return nil, err
	}
	return s.write(nil, s.now(&c))
}

// LinkFilm names a film.
func (s *Session) LinkFilm(f events.FilmLinked) ([]events.Event, error) {
	return s.open(&f)
}

// Anchor ties a film time to the game clock; the film must have been linked.
func (s *Session) Anchor(a events.FilmAnchored) ([]events.Event, error) {
	if !slices.ContainsFunc(s.Chart().Films, func(f events.FilmLinked) bool { return f.ID == a.Film }) {
		return nil, refuse("body.film", "%q is not linked to this chart", a.Film)
	}
	return s.open(&a)
}

// LineUp says who is on the floor for a team.
func (s *Session) LineUp(team events.Token, players ...events.Token) ([]events.Event, error) {
	if err := s.team("body.team", team, false); err != nil {
		return nil, err
	}
	for _, p := range players {
		if err := s.player("body.players", p, team); err != nil {
			return nil, err
		}
	}
	return s.open(&events.LineupSet{Team: team, Players: slices.Clone(players)})
}

// Substitute swaps one man for another.
func (s *Session) Substitute(team, in, out events.Token) ([]events.Event, error) {
	if err := s.team("body.team", team, false); err != nil {
		return nil, err
	}
	if err := s.player("body.in", in, team); err != nil {
		return nil, err
	}
	floor := s.Chart().Now.LineUps[team]
	switch {
	case in != "" && slices.Contains(floor, in):
		return nil, refuse("body.in", "%s is on the floor already", in)
	case out != "" && len(floor) > 0 && !slices.Contains(floor, out):
		return nil, refuse("body.out", "%s is not on the floor", out)
	case out == "" && len(floor) == 5:
		return nil, refuse("body.out", "is missing; %s have five on the floor", team)
	}
	return s.open(&events.Substituted{Team: team, In: in, Out: out})
}

// Scheme says how a team defends from here on.
func (s *Session) Scheme(b events.SchemeSet) ([]events.Event, error) {
	if err := s.team("body.team", b.Team, false); err != nil {
		return nil, err
	}
	return s.open(&b)
}

// Penalty charts free throws that no chance answers for.
func (s *Session) Penalty(p events.PenaltyShots) ([]events.Event, error) {
	if err := s.team("body.team", p.Team, false); err != nil {
		return nil, err
	}
	if err := s.team("body.ball_after", p.BallAfter, true); err != nil {
		return nil, err
	}
	if err := s.player("body.shooter", p.Shooter, p.Team); err != nil {
		return nil, err
	}
	return s.open(&p)
}

// Score notes the scoreboard as seen.
func (s *Session) Score(home, away int) ([]events.Event, error) {
	return s.open(&events.ScoreNoted{Home: home, Away: away})
}

// Note writes a remark, about an event or about nothing in particular.
func (s *Session) Note(text string, about events.ID) ([]events.Event, error) {
	if about != "" && !s.ids[about] {
		return nil, refuse("body.about", "event %s is not of this chart", about)
	}
	return s.open(&events.Noted{Text: text, About: about})
}

// Totals enters the official totals.
func (s *Session) Totals(t events.TotalsEntered) ([]events.Event, error) {
	for team := range t.Teams {
		if err := s.team("body.teams", team, false); err != nil {
			return nil, err
		}
	}
	return s.open(&t)
}

// Adopt makes a chart the game's chart of record.
func (s *Session) Adopt(chart events.Token) ([]events.Event, error) {
	return s.open(&events.ChartAdopted{Chart: chart})
}

// Close says that nothing more is expected. A chance that is still open must
// be ended first.
func (s *Session) Close() ([]events.Event, error) {
	if open := s.Chart().Now.Open; open != "" {
		return nil, refuse("type", "chance %s is still open; end it first", open)
	}
	if s.Chart().Closed {
		return nil, refuse("type", "the game is closed already")
	}
	return s.open(&events.GameClosed{})
}

// open writes one event of a game that has been opened.
func (s *Session) open(body events.Body) ([]events.Event, error) {
	if err := s.opened(); err != nil {
		return nil, err
	}
	return s.write(nil, s.now(body))
}

func (s *Session) opened() error {
	if s.Chart().Info.Home.ID == "" {
		return refuse("type", "the game is not open; open it with its teams first")
	}
	return nil
}

// team refuses a team that does not play in this game.
func (s *Session) team(field string, team events.Token, optional bool) error {
	if err := s.opened(); err != nil {
		return err
	}
	c := s.Chart()
	switch {
	case team == "" && optional:
	case team == "":
		return refuse(field, "is missing; want %s or %s", c.Info.Home.ID, c.Info.Away.ID)
	case other(c, team) == "":
		return refuse(field, "%q plays for neither side; want %s or %s", team, c.Info.Home.ID, c.Info.Away.ID)
	}
	return nil
}

// player refuses a man who is not in the roster, or in that of the other team.
// Nobody is welcome, and so is anybody while the roster is empty.
func (s *Session) player(field string, player, team events.Token) error {
	c := s.Chart()
	if player == "" || len(c.Info.Players) == 0 {
		return nil
	}
	switch has := teamOf(c, player); {
	case has == "":
		return refuse(field, "%q is in no roster; add him by opening the game again with him", player)
	case team != "" && has != team:
		return refuse(field, "%s plays for %s, not for %s", player, has, team)
	}
	return nil
}

// chance finds a chance by id, or the open one for "".
func (s *Session) chance(field string, id events.ID) (*replay.Chance, error) {
	c := s.Chart()
	if err := s.opened(); err != nil {
		return nil, err
	}
	if id == "" {
		id = c.Now.Open
	}
	if id == "" {
		return nil, refuse(field, "no chance is open; begin one, or say which")
	}
	for i := range c.Chances {
		if c.Chances[i].ID == id {
			return &c.Chances[i], nil
		}
	}
	return nil, refuse(field, "%s is no chance of this chart", id)
}
