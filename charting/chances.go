package charting

import (
	"stopledger/events"
	"stopledger/replay"
)

// Begin opens a chance for a team. An empty offence or origin is what
// [Session.Next] says.
func (s *Session) Begin(b events.ChanceBegan) ([]events.Event, error) {
	if err := s.begins(&b); err != nil {
		return nil, err
	}
	c := s.Chart()
	if c.Now.Open != "" {
		return nil, refuse("type", "chance %s is still open; end it first", c.Now.Open)
	}
	if c.Closed {
		return nil, refuse("type", "the game is closed")
	}
	if last := lastChance(c); last != nil && earlier(s.when, last.Finish) {
		return nil, refuse("when.clock", "lies before the end of the last chance; insert the chance instead")
	}
	return s.write(nil, s.now(&b))
}

// begins fills in and checks a chance's beginning.
func (s *Session) begins(b *events.ChanceBegan) error {
	if err := s.opened(); err != nil {
		return err
	}
	offence, origin := s.nextBall(s.Chart())
	if b.Offence == "" {
		b.Offence = offence
	}
	if b.Origin == "" && (offence == "" || b.Offence == offence) {
		b.Origin = origin
	}
	if s.when.Period == 0 {
		return refuse("when.period", "is missing; say where the game stands first")
	}
	return s.team("body.offence", b.Offence, false)
}

// earlier reports whether a moment lies before another in the order of play.
func earlier(a, b events.When) bool {
	if a.Period != b.Period {
		return a.Period < b.Period
	}
	return a.Clock != nil && b.Clock != nil && *a.Clock > *b.Clock
}

// Act charts one thing a defender was asked to do. An empty chance is the open
// one; actions may be added to a chance that has ended.
func (s *Session) Act(a events.Action) ([]events.Event, error) {
	c, err := s.chance("body.chance", a.Chance)
	if err != nil {
		return nil, err
	}
	a.Chance = c.ID
	if err := s.actors(&a, c); err != nil {
		return nil, err
	}
	return s.write(nil, s.now(&a))
}

func (s *Session) actors(a *events.Action, c *replay.Chance) error {
	if err := s.player("body.defender", a.Defender, c.Defence); err != nil {
		return err
	}
	return s.player("body.opponent", a.Opponent, c.Offence)
}

// End closes a chance: the open one when none is named.
func (s *Session) End(b events.ChanceEnded) ([]events.Event, error) {
	c, err := s.chance("body.chance", b.Chance)
	if err != nil {
		return nil, err
	}
	b.Chance = c.ID
	switch {
	case c.Ended:
		return nil, refuse("body.chance", "%s has an end; amend that", c.ID)
	case earlier(s.when, c.When) || s.when.Period != c.When.Period:
		return nil, refuse("when.clock", "the chance cannot end before it began, or in another period")
	}
	if err := s.enders(&b, c.Offence, c.Defence); err != nil {
		return nil, err
	}
	return s.write(nil, s.now(&b))
}

// enders checks who did what at an end.
func (s *Session) enders(b *events.ChanceEnded, offence, defence events.Token) error {
	rebounder := map[events.Side]events.Token{events.Offence: offence, events.Defence: defence}[b.Rebound]
	for _, p := range []struct {
		field        string
		player, team events.Token
	}{
		{"body.shooter", b.Shooter, offence}, {"body.lost_by", b.LostBy, offence}, {"body.blocked_by", b.BlockedBy, defence},
		{"body.steal_by", b.StealBy, defence}, {"body.rebound_by", b.ReboundBy, rebounder},
	} {
		if err := s.player(p.field, p.player, p.team); err != nil {
			return err
		}
	}
	return nil
}

// FreeThrows charts throws that came after the end was charted: of the last
// chance when none is named.
func (s *Session) FreeThrows(b events.ShotsTaken) ([]events.Event, error) {
	if last := lastChance(s.Chart()); b.Chance == "" && last != nil {
		b.Chance = last.ID
	}
	c, err := s.chance("body.chance", b.Chance)
	if err != nil {
		return nil, err
	}
	switch {
	case !c.Ended:
		return nil, refuse("body.chance", "%s has not ended; chart the throws with its end", c.ID)
	case c.End != events.FreeThrowEnd && c.End != events.Made2 && c.End != events.Made3:
		return nil, refuse("body.chance", "%s ended with %s, which gives no throws", c.ID, c.End)
	case c.Attempted+b.Attempted > 3:
		return nil, refuse("body.attempted", "%d with the %d charted; a trip has at most 3", b.Attempted, c.Attempted)
	}
	if err := s.player("body.shooter", b.Shooter, c.Offence); err != nil {
		return nil, err
	}
	return s.write(nil, s.now(&b))
}

// Insert charts a missed chance as a whole, at an earlier moment than the
// chart has reached. From and to are its beginning and its end.
func (s *Session) Insert(from, to events.When, b events.ChanceBegan, end events.ChanceEnded) ([]events.Event, error) {
	if err := s.team("body.offence", b.Offence, false); err != nil {
		return nil, err
	}
	if from.Period == 0 || from.Clock == nil || to.Clock == nil || to.Period != from.Period {
		return nil, refuse("when", "want period and clock of beginning and end, in one period")
	}
	if earlier(to, from) {
		return nil, refuse("when.clock", "the chance cannot end before it began")
	}
	if err := s.enders(&end, b.Offence, other(s.Chart(), b.Offence)); err != nil {
		return nil, err
	}
	began := draft{s.mint.ID(), from, &b}
	end.Chance = began.id
	return s.write(s.fits(began.id), began, draft{s.mint.ID(), to, &end})
}

