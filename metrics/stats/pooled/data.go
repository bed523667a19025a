package pooled

import (
	"fmt"
	"math"
)

// Fresh in place of an opposing class or a condition asks for a level that was
// never seen: its effect is drawn from the family, the same draw for all groups.
const Fresh = -1

// Cell is the count of one combination of group, item, opposing class and
// condition. Several cells of one combination add up. Cells without trials are
// allowed and say nothing.
type Cell struct {
	Group, Item, Opposing, Condition int
	Successes, Trials                float64 // 0 <= Successes <= Trials, any real numbers
	Offset                           float64 // a known addition to the log-odds, usually 0
}

// Data is what the model is fitted to. Levels run from 0. Levels without cells
// are fine: they stay at their prior.
type Data struct {
	Own        []int // the class of each group; its length is the number of groups
	OwnClasses int
	Items      int
	Opposing   int // classes on the other side
	Conditions int
	Cells      []Cell
}

// Groups is the number of groups.
func (d Data) Groups() int { return len(d.Own) }

// check names the first thing that cannot be fitted.
func (d Data) check() error {
	for _, c := range []struct {
		name string
		n    int
	}{{"items", d.Items}, {"own classes", d.OwnClasses}, {"opposing classes", d.Opposing}, {"conditions", d.Conditions}} {
		if c.n < 1 {
			return fmt.Errorf("pooled: %d %s, want at least 1", c.n, c.name)
		}
	}
	for g, o := range d.Own {
		if o < 0 || o >= d.OwnClasses {
			return fmt.Errorf("pooled: group %d has class %d, want 0 to %d", g, o, d.OwnClasses-1)
		}
	}
	for i, c := range d.Cells {
		for _, at := range []struct {
			name  string
			at, n int
		}{{"group", c.Group, len(d.Own)}, {"item", c.Item, d.Items}, {"opposing class", c.Opposing, d.Opposing}, {"condition", c.Condition, d.Conditions}} {
			if at.at < 0 || at.at >= at.n {
				return fmt.Errorf("pooled: cell %d has %s %d, want 0 to %d", i, at.name, at.at, at.n-1)
			}
		}
		if !(c.Trials >= 0) || math.IsInf(c.Trials, 1) {
			return fmt.Errorf("pooled: cell %d has %v trials, want a finite number from 0", i, c.Trials)
		}
		slack := 1e-9 * (1 + c.Trials) // sums of weights miss by rounding
		if !(c.Successes >= -slack && c.Successes <= c.Trials+slack) {
			return fmt.Errorf("pooled: cell %d has %v successes of %v trials", i, c.Successes, c.Trials)
		}
		if math.IsNaN(c.Offset) || math.Abs(c.Offset) > 50 {
			return fmt.Errorf("pooled: cell %d has offset %v, want log-odds within 50 of 0", i, c.Offset)
		}
	}
	return nil
}
