package events

import (
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strings"
	"time"
)

// The rules of one body as a whole: what no single field can know.

func (g *GameOpened) whole() *FieldError {
	if g.Home.ID == g.Away.ID {
		return &FieldError{"body.away.id", fmt.Sprintf("%q is the home team too", g.Away.ID)}
	}
	if g.Date != "" {
		if _, err := time.Parse(time.DateOnly, g.Date); err != nil {
			return &FieldError{"body.date", fmt.Sprintf("%q; want a date such as 2031-01-14", g.Date)}
		}
	}
	seen := make(map[Token]bool)
	for i, p := range g.Players {
		at := fmt.Sprintf("body.players[%d]", i)
		switch {
		case p.Team != g.Home.ID && p.Team != g.Away.ID:
			return &FieldError{at + ".team", fmt.Sprintf("%q plays for neither %s nor %s", p.Team, g.Home.ID, g.Away.ID)}
		case seen[p.ID]:
			return &FieldError{at + ".id", fmt.Sprintf("%q stands twice in the roster", p.ID)}
		case p.Number != "" && !shirt.MatchString(p.Number):
			return &FieldError{at + ".number", fmt.Sprintf("%q; want a shirt number, 0 to 99 or 00", p.Number)}
		}
		seen[p.ID] = true
	}
	return nil
}

var shirt = regexp.MustCompile(`^[0-9]{1,2}$`)

func (c *ChartScoped) whole() *FieldError {
	if c.Ends == OneEnd && c.Team == "" && c.Focus == "" {
		return &FieldError{"body.team", "is missing; a chart of one end says whose defence it holds"}
	}
	return nil
}

func (l *LineupSet) whole() *FieldError {
	if len(l.Players) < 1 || len(l.Players) > 5 {
		return &FieldError{"body.players", fmt.Sprintf("%d players; want 1 to 5", len(l.Players))}
	}
	for i, p := range l.Players {
		if slices.Contains(l.Players[:i], p) {
			return &FieldError{fmt.Sprintf("body.players[%d]", i), fmt.Sprintf("%q stands twice", p)}
		}
	}
	return nil
}

func (s *Substituted) whole() *FieldError {
	if s.In == "" && s.Out == "" {
		return &FieldError{"body.in", "nobody came in and nobody went out"}
	}
	return nil
}

func (a *Action) whole() *FieldError {
	if a.Outcome == "" {
		return &FieldError{"body.outcome", "is missing"}
	}
	if !a.Kind.Takes(a.Outcome) {
		var words []string
		for _, o := range OutcomesOf(a.Kind) {
			words = append(words, string(o.Outcome))
		}
		return &FieldError{"body.outcome", fmt.Sprintf("%q is no way for a %s to end%s", a.Outcome, a.Kind, orNearest(string(a.Outcome), words))}
	}
	names := make([]string, 0, len(a.Details))
	for name := range a.Details {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if err := checkDetail(a.Kind, name, a.Details[name]); err != nil {
			return err
		}
	}
	return nil
}

func checkDetail(k Kind, name string, values []string) *FieldError {
	at := "body.details." + name
	row, ok := Detail(k, name)
	if !ok {
		var names []string
		for _, d := range DetailsOf(k) {
			names = append(names, d.Name)
		}
		return &FieldError{at, fmt.Sprintf("a %s has no detail %q%s", k, name, orNearest(name, names))}
	}
	if len(values) == 0 {
		return &FieldError{at, "is empty; leave it out instead"}
	}
	if len(values) > 1 && !row.Many {
		return &FieldError{at, fmt.Sprintf("%d values; takes one", len(values))}
	}
	for _, v := range values {
		if reason := row.refuses(v); reason != "" {
			return &FieldError{at, reason}
		}
	}
	return nil
}

func (row DetailRow) refuses(value string) string {
	switch row.Holds {
	case HoldsPlayer:
		return Token(value).check()
	case HoldsEvent:
		return ID(value).check()
	case HoldsText:
		if value == "" || len(value) > 200 {
			return "want 1 to 200 characters"
		}
		return ""
	}
	if slices.Contains(row.Words, value) {
		return ""
	}
	return notAWord(value, row.Words)
}

