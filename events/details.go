package events

// Holds says what the values of a detail are.
type Holds string

// What a detail may hold.
const (
	HoldsWords  Holds = "words"  // words of its own closed list
	HoldsPlayer Holds = "player" // a player's id
	HoldsEvent  Holds = "event"  // an event's id
	HoldsText   Holds = "text"   // the charter's own words
)

// DetailRow is one optional detail of an action. The same name may stand in
// two rows for different kinds with different words.
type DetailRow struct {
	Name  string   `json:"name"`
	On    []Kind   `json:"on,omitempty"` // nil: every kind
	Holds Holds    `json:"holds"`
	Words []string `json:"words,omitempty"`
	Many  bool     `json:"many"` // several values may be said at once
	Gloss string   `json:"gloss"`
}

// DetailRows is the table of details.
var DetailRows = []DetailRow{
	{"came_by", nil, HoldsWords, []string{"own", "switch", "cross-match", "rotation", "pick-up", "zone", "double"}, false, "how he came to this man"},
	{"follows", nil, HoldsEvent, nil, false, "an earlier action of his in this chance"},
	{"saw_end", nil, HoldsWords, []string{"yes", "no"}, false, "no: the reading was taken before the result was seen"},
	{"tags", nil, HoldsText, nil, true, "the charter's own words"},
	{"foul", nil, HoldsWords, []string{"shooting", "reach", "body", "to-give", "stop-break", "off-ball"}, false, "which foul"},
	{"prompted", nil, HoldsWords, []string{"yes"}, false, "the film plan had asked for this one"},

	{"to", []Kind{Drive}, HoldsWords, []string{"middle", "baseline", "straight-line"}, false, "where the drive went"},
	{"hand", []Kind{Drive}, HoldsWords, []string{"strong", "weak"}, false, "the attacker's hand"},
	{"before", []Kind{Drive}, HoldsWords, []string{"jab", "combo", "spin", "first-step", "hesitation"}, true, "the move before it"},
	{"technique", []Kind{Drive}, HoldsWords, []string{"hands-trace-ball", "body-up", "cut-off", "length"}, true, "how he stayed in front"},

	{"how", []Kind{BallScreen, Chase}, HoldsWords, []string{"over", "under", "ice", "chased", "top-locked", "gap", "switch"}, true, "how he played the screen"},
	{"why", []Kind{BallScreen, Chase, Coverage, GapHelp, Rotation}, HoldsWords, []string{"saw-late", "feet", "size", "no-call", "illegal-screen"}, true, "why he was caught"},
	{"at", []Kind{BallScreen, Chase}, HoldsWords, []string{"ball", "handoff", "down", "flare", "back", "cross", "stagger"}, true, "which screen"},

	{"call", []Kind{Coverage}, HoldsWords, []string{"drop", "at-level", "hedge", "trap", "switch", "show"}, false, "the coverage called"},
	{"screener", []Kind{Coverage}, HoldsWords, []string{"roll", "pop", "slip", "short-roll", "reject"}, false, "what the screener did"},

	{"from", []Kind{Closeout}, HoldsWords, []string{"short", "long"}, false, "how far he came"},
	{"then", []Kind{Closeout}, HoldsWords, []string{"shot", "drive", "pass"}, false, "what the shooter did"},

	{"hand", []Kind{Contest}, HoldsWords, []string{"before-motion", "in-motion", "after-release"}, false, "when the hand came"},
	{"cause", []Kind{Contest}, HoldsWords, []string{"own", "after-help", "scramble"}, false, "whose shot it was to contest"},
	{"shot", []Kind{Contest}, HoldsWords, []string{"catch", "off-dribble", "post", "rim"}, false, "which shot"},

	{"left", []Kind{GapHelp, Rotation}, HoldsPlayer, nil, false, "his own man, whom he left"},
	{"on", []Kind{GapHelp, Rotation}, HoldsPlayer, nil, false, "the man he helped on"},
	{"choice", []Kind{GapHelp, Rotation}, HoldsWords, []string{"roller", "shooter", "driver", "cutter"}, false, "whom he chose to take"},
	{"ball_went", []Kind{GapHelp, Rotation}, HoldsWords, []string{"roller", "shooter", "driver", "cutter"}, false, "where the ball went"},
	{"because", []Kind{GapHelp, Rotation}, HoldsWords, []string{"scheme", "read"}, false, "sent by the scheme, or by his own reading"},

	{"went-for-ball", []Kind{BoxOut}, HoldsWords, []string{"yes", "no"}, false, "went for the ball after the contact"},
}

// Detail finds the row of a detail on a kind.
func Detail(k Kind, name string) (DetailRow, bool) {
	for _, row := range DetailRows {
		if row.Name == name && row.takes(k) {
			return row, true
		}
	}
	return DetailRow{}, false
}

// DetailsOf lists the details a kind takes, the kind's own first.
func DetailsOf(k Kind) []DetailRow {
	var own, every []DetailRow
	for _, row := range DetailRows {
		switch {
		case row.On == nil:
			every = append(every, row)
		case row.takes(k):
			own = append(own, row)
		}
	}
	return append(own, every...)
}

func (row DetailRow) takes(k Kind) bool {
	if row.On == nil {
		return true
	}
	for _, on := range row.On {
		if on == k {
			return true
		}
	}
	return false
}
