package events_test

import (
	"strings"
	"testing"

	"stopledger/events"
)

const hitOnDownScreen = `{"v":1,"id":"0198f0c2-7c1e-7b1a-9a55-3f2a9d1c0e77","game":"hbr-mil-2031-01-14","chart":"main","charter":"ana","pad":"7f3c9a1e","n":57,` +
	`"recorded":"2031-01-14T19:22:07.318Z","when":{"period":2,"clock":412.3,"from":"ticked","film":{"id":"f1","at":734.12}},` +
	`"type":"action","body":{"chance":"0198f0c2-7b00-7c3d-8e21-5d1f0a2b4c66","kind":"chase","defender":"mil-12","opponent":"hbr-3",` +
	`"outcome":"hit","details":{"at":["down"],"how":["chased"],"why":["saw-late"]},"spot":{"x":6.1,"y":2.4}}}`

func TestDecodeKeepsTheLineVerbatim(t *testing.T) {
	line := strings.Replace(hitOnDownScreen, `"v":1,`, `"v":1,"weather":"indoors",`, 1)
	e, err := events.Decode([]byte(line))
	if err != nil {
		t.Fatal(err)
	}
	if err := events.Check(&e); err != nil {
		t.Fatal(err)
	}
	if string(e.Raw) != line {
		t.Errorf("raw = %s", e.Raw)
	}
	a := e.Body.(*events.Action)
	if a.Reading() != events.Broken || a.Details.First("why") != "saw-late" || *e.When.Clock != 412.3 {
		t.Errorf("read %+v at %+v", a, e.When)
	}
}

// One bad event a mistake, with the field and the reason it is refused for.
func TestCheckNamesFieldAndReason(t *testing.T) {
	swap := func(old, new string) string { return strings.Replace(hitOnDownScreen, old, new, 1) }
	for name, tc := range map[string]struct{ line, want string }{
		"misspelt outcome":     {swap(`"outcome":"hit"`, `"outcome":"hti"`), `body.outcome: "hti" is no way for a chase to end; did you mean "hit"?`},
		"outcome of another":   {swap(`"outcome":"hit"`, `"outcome":"split"`), `body.outcome: "split" is no way for a chase to end`},
		"unknown kind":         {swap(`"kind":"chase"`, `"kind":"chse"`), `body.kind: "chse" is not a word of the vocabulary; did you mean "chase"?`},
		"no kind":              {swap(`"kind":"chase",`, ``), `body.kind: is missing`},
		"unknown detail":       {swap(`"why"`, `"wy"`), `body.details.wy: a chase has no detail "wy"; did you mean "why"?`},
		"unknown detail word":  {swap(`saw-late`, `slept`), `body.details.why: "slept" is not a word of the vocabulary; want one of saw-late`},
		"game with a star":     {swap(`hbr-mil-2031-01-14`, `hbr*`), `game: "hbr*" is no id: want 1 to 63 of a-z, 0-9 and -, not beginning with -`},
		"game with a dot":      {swap(`hbr-mil-2031-01-14`, `hbr.mil`), `game: "hbr.mil" is no id`},
		"impossible clock":     {swap(`412.3`, `-3`), `when: clock -3; want the seconds left in the period, 0 to 3600`},
		"n of zero":            {swap(`"n":57`, `"n":0`), `n: 0; counts up from 1 for each pad`},
		"id in capitals":       {swap(`0198f0c2-7c1e`, `0198F0C2-7c1e`), `id: "0198F0C2-7c1e-7b1a-9a55-3f2a9d1c0e77" is no UUID in lower case`},
		"spot in the stands":   {swap(`"x":6.1`, `"x":61`), `body.spot: x 61, y 2.4 is off any court`},
		"chance without an id": {swap(`0198f0c2-7b00-7c3d-8e21-5d1f0a2b4c66`, `seven`), `body.chance: "seven" is no event's id`},
		"clock from nowhere":   {swap(`ticked`, `guessed`), `when.from: "guessed" is not a word of the vocabulary`},
	} {
		t.Run(name, func(t *testing.T) {
			e, err := events.Decode([]byte(tc.line))
			if err == nil {
				err = events.Check(&e)
			}
			if err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got  %v\nwant %s", err, tc.want)
			}
		})
	}
}
