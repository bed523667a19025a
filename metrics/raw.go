package metrics

import (
	"fmt"
	"math"
	"strings"

	"stopledger/metrics/stats/pooled"
)

// RawNumber is what counting alone would have said of an assignment, and how the
// projection comes from it.
type RawNumber struct {
	// Rate is the process in the film asked for, mixed by the shares of those
	// parts that have film; nil without any.
	Rate *float64 `json:"rate"`
	// Field is the same over all peers' film together; nil without any.
	Field *float64 `json:"field"`
	// Word is what a comparison of the two would have been taken to say; "" if
	// they cannot be compared.
	Word  Word   `json:"word,omitempty"`
	Steps []Step `json:"steps"`
	Text  string `json:"text"` // why the projection differs
}

// Step is a rate on the way from the raw number to the projection.
type Step struct {
	What string  `json:"what"`
	Rate float64 `json:"rate"`
}

// The steps, in order.
const (
	stepRaw     = "counted in the film asked for"
	stepFitted  = "fitted to all his film and the field's"
	stepNeutral = "in the scheme of the projection"
	stepLevel   = "after the step in level"
)

func (o *projector) raw(j *job, out *projected) error {
	r := &out.Raw
	r.Rate = o.rawMix(j, []int{o.p})
	if peers := o.s.peersIn(o.process, o.p, j.kinds); len(peers) >= MinPeers {
		r.Field = o.rawMix(j, peers)
	}
	if r.Rate != nil && r.Field != nil {
		r.Word = Exposed
		if *r.Rate >= *r.Field {
			r.Word = HoldsUp
		}
	}
	fitted, err := mix(o.him, o.seenParts(j))
	if err != nil {
		return err
	}
	here, err := mix(o.him, j.parts(o.s.Definition, o.at, false))
	if err != nil {
		return err
	}
	if r.Rate != nil {
		r.Steps = append(r.Steps, Step{stepRaw, *r.Rate})
	}
	r.Steps = append(r.Steps, Step{stepFitted, summary(fitted).Mean}, Step{stepNeutral, summary(here).Mean})
	if o.at.level != nil {
		r.Steps = append(r.Steps, Step{stepLevel, out.Process.Mean})
	}
	r.Text = o.whyRawDiffers(out)
	return nil
}

// rawMix is the share-weighted rate over some players' film of the asks.
func (o *projector) rawMix(j *job, players []int) *float64 {
	sum, shares := 0.0, 0.0
	for i := range j.asks {
		y, n := 0.0, 0.0
		for _, p := range players {
			py, pn := o.s.rawRate(Process, p, j.asks[i].matches)
			y, n = y+py, n+pn
		}
		if n > 0 {
			sum += j.asks[i].Share * y / n
			shares += j.asks[i].Share
		}
	}
	if shares == 0 {
		return nil
	}
	mean := sum / shares
	return &mean
}

// seenParts is the job in the schemes that he was seen in.
func (o *projector) seenParts(j *job) []pooled.Part {
	var out []pooled.Part
	for _, a := range j.asks {
		for _, r := range a.roles {
			share := a.Share * r.share
			n := 0.0
			for _, c := range o.process.of[o.p] {
				if c.kind == a.kind && c.facing == r.role {
					n += c.n
				}
			}
			if n == 0 {
				out = append(out, pooled.Part{Item: a.kind, Opposing: r.role, Condition: pooled.Fresh, Share: share})
				continue
			}
			for _, c := range o.process.of[o.p] {
				if c.kind == a.kind && c.facing == r.role {
					out = append(out, pooled.Part{Item: a.kind, Opposing: r.role, Condition: c.scheme, Share: share * c.n / n})
				}
			}
		}
	}
	return out
}

// whyRawDiffers names the largest step between the raw number and the projection.
func (o *projector) whyRawDiffers(out *projected) string {
	r := &out.Raw
	if r.Rate == nil {
		return "there is nothing to count; the number is what the field and the rest of his film suggest"
	}
	largest, by := "", 0.0
	for i := 1; i < len(r.Steps); i++ {
		if d := r.Steps[i].Rate - r.Steps[i-1].Rate; math.Abs(d) > math.Abs(by) {
			largest, by = r.Steps[i].What, d
		}
	}
	text := fmt.Sprintf("counting alone says %s on %s", percent(*r.Rate), actions(out.Film.Actions))
	if r.Field != nil {
		text += fmt.Sprintf(" (the field %s)", percent(*r.Field))
	}
	if math.Abs(by) < 0.01 {
		return text + "; the projection agrees"
	}
	way := "down"
	if by > 0 {
		way = "up"
	}
	points := fmt.Sprintf("%.0f points %s", 100*math.Abs(by), way)
	switch largest {
	case stepFitted:
		return text + fmt.Sprintf("; most of the difference, %s, is that %s worth %s effective are read together with all his other film and the field's", points, chances(out.Film.Chances), worth(out.Film.Effective))
	case stepNeutral:
		return text + fmt.Sprintf("; most of the difference, %s, is the scheme: %s, not %s", points, o.schemesSeen(), out.At.Scheme)
	}
	return text + fmt.Sprintf("; most of the difference, %s, is the step from %s to %s", points, o.at.level.From, o.at.level.To)
}

func (o *projector) schemesSeen() string {
	var names []string
	seen := make(map[int]bool)
	for _, c := range o.process.of[o.p] {
		if !seen[c.scheme] {
			seen[c.scheme] = true
			names = append(names, schemeText(o.s.film.schemes[c.scheme]))
		}
	}
	if len(names) > 3 {
		return fmt.Sprintf("he was seen in %d schemes", len(names))
	}
	return "he was seen in " + strings.Join(names, ", ")
}
