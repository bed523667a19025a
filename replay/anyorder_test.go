package replay_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"stopledger/events"
	"stopledger/replay"
)

// stories are the events of every story under testdata/replay, one list each.
func stories(t *testing.T) [][]events.Event {
	t.Helper()
	files, _ := filepath.Glob("../testdata/replay/*.txt")
	var all [][]events.Event
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range strings.Split(string(text), "== ")[1:] {
			_, rest, _ := strings.Cut(part, "\n")
			input, _, _ := strings.Cut(rest, "----\n")
			all = append(all, read(t, input))
		}
	}
	return all
}

// Whatever the order in which events arrive, and however often each comes, the
// fold says the same; and a live fold, asked at any moments on the way, ends
// where the batch does.
func TestAnyArrivalFoldsAlike(t *testing.T) {
	all := stories(t)
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SampledFrom(all).Draw(t, "story")
		want := replay.FoldGame("g1", list)

		arrivals := rapid.Permutation(list).Draw(t, "order")
		for range rapid.IntRange(0, 5).Draw(t, "repeats") {
			again := rapid.SampledFrom(list).Draw(t, "again")
			at := rapid.IntRange(0, len(arrivals)).Draw(t, "at")
			arrivals = append(arrivals[:at:at], append([]events.Event{again}, arrivals[at:]...)...)
		}
		live := replay.NewLive()
		for i, e := range arrivals {
			live.Add(e)
			if i%3 == rapid.IntRange(0, 2).Draw(t, "ask") {
				live.Game("g1")
			}
		}
		if diff := cmp.Diff(want, live.Game("g1")); diff != "" {
			t.Fatalf("batch - live +\n%s", diff)
		}
		season, err := replay.Fold(seq(arrivals))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, season.Games[0]); diff != "" {
			t.Fatalf("in order - as arrived +\n%s", diff)
		}
	})
}

// The same id with different bytes: the smaller SHA-256 stands, whichever came
// first, and it is said.
func TestSameIDOtherBytes(t *testing.T) {
	list := stories(t)[0]
	twin := list[len(list)-1]
	twin.Raw = append([]byte(nil), strings.Replace(string(twin.Raw), `"charter":"ana"`, `"charter":"ben"`, 1)...)
	one := replay.FoldGame("g1", append(list[:len(list):len(list)], twin))
	two := replay.FoldGame("g1", append([]events.Event{twin}, list...))
	if diff := cmp.Diff(one, two); diff != "" {
		t.Fatalf("twin last - twin first +\n%s", diff)
	}
	if len(one.Findings) != 1 || one.Findings[0].What != replay.SameIDOtherBytes {
		t.Errorf("findings = %v", one.Findings)
	}
}

// An event of a newer version is counted into the digest, kept and reported,
// and changes nothing else.
func TestNewerVersionIsKept(t *testing.T) {
	list := stories(t)[0]
	line := `{"v":2,"id":"0198f0c2-0000-7000-8000-999999999999","game":"g1","chart":"main","charter":"ana","pad":"p9","n":1,"type":"aura-read","body":{"glow":7}}`
	e, err := events.Decode([]byte(line))
	if err != nil {
		t.Fatal(err)
	}
	before, after := replay.FoldGame("g1", list), replay.FoldGame("g1", append(list[:len(list):len(list)], e))
	if before.Digest == after.Digest || after.Events != before.Events+1 {
		t.Errorf("the newer event is missing from the digest or the count")
	}
	f := after.Charts[0].Findings
	if len(f) != 1 || f[0].What != replay.NewerVersion {
		t.Errorf("findings = %v", f)
	}
	if diff := cmp.Diff(before.Charts[0].Chances, after.Charts[0].Chances); diff != "" {
		t.Errorf("chances changed: %s", diff)
	}
}
