package charting

import (
	"encoding/json"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// Amend puts a whole new body, and if when is given a new moment, in the place
// of what stands of an event. A nil body changes the moment alone.
func (s *Session) Amend(target events.ID, body events.Body, when *events.When, why string) ([]events.Event, error) {
	f, err := s.target(target)
	if err != nil {
		return nil, err
	}
	if body != nil && body.Type() != f.Event.Type {
		return nil, refuse("body.body", "is of a %s; the target is a %s", body.Type(), f.Event.Type)
	}
	if body != nil {
		if err := s.sensible(body); err != nil {
			return nil, err
		}
	}
	d, err := s.amend(f, body, when, why)
	if err != nil {
		return nil, err
	}
	return s.write(s.noLoss(), d)
}

// sensible checks a body that is to stand for another as its own command would.
func (s *Session) sensible(body events.Body) error {
	if err := events.CheckBody(body); err != nil {
		return err
	}
	switch b := body.(type) {
	case *events.Action:
		c, err := s.chance("body.chance", b.Chance)
		if err != nil {
			return err
		}
		return s.actors(b, c)
	case *events.ChanceEnded:
		c, err := s.chance("body.chance", b.Chance)
		if err != nil {
			return err
		}
		return s.enders(b, c.Offence, c.Defence)
	case *events.ChanceBegan:
		return s.team("body.offence", b.Offence, false)
	}
	return nil
}

// Void takes an event out. Of a chance, its actions stay in the ledger,
// uncounted, and the fold lists them.
func (s *Session) Void(target events.ID, why string) ([]events.Event, error) {
	f, err := s.target(target)
	if err != nil {
		return nil, err
	}
	if f.Voided {
		return nil, refuse("body.target", "%s is taken out already", target)
	}
	return s.write(func(c *replay.Chart) error {
		if c.Info.Home.ID == "" {
			return refuse("body.target", "%s opens the game; amend it instead", target)
		}
		return nil
	}, s.correction(&events.Voided{Target: target, Base: f.Revision, Why: why}))
}

// target finds what a correction is of: an original, since a correction is
// corrected by going on from it.
func (s *Session) target(id events.ID) (replay.Fact, error) {
	f, ok := s.fact(id)
	switch {
	case ok:
		return f, nil
	case s.ids[id]:
		return f, refuse("body.target", "%s is itself a correction; name the event it corrects", id)
	}
	return f, refuse("body.target", "%q is no event of this chart", string(id))
}

func (s *Session) amend(f replay.Fact, body events.Body, when *events.When, why string) (draft, error) {
	a := &events.Amended{Target: f.Event.ID, Base: f.Revision, When: when, Why: why}
	if body != nil {
		raw, err := json.Marshal(body)
		if err != nil {
			return draft{}, err
		}
		a.Body = raw
	}
	return s.correction(a), nil
}

// moveTo amends an action or an end so that it belongs to another chance.
func (s *Session) moveTo(id, chance events.ID) (draft, error) {
	f, err := s.target(id)
	if err != nil {
		return draft{}, err
	}
	var body events.Body
	switch b := f.Body.(type) {
	case *events.Action:
		moved := *b
		moved.Chance, body = chance, &moved
	case *events.ChanceEnded:
		moved := *b
		moved.Chance, body = chance, &moved
	case *events.ShotsTaken:
		moved := *b
		moved.Chance, body = chance, &moved
	}
	return s.amend(f, body, nil, "split")
}

// Reassign puts a wrong shirt number right in one step: in the last count
// events that name a player, another was meant.
func (s *Session) Reassign(from, to events.Token, count int) ([]events.Event, error) {
	c := s.Chart()
	if err := s.player("body.to", to, teamOf(c, from)); err != nil {
		return nil, err
	}
	if count < 1 {
		return nil, refuse("body.targets", "%d events; want 1 or more", count)
	}
	var targets []events.ID
	for _, f := range slices.Backward(s.standing()) {
		if !f.Voided && names(f.Body, from) && len(targets) < count {
			targets = append(targets, f.Event.ID)
		}
	}
	if len(targets) < count {
		return nil, refuse("body.targets", "only %d events name %s", len(targets), from)
	}
	slices.Reverse(targets)
	return s.write(nil, s.correction(&events.Reassigned{From: from, To: to, Targets: targets}))
}

// names reports whether what was seen on the floor names a player. Line-ups
// and rosters are not meant: they are put right for themselves.
func names(body events.Body, player events.Token) bool {
	switch b := body.(type) {
	case *events.Action:
		if b.Defender == player || b.Opponent == player {
			return true
		}
		for name, values := range b.Details {
			if row, ok := events.Detail(b.Kind, name); ok && row.Holds == events.HoldsPlayer && slices.Contains(values, string(player)) {
				return true
			}
		}
	case *events.ChanceEnded:
		return slices.Contains([]events.Token{b.Shooter, b.LostBy, b.BlockedBy, b.StealBy, b.ReboundBy}, player)
	case *events.ShotsTaken:
		return b.Shooter == player || b.ReboundBy == player
	case *events.PenaltyShots:
		return b.Shooter == player
	}
	return false
}