// fits refuses a chart in which a chance that was put in overlaps with the one
// before it or the one behind it.
func (s *Session) fits(id events.ID) func(*replay.Chart) error {
	loss := s.noLoss()
	return func(c *replay.Chart) error {
		for i := range c.Chances {
			if c.Chances[i].ID != id {
				continue
			}
			if i > 0 && earlier(c.Chances[i].When, c.Chances[i-1].Finish) {
				return refuse("when.clock", "lies within chance %s", c.Chances[i-1].ID)
			}
			if i+1 < len(c.Chances) && earlier(c.Chances[i+1].When, c.Chances[i].Finish) {
				return refuse("when.clock", "runs into chance %s", c.Chances[i+1].ID)
			}
		}
		return loss(c)
	}
}

// Split makes two chances of one. The first ends at a moment as given; the
// second begins there, takes over the end of the whole, and the actions from
// one on ("" for none).
func (s *Session) Split(chance events.ID, at events.When, first events.ChanceEnded, second events.ChanceBegan, from events.ID) ([]events.Event, error) {
	c, err := s.chance("body.chance", chance)
	if err != nil {
		return nil, err
	}
	if at.Period != c.When.Period || earlier(at, c.When) || c.Ended && earlier(c.Finish, at) {
		return nil, refuse("when.clock", "lies outside chance %s", c.ID)
	}
	if second.Offence == "" {
		second.Offence = c.Offence
	}
	if err := s.team("body.offence", second.Offence, false); err != nil {
		return nil, err
	}
	if err := s.enders(&first, c.Offence, c.Defence); err != nil {
		return nil, err
	}
	first.Chance = c.ID
	end := draft{s.mint.ID(), at, &first}
	began := draft{s.mint.ID(), at, &second}
	drafts := []draft{end, began}
	moved, err := s.moved(c, from)
	if err != nil {
		return nil, err
	}
	for _, id := range moved {
		d, err := s.moveTo(id, began.id)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, d)
	}
	return s.write(s.fits(began.id), drafts...)
}

// moved lists what goes over to the second half of a chance: its end, and its
// actions from one on.
func (s *Session) moved(c *replay.Chance, from events.ID) ([]events.ID, error) {
	var ids []events.ID
	for _, f := range s.standing() {
		switch b := f.Body.(type) {
		case *events.ChanceEnded:
			if s.kept(b.Chance) == c.ID && !f.Voided {
				ids = append(ids, f.Event.ID)
			}
		case *events.ShotsTaken:
			if s.kept(b.Chance) == c.ID && !f.Voided {
				ids = append(ids, f.Event.ID)
			}
		}
	}
	found := from == ""
	for _, a := range s.Chart().Actions[c.First : c.First+c.Actions] {
		found = found || a.ID == from
		if found && from != "" {
			ids = append(ids, a.ID)
		}
	}
	if !found {
		return nil, refuse("body.chance", "action %s is not of chance %s", from, c.ID)
	}
	return ids, nil
}

// Join makes one chance of two of the same side that follow each other: the
// first keeps its beginning, the second its end.
func (s *Session) Join(first, second events.ID) ([]events.Event, error) {
	a, err := s.chance("body.keep", first)
	if err != nil {
		return nil, err
	}
	b, err := s.chance("body.drop", second)
	if err != nil {
		return nil, err
	}
	c := s.Chart()
	at := 0
	for c.Chances[at].ID != a.ID {
		at++
	}
	switch {
	case a.Offence != b.Offence:
		return nil, refuse("body.drop", "is a chance of %s; the other is %s's", b.Offence, a.Offence)
	case at+1 == len(c.Chances) || c.Chances[at+1].ID != b.ID || a.When.Period != b.When.Period:
		return nil, refuse("body.drop", "%s does not follow %s in the same period", b.ID, a.ID)
	}
	drafts := []draft{s.correction(&events.ChanceMerged{Keep: a.ID, Drop: b.ID})}
	for _, f := range s.standing() {
		if end, ok := f.Body.(*events.ChanceEnded); ok && s.kept(end.Chance) == a.ID && !f.Voided {
			drafts = append(drafts, s.correction(&events.Voided{Target: f.Event.ID, Base: f.Revision, Why: "joined with the chance behind it"}))
		}
	}
	return s.write(s.noLoss(), drafts...)
}

// kept follows joins from a chance that was dropped to the one it belongs to.
func (s *Session) kept(chance events.ID) events.ID {
	for range len(s.known) {
		to := chance
		for _, f := range s.standing() {
			if m, ok := f.Body.(*events.ChanceMerged); ok && !f.Voided && m.Drop == chance {
				to = m.Keep
			}
		}
		if to == chance {
			break
		}
		chance = to
	}
	return chance
}
