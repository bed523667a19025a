package events_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stopledger/events"
)

// Whatever comes in, Decode and Check answer without a panic; and what passes
// comes out again byte for byte.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(hitOnDownScreen))
	f.Add([]byte(`{"v":2,"id":"0198f0c2-7c1e-7b1a-9a55-3f2a9d1c0e77","type":"new","body":[1]}`))
	f.Add([]byte(`{"v":1,"type":"game-opened","body":{"rules":{"periods":1e9}}}`))
	f.Add([]byte(`{"v":1,"type":"amended","body":{"body":"x"}}`))
	f.Add([]byte("\xff\xfe{}"))
	f.Add([]byte(`[]`))
	f.Fuzz(func(t *testing.T, line []byte) {
		e, err := events.Decode(line)
		if err != nil {
			if !errors.Is(err, events.ErrNotAnEvent) {
				t.Errorf("error of an unknown sort: %v", err)
			}
			return
		}
		quick, err := events.DecodeOwned(bytes.Clone(e.Raw))
		if err != nil {
			t.Errorf("the quick reader refuses what the careful one takes: %v", err)
		}
		if events.Check(&e) == nil {
			if diff := cmp.Diff(e, quick); diff != "" {
				t.Errorf("careful - quick +\n%s", diff)
			}
		}
		if !bytes.Equal(e.Raw, bytes.TrimSpace(line)) {
			t.Errorf("the line was changed")
		}
		if events.Check(&e) == nil && e.Game.Valid() != true {
			t.Errorf("an unsafe game id passed: %q", e.Game)
		}
	})
}

// A bad line, a line of a megabyte and an empty one do not hide the good ones.
func TestReadLinesGoesOn(t *testing.T) {
	long := `{"v":1,"x":"` + strings.Repeat("a", 1<<20) + `"}`
	text := strings.Join([]string{hitOnDownScreen, "", "no json", long, hitOnDownScreen, `{"v":1,"id":"trunc`}, "\n")
	good, bad := 0, []int{}
	for _, err := range events.ReadLines(strings.NewReader(text)) {
		var line *events.LineError
		switch {
		case err == nil:
			good++
		case errors.As(err, &line):
			bad = append(bad, line.Line)
		default:
			t.Fatal(err)
		}
	}
	if good != 2 || len(bad) != 3 || bad[0] != 3 || bad[1] != 4 || bad[2] != 6 {
		t.Errorf("%d good, bad lines %v", good, bad)
	}
}
