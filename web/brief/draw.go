package brief

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"stopledger/events"
	"stopledger/events/court"
	"stopledger/metrics"
)

// strip draws an interval to scale from 0 to 100 %: his as a bar with a disc,
// the field's as a thin line with a hollow diamond, so that it reads in black
// and white.
func strip(his metrics.Pooled, field *metrics.Pooled) template.HTML {
	x := func(p float64) float64 { return 2 + 116*math.Max(0, math.Min(1, p)) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="strip" viewBox="0 0 120 16" role="img" aria-label="%s, %s">`, percent(his.Mean), span(his))
	b.WriteString(`<path class="axis" d="M2 8H118M2 5V11M60 5V11M118 5V11"/>`)
	if field != nil {
		fmt.Fprintf(&b, `<path class="field" d="M%.1f 12H%.1f"/><path class="field" d="M%.1f 9l3 3-3 3-3-3z"/>`, x(field.Q10), x(field.Q90), x(field.Mean))
	}
	fmt.Fprintf(&b, `<path class="his" d="M%.1f 5H%.1f"/><circle class="his" cx="%.1f" cy="5" r="3"/></svg>`, x(his.Q10), x(his.Q90), x(his.Mean))
	return template.HTML(b.String())
}

// floor draws the half court with his spots: broken a cross, held a small ring.
func (b *Brief) floor() template.HTML {
	if b.Court == nil {
		return ""
	}
	c := *b.Court
	var s strings.Builder
	const depth = 11.0
	fmt.Fprintf(&s, `<svg class="court" viewBox="%.2f %.2f %.2f %.2f" role="img" aria-label="half court with the places of his actions">`, -c.Width/2-0.2, -c.BasketToEndLine-0.2, c.Width+0.4, depth+c.BasketToEndLine)
	for _, shape := range c.HalfCourt() {
		fmt.Fprintf(&s, `<path class="line" d="%s"/>`, outline(shape))
	}
	for _, spot := range b.Spots {
		switch spot.Reading {
		case events.Broken:
			fmt.Fprintf(&s, `<path class="broken" d="M%.2f %.2fl.5 .5m0 -.5l-.5 .5"/>`, spot.X-0.25, spot.Y-0.25)
		case events.Held:
			fmt.Fprintf(&s, `<circle class="held" cx="%.2f" cy="%.2f" r=".2"/>`, spot.X, spot.Y)
		}
	}
	s.WriteString(`</svg>`)
	return template.HTML(s.String())
}

// outline is a shape of the court as an SVG path.
func outline(s court.Shape) string {
	switch s.Kind {
	case "rect":
		return fmt.Sprintf("M%.3f %.3fH%.3fV%.3fH%.3fZ", s.X, s.Y, s.X2, s.Y2, s.X)
	case "circle":
		return fmt.Sprintf("M%.3f %.3fa%.3f %.3f 0 1 0 %.3f 0a%.3f %.3f 0 1 0 %.3f 0", s.X-s.R, s.Y, s.R, s.R, 2*s.R, s.R, s.R, -2*s.R)
	case "arc":
		large := 0
		if s.B-s.A > math.Pi {
			large = 1
		}
		return fmt.Sprintf("M%.3f %.3fA%.3f %.3f 0 %d 1 %.3f %.3f", s.X+s.R*math.Cos(s.A), s.Y+s.R*math.Sin(s.A), s.R, s.R, large, s.X+s.R*math.Cos(s.B), s.Y+s.R*math.Sin(s.B))
	}
	return fmt.Sprintf("M%.3f %.3fL%.3f %.3f", s.X, s.Y, s.X2, s.Y2)
}
