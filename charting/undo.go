package charting

import (
	"fmt"
	"slices"
	"strings"

	"stopledger/events"
	"stopledger/replay"
)

// Undo takes back this pad's last step that still stands, by corrections: an
// event is voided, a correction is followed by one that says what stood before
// it. Undoing again goes further back.
func (s *Session) Undo() ([]events.Event, error) {
	step := s.lastStep()
	if len(step) == 0 {
		return nil, refuse("type", "this pad has charted nothing that could be taken back")
	}
	// Whatever this pad wrote after the step is undone, or an undo.
	before := replay.Facts(slices.DeleteFunc(slices.Clone(s.known), func(e events.Event) bool {
		return e.Pad == s.seat.Pad && e.N >= step[0].N
	}))
	var drafts []draft
	for _, e := range slices.Backward(step) {
		for _, target := range targetsOf(e) {
			d, err := s.takeBack(e, target, before)
			if err != nil {
				return nil, err
			}
			drafts = append(drafts, d)
		}
	}
	return s.write(s.noLoss(), drafts...)
}

// takeBack is the correction that undoes what one event did to one target,
// itself when it is an original.
func (s *Session) takeBack(e events.Event, target events.ID, before []replay.Fact) (draft, error) {
	now, ok := s.fact(target)
	if !ok {
		return draft{}, refuse("type", "event %s, which the last step corrected, is not here", target)
	}
	if target == e.ID {
		return s.correction(&events.Voided{Target: target, Base: now.Revision, Why: undoing(e)}), nil
	}
	if s.padOf(now.Revision) != s.seat.Pad {
		return draft{}, refuse("type", "event %s has been corrected since on another pad; put it right there", target)
	}
	i := slices.IndexFunc(before, func(f replay.Fact) bool { return f.Event.ID == target })
	if i < 0 || before[i].Voided {
		return s.correction(&events.Voided{Target: target, Base: now.Revision, Why: undoing(e)}), nil
	}
	when := before[i].When
	return s.amend(now, before[i].Body, &when, undoing(e))
}

func (s *Session) padOf(id events.ID) events.Token {
	for i := range s.known {
		if s.known[i].ID == id {
			return s.known[i].Pad
		}
	}
	return ""
}

// targetsOf lists what an event changed: itself for an original.
func targetsOf(e events.Event) []events.ID {
	switch b := e.Body.(type) {
	case *events.Amended:
		return []events.ID{b.Target}
	case *events.Voided:
		return []events.ID{b.Target}
	case *events.Reassigned:
		return b.Targets
	}
	return []events.ID{e.ID}
}

// lastStep is this pad's last step that is neither an undo nor undone: events
// numbered one after the other and recorded at one time.
func (s *Session) lastStep() []events.Event {
	gone := s.undoneIDs()
	var mine []events.Event
	for _, e := range s.known {
		if e.Pad == s.seat.Pad {
			mine = append(mine, e)
		}
	}
	slices.SortFunc(mine, func(a, b events.Event) int { return int(a.N - b.N) })
	for end := len(mine); end > 0; {
		start := end - 1
		for start > 0 && !mine[start].Recorded.IsZero() && mine[start-1].Recorded.Equal(mine[start].Recorded) && mine[start-1].N+1 == mine[start].N {
			start--
		}
		step := slices.DeleteFunc(slices.Clone(mine[start:end]), func(e events.Event) bool { return gone[e.ID] })
		if len(step) > 0 {
			return step
		}
		end = start
	}
	return nil
}

// undoneIDs are events that need no undoing: undos, what they took back, and
// originals that do not stand.
func (s *Session) undoneIDs() map[events.ID]bool {
	taken := make(map[string]bool) // reasons of undos, which name what they took back
	gone := make(map[events.ID]bool)
	for _, e := range s.known {
		if e.Pad != s.seat.Pad {
			continue
		}
		why := ""
		switch b := e.Body.(type) {
		case *events.Amended:
			why = b.Why
		case *events.Voided:
			why = b.Why
		}
		if strings.HasPrefix(why, undoOf) {
			taken[why], gone[e.ID] = true, true
		}
	}
	for _, e := range s.known {
		if e.Pad == s.seat.Pad && taken[undoing(e)] {
			gone[e.ID] = true
		}
	}
	for _, f := range s.standing() {
		if f.Voided {
			gone[f.Event.ID] = true
		}
	}
	return gone
}

// undoOf begins the reason of an undo; the number of what it takes back
// follows.
const undoOf = "undo "

func undoing(e events.Event) string { return fmt.Sprintf("%s%d", undoOf, e.N) }

// noLoss refuses a correction that would leave other events hanging: actions
// without their chance, a chance that ends before it begins or has no end while
// the next has begun, a chart without its game.
func (s *Session) noLoss() func(*replay.Chart) error {
	held := hanging(s.Chart())
	return func(c *replay.Chart) error {
		if hanging(c) > held {
			return refuse("type", "what was charted later rests on this; put that right first")
		}
		return nil
	}
}

func hanging(c *replay.Chart) int {
	n := len(c.Strays)
	for i := range c.Chances {
		if ch := &c.Chances[i]; ch.Ended && earlier(ch.Finish, ch.When) {
			n++
		}
	}
	for _, f := range c.Findings {
		switch f.What {
		case replay.EndWithoutChance, replay.NoGame, replay.MergeUnknown, replay.ChanceOpen, replay.ChancesOverlap, replay.TooManyShots:
			n++
		}
	}
	return n
}
