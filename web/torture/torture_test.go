package main

import (
	"fmt"
	"os"
	"testing"
)

func TestMain(m *testing.M) {
	if played, err := playPart(); played {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// Every round in short. The long run, make torture, prints the table.
func TestTorture(t *testing.T) {
	for _, one := range rounds {
		t.Run(one.name, func(t *testing.T) {
			t.Parallel()
			r, err := run(t.Context(), one, size{short: true, seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range r.wrong {
				t.Error(w)
			}
			if !r.clean() {
				t.Errorf("%d acknowledged, %d lost, %d doubled, %d out of order, %d findings", r.acked, r.lost, r.doubled, r.disordered, r.findings)
			}
			t.Logf("%d times, %d acknowledged, %.1f s; %s", r.times, r.acked, r.took.Seconds(), r.note)
		})
	}
}
