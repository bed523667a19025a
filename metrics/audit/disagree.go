package audit

import (
	"slices"

	"stopledger/events"
)

// Disagreement is one chance or action on which charts differ, with each
// chart's version of it.
type Disagreement struct {
	// ID is the event of the first version; the same charts give the same ids.
	ID       events.ID `json:"id"`
	What     string    `json:"what"`   // chance or action
	Fields   []string  `json:"fields"` // what differs: "seen", or the names of fields
	Place    Place     `json:"place"`  // in the first chart that holds it
	Versions []Version `json:"versions"`

	unit int
}

// Version is what one chart says.
type Version struct {
	Chart events.Token `json:"chart"`
	Seen  bool         `json:"seen"` // false: the chart set out to hold it and does not
	Place Place        `json:"place"`
	Text  string       `json:"text"`

	Kind     events.Kind    `json:"kind,omitempty"`
	Defender events.Token   `json:"defender,omitempty"`
	Opponent events.Token   `json:"opponent,omitempty"`
	Outcome  events.Outcome `json:"outcome,omitempty"`
	Reading  events.Reading `json:"reading,omitempty"`
	Blind    bool           `json:"blind,omitempty"` // read before the result was seen
	End      events.End     `json:"end,omitempty"`
	Points   int            `json:"points,omitempty"`
}

// disagreements lists the units on which charts differ, in the order of play.
func (u *units) disagreements() []Disagreement {
	out := []Disagreement{}
	for i := range u.chances {
		if d, differ := u.differ(u.chances[i], "chance", u.chanceVersion, u.chanceFields); differ {
			d.unit = i
			out = append(out, d)
		}
	}
	for i := range u.actions {
		// An action of a chance that a chart lacks goes with the chance.
		if d, differ := u.differ(u.actions[i], "action", u.actionVersion, u.actionFields); differ && !u.onlyByChance(i) {
			d.unit = i
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(a, b Disagreement) int { return inPlay(a.Place, b.Place) })
	return out
}

// onlyByChance reports whether an action differs only because charts lack its
// whole chance.
func (u *units) onlyByChance(i int) bool {
	one, chance := u.actions[i], u.chances[u.actions[i].chance]
	seen := 0
	for k := range u.charts {
		if one.missing[k] && !chance.missing[k] {
			return false
		}
		if one.of[k] >= 0 {
			seen++
		}
	}
	return seen < 2
}

// differ makes a disagreement of a unit on which charts differ.
func (u *units) differ(one unit, what string, version func(chart, index int) Version, fields func(one unit) []string) (Disagreement, bool) {
	names := fields(one)
	if slices.Contains(one.missing, true) {
		names = append([]string{"seen"}, names...)
	}
	if len(names) == 0 {
		return Disagreement{}, false
	}
	d := Disagreement{What: what, Fields: names}
	for i, k := range one.of {
		switch {
		case k >= 0:
			v := version(i, k)
			if d.ID == "" {
				d.ID, d.Place = v.Place.Event, v.Place
			}
			d.Versions = append(d.Versions, v)
		case one.missing[i]:
			d.Versions = append(d.Versions, Version{Chart: u.charts[i].Name, Text: "not charted"})
		}
	}
	return d, true
}

func (u *units) chanceVersion(chart, index int) Version {
	ch := &u.charts[chart].Chances[index]
	return Version{Chart: u.charts[chart].Name, Seen: true, Place: placeAt(ch.When, ch.ID, ch.ID), Text: heldBy(ch), End: ch.End, Points: ch.Points}
}

func (u *units) actionVersion(chart, index int) Version {
	a := &u.charts[chart].Actions[index]
	return Version{
		Chart: u.charts[chart].Name, Seen: true, Place: placeAt(a.When, a.ChanceID, a.ID), Text: actionText(a),
		Kind: a.Kind, Defender: a.Defender, Opponent: a.Opponent, Outcome: a.Outcome, Reading: a.Reading, Blind: blindness(a) == 1,
	}
}

// said is what a chart fills some fields with; an empty one is not filled.
type said [5]string

var (
	chanceFields = said{"end", "free throws", "rebound", "turnover", "shooter"}
	actionFields = said{"kind", "defender", "opponent", "outcome", "reading"}
)

func (u *units) chanceFields(one unit) []string {
	return differing(one, chanceFields, func(chart, k int) said {
		ch := &u.charts[chart].Chances[k]
		if !ch.Ended {
			return said{}
		}
		return said{string(ch.End), freeThrows(ch.Made, ch.Attempted), string(ch.Rebound), string(ch.Turnover), string(ch.Shooter)}
	})
}

func (u *units) actionFields(one unit) []string {
	return differing(one, actionFields, func(chart, k int) said {
		a := &u.charts[chart].Actions[k]
		outcome := string(a.Outcome)
		if bare(a.Outcome) && a.Reading != events.Unclear {
			outcome = "" // says no more than the reading
		}
		return said{string(a.Kind), orNobody(a.Defender), string(a.Opponent), outcome, string(a.Reading)}
	})
}

// differing names the fields that two charts fill differently.
func differing(one unit, names said, values func(chart, index int) said) []string {
	var out []string
	var first said
	for i, k := range one.of {
		if k < 0 {
			continue
		}
		for f, v := range values(i, k) {
			switch {
			case v == "":
			case first[f] == "":
				first[f] = v
			case first[f] != v && !slices.Contains(out, names[f]):
				out = append(out, names[f])
			}
		}
	}
	return out
}
