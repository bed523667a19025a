package outline

import "stopledger/events"

// try is something a team does with the ball that ends a chance: a shot, a
// trip to the line, a turnover. Free throws after a made shot belong to that
// shot; those that no chance answers for are trips with a penalty, not tries.
type try struct {
	*row
	pos     int   // of its row in the order of play
	trip    *trip // for a trip to the line
	andOne  *trip // for a made shot
	rebound *row  // of the missed shot or last free throw; nil when no row says
	rebAt   int   // the rebound's place
}

// trip is a row of free throws given for one foul.
type trip struct {
	*row      // the first throw's
	at        []int
	class     string // the throws' note, "" when they have none
	last      int    // the last throw's number k
	made      int
	lastMade  bool
	missed    bool // any of them
	cause     int  // place of the foul it was given for, -1 when not known
	why       events.PenaltyWhy
	keepsBall bool // the shooting side has the ball afterwards, by rule
}

func (t *trip) attempted() int { return len(t.at) }

// missed reports whether the try left a ball to rebound.
func (t *try) missed() bool {
	switch {
	case t.trip != nil:
		return !t.trip.lastMade
	case t.andOne != nil:
		return !t.andOne.lastMade
	}
	return t.shot() && !t.made
}

// lastAt is the place of its last row.
func (t *try) lastAt() int {
	for _, trip := range []*trip{t.trip, t.andOne} {
		if trip != nil {
			return max(t.pos, trip.at[len(trip.at)-1])
		}
	}
	return t.pos
}

// reading is a feed in the order of play and what was found in it.
type reading struct {
	feed      *Feed
	rows      []row
	tries     []*try
	penalties []*trip
	strays    []int         // places of individual rebounds without a miss
	tripAt    map[int]*trip // by the place of a free throw
	taken     map[int]bool  // fouls that have had their throws, by place
	remarks   []Remark
}

func (rd *reading) remark(line int, text string) {
	rd.remarks = append(rd.remarks, Remark{line, text})
}

func read(f *Feed) *reading {
	rows, remarks := order(f.rows)
	rd := &reading{
		feed: f, rows: rows, remarks: append(append([]Remark(nil), f.remarks...), remarks...),
		tripAt: make(map[int]*trip), taken: make(map[int]bool),
	}
	rd.findTries(rd.findTrips())
	rd.bindRebounds()
	rd.checkOffensiveFouls()
	return rd
}

// findTries lists shots, turnovers and those trips that are neither a
// penalty nor the free throw after a made shot.
func (rd *reading) findTries(trips []*trip) {
	for i := range rd.rows {
		r := &rd.rows[i]
		if r.team == "" {
			if r.shot() || r.play == turnover {
				rd.remark(r.line, "a "+r.play+" of no team; left out, as no total can count it")
			}
			continue
		}
		if r.shot() || r.play == turnover {
			rd.tries = append(rd.tries, &try{row: r, pos: i})
		}
	}
	for _, t := range trips {
		rd.classify(t)
	}
}

// at returns the number of tries that begin before a place.
func (rd *reading) at(pos int) int {
	lo, hi := 0, len(rd.tries)
	for lo < hi {
		if mid := (lo + hi) / 2; rd.tries[mid].pos < pos {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// insert puts a try in its place.
func (rd *reading) insert(t *try) {
	i := rd.at(t.pos)
	rd.tries = append(rd.tries, nil)
	copy(rd.tries[i+1:], rd.tries[i:])
	rd.tries[i] = t
}

// moment returns the places from and to (not included) of the rows of one
// period within a second of the row at pos.
func (rd *reading) moment(pos int) (from, to int) {
	near := func(i int) bool {
		a, b := &rd.rows[i], &rd.rows[pos]
		return a.period == b.period && a.clock-b.clock <= 1 && b.clock-a.clock <= 1
	}
	for from = pos; from > 0 && near(from-1); from-- {
	}
	for to = pos + 1; to < len(rd.rows) && near(to); to++ {
	}
	return from, to
}

// checkOffensiveFouls says where an offensive foul has no turnover row beside
// it: the counts have none either, so no chance ends there.
func (rd *reading) checkOffensiveFouls() {
	used := make(map[int]bool)
	for i := range rd.rows {
		r := &rd.rows[i]
		if r.play != foul || r.note != noteOffensive {
			continue
		}
		from, to := rd.moment(i)
		found := false
		for j := from; j < to && !found; j++ {
			if t := &rd.rows[j]; t.play == turnover && t.team == r.team && !used[j] {
				used[j], found = true, true
			}
		}
		if !found {
			rd.remark(r.line, "an offensive foul without its turnover row; the official count has no turnover here, so neither has the chart")
		}
	}
}
