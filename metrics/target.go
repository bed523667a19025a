package metrics

import (
	"fmt"

	"stopledger/events"
	"stopledger/metrics/stats/pooled"
)

// Target is what the pooled model is fitted to.
type Target string

// The two targets. The process is the defender's own (held, with even as the
// definition counts it, against broken); a stop needs four team-mates.
const (
	Process Target = "process"
	Result  Target = "result"
)

// Targets lists the targets, for flags and pages.
func Targets() []string { return []string{string(Result), string(Process)} }

// ParseTarget reads a target.
func ParseTarget(text string) (Target, error) {
	switch t := Target(text); t {
	case Process, Result:
		return t, nil
	}
	if near := events.Nearest(text, Targets()); near != "" {
		return "", fmt.Errorf("target %q; did you mean %q?", text, near)
	}
	return "", fmt.Errorf("target %q: want %s (stops) or %s (readings)", text, Result, Process)
}

// Pooled is what the pooled model says of a rate or a number of points: the mean
// and standard deviation of its posterior and three of its quantiles, so that
// Q10 to Q90 is the 80 % interval.
type Pooled struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	Q10  float64 `json:"q10"`
	Q50  float64 `json:"q50"`
	Q90  float64 `json:"q90"`
}

func summary(draws []float64) Pooled { return Pooled(pooled.Summarise(draws)) }
