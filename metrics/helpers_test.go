package metrics

import (
	"fmt"

	"stopledger/events"
)

func tok(s string) events.Token { return events.Token(s) }

func deref(p *float64) string {
	if p == nil {
		return "none"
	}
	return fmt.Sprintf("%.2f", *p)
}
