package definition

import "testing"

// The shipped definitions are run as any other: every worked example holds.
func TestShippedExamplesHold(t *testing.T) {
	for _, d := range Shipped() {
		if len(d.Examples) < 3 {
			t.Errorf("%s has only %d worked examples", d.Name, len(d.Examples))
		}
		for _, r := range Check(d) {
			if !r.OK {
				t.Errorf("%s:%d: %s: %s: expected %s, got %s %s", d.File, r.Line, r.Example, r.What, r.Expected, r.Got, r.Reason)
			}
		}
	}
}