func orNearest(word string, words []string) string {
	if near := Nearest(word, words); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	return "; want one of " + strings.Join(words, ", ")
}

func (c *ChanceEnded) whole() *FieldError {
	switch {
	case c.Turnover != "" && c.End != TurnoverEnd:
		return &FieldError{"body.turnover", fmt.Sprintf("said with end %q; want end %q", c.End, TurnoverEnd)}
	case c.Next == Dead, c.Next != "" && c.End != JumpBallEnd:
		return &FieldError{"body.next", fmt.Sprintf("%q with end %q; only a jump-ball has a next, offence or defence", c.Next, c.End)}
	case c.Made > c.Attempted:
		return &FieldError{"body.made", fmt.Sprintf("%d of %d free throws", c.Made, c.Attempted)}
	case c.Attempted > 3:
		return &FieldError{"body.attempted", fmt.Sprintf("%d free throws; a trip has at most 3, others are penalty-shots", c.Attempted)}
	case c.Attempted > 0 && !c.End.mayHaveFreeThrows():
		return &FieldError{"body.attempted", fmt.Sprintf("free throws with end %q; want made-2, made-3 or free-throws", c.End)}
	case c.Heave && !c.End.Shot():
		return &FieldError{"body.heave", fmt.Sprintf("said with end %q, which is no shot", c.End)}
	case c.BlockedBy != "" && !c.End.Missed():
		return &FieldError{"body.blocked_by", fmt.Sprintf("said with end %q; a blocked shot is missed", c.End)}
	case c.TeamRebound && (c.ReboundBy != "" || c.Rebound == ""):
		return &FieldError{"body.team_rebound", "a team's rebound has a side and no player"}
	case c.StealBy != "" && c.End != TurnoverEnd:
		return &FieldError{"body.steal_by", fmt.Sprintf("said with end %q; want end turnover", c.End)}
	}
	return nil
}

func (e End) mayHaveFreeThrows() bool { return e == Made2 || e == Made3 || e == FreeThrowEnd }

// Shot reports whether the end is a field goal attempt.
func (e End) Shot() bool { return e == Made2 || e == Made3 || e.Missed() }

// Missed reports whether the end is a missed field goal attempt.
func (e End) Missed() bool { return e == Missed2 || e == Missed3 }

// Three reports whether the end is a three-point attempt.
func (e End) Three() bool { return e == Made3 || e == Missed3 }

func (s *ShotsTaken) whole() *FieldError   { return shotsCount(s.Made, s.Attempted) }
func (p *PenaltyShots) whole() *FieldError { return shotsCount(p.Made, p.Attempted) }

func shotsCount(made, attempted int) *FieldError {
	switch {
	case made > attempted:
		return &FieldError{"body.made", fmt.Sprintf("%d of %d free throws", made, attempted)}
	case attempted < 1 || attempted > 3:
		return &FieldError{"body.attempted", fmt.Sprintf("%d free throws; want 1 to 3", attempted)}
	}
	return nil
}

func (a *Amended) whole() *FieldError {
	if len(a.Body) == 0 && a.When == nil {
		return &FieldError{"body.body", "is missing, and so is a new when: nothing would change"}
	}
	return nil
}

func (r *Reassigned) whole() *FieldError {
	switch {
	case r.From == r.To:
		return &FieldError{"body.to", fmt.Sprintf("%q is whom it says already", r.To)}
	case len(r.Targets) == 0:
		return &FieldError{"body.targets", "is empty; name the events to put right"}
	}
	return nil
}

func (m *ChanceMerged) whole() *FieldError {
	if m.Keep == m.Drop {
		return &FieldError{"body.drop", "is the chance to keep"}
	}
	return nil
}

func (f *FilmAnchored) whole() *FieldError {
	if reason := At(f.Period, f.Clock).check(); reason != "" {
		return &FieldError{"body", reason}
	}
	if f.Period < 1 {
		return &FieldError{"body.period", "is missing; 1 is the first"}
	}
	return nil
}

func (n *Noted) whole() *FieldError {
	if n.Text == "" {
		return &FieldError{"body.text", "is missing"}
	}
	return nil
}

func (f *FilmLinked) whole() *FieldError {
	if f.Name == "" {
		return &FieldError{"body.name", "is missing; want the film's file name"}
	}
	return nil
}
