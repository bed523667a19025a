package pooled

import (
	"fmt"
	"math"
)

// Part is one item's share in a mixture, against an opposing class. Opposing and
// Condition may be [Fresh], the same fresh level for every group.
type Part struct {
	Item, Opposing, Condition int
	Share                     float64
	// Shift is added to the log-odds, and is itself in doubt by ShiftSD: one
	// normal draw for each item, the same for every group.
	Shift, ShiftSD float64
}

// Mix are the draws of sum share * rate over the parts. Shares must be from 0;
// they are taken as they are, and should sum to 1 if a rate is wanted.
func (m *Member) Mix(parts []Part) ([]float64, error) {
	d := m.draws
	out := make([]float64, d.n)
	for _, part := range parts {
		if err := m.checkPart(part); err != nil {
			return nil, err
		}
		eta := m.LogOdds(part.Item, part.Opposing, part.Condition)
		shift := make([]float64, d.n)
		antithetic(stream(d.seed, forShift, part.Item, 0), shift, func(int) float64 { return part.ShiftSD })
		for i, x := range eta {
			out[i] += part.Share * sigmoid(x+part.Shift+shift[i])
		}
	}
	return out, nil
}

func (m *Member) checkPart(p Part) error {
	d := m.draws.post.engine.layout.data
	switch {
	case p.Item < 0 || p.Item >= d.Items:
		return fmt.Errorf("pooled: item %d in a mixture, want 0 to %d", p.Item, d.Items-1)
	case p.Opposing < Fresh || p.Opposing >= d.Opposing:
		return fmt.Errorf("pooled: opposing class %d in a mixture, want 0 to %d or Fresh", p.Opposing, d.Opposing-1)
	case p.Condition < Fresh || p.Condition >= d.Conditions:
		return fmt.Errorf("pooled: condition %d in a mixture, want 0 to %d or Fresh", p.Condition, d.Conditions-1)
	case !(p.Share >= 0) || math.IsInf(p.Share, 1):
		return fmt.Errorf("pooled: share %v of item %d, want a finite number from 0", p.Share, p.Item)
	case math.IsNaN(p.Shift) || math.Abs(p.Shift) > 50 || !(p.ShiftSD >= 0) || p.ShiftSD > 50:
		return fmt.Errorf("pooled: shift %v with sd %v of item %d, want log-odds within 50 of 0", p.Shift, p.ShiftSD, p.Item)
	}
	return nil
}
