package events

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
)

// Person is what is known of a player beyond his code: it lives outside the
// log, in a bucket that can be erased, and travels as people.jsonl.
type Person struct {
	ID       Token   `json:"id"`
	Name     string  `json:"name,omitempty"`
	HeightCM Measure `json:"height_cm,omitzero"`
	Wingspan Measure `json:"wingspan_cm,omitzero"`
	WeightKG Measure `json:"weight_kg,omitzero"`
	Hand     Hand    `json:"hand,omitempty"`
	Shooter  *bool   `json:"shooter,omitempty"` // must be guarded at the three-point line
}

// Measure is a number and how it is known.
type Measure struct {
	Value float64 `json:"value"`
	How   How     `json:"how"`
}

// How says how a measurement is known.
type How string

// Words lists how a measurement may be known.
func (How) Words() []string { return []string{"listed", "measured", "guess"} }

// Hand is the hand a player shoots with.
type Hand string

// Words lists the hands.
func (Hand) Words() []string { return []string{"right", "left", "both"} }

// CheckPerson says whether a person's line may be stored.
func CheckPerson(p Person) error {
	if err := CheckBody(&personBody{p}); err != nil {
		return err
	}
	for name, m := range map[string]Measure{"height_cm": p.HeightCM, "wingspan_cm": p.Wingspan} {
		if m.How != "" && (m.Value < 100 || m.Value > 280) {
			return &FieldError{name, fmt.Sprintf("%g; want centimetres, 100 to 280", m.Value)}
		}
	}
	if m := p.WeightKG; m.How != "" && (m.Value < 30 || m.Value > 250) {
		return &FieldError{"weight_kg", fmt.Sprintf("%g; want kilograms, 30 to 250", m.Value)}
	}
	return nil
}

// personBody lends a person the checks of a body.
type personBody struct {
	Person `json:"person"`
}

func (*personBody) Type() Type { return "person" }

// ReadPerson reads and checks one person's line.
func ReadPerson(line []byte) (Person, error) {
	var p Person
	if err := json.Unmarshal(line, &p); err != nil {
		return p, fmt.Errorf("no person: %s", jsonReason(err))
	}
	return p, CheckPerson(p)
}

// ReadPeople reads a people.jsonl.
func ReadPeople(r io.Reader) ([]Person, error) {
	var people []Person
	in := bufio.NewScanner(r)
	for n := 1; in.Scan(); n++ {
		if len(in.Bytes()) == 0 {
			continue
		}
		p, err := ReadPerson(in.Bytes())
		if err != nil {
			return nil, &LineError{n, err}
		}
		people = append(people, p)
	}
	return people, in.Err()
}

// WritePeople writes a people.jsonl.
func WritePeople(w io.Writer, people []Person) error {
	out := json.NewEncoder(w)
	for _, p := range people {
		if err := out.Encode(p); err != nil {
			return fmt.Errorf("write person %s: %w", p.ID, err)
		}
	}
	return nil
}
