package synth

import "stopledger/events"

// Planted is something left wrong in a chart on purpose.
type Planted struct {
	Game   events.Token `json:"game"`
	Chart  events.Token `json:"chart"`
	What   string       `json:"what"`
	Text   string       `json:"text"`
	Chance events.ID    `json:"chance,omitempty"`
	Period int          `json:"period"`
	Clock  float64      `json:"clock"`
}
