package outline

import "stopledger/events"

// findTrips gathers free throws into trips. Substitutions, time-outs, other
// fouls and the throws of another foul may stand between them; a shot or a
// turnover ends whatever was open.
func (rd *reading) findTrips() []*trip {
	var trips, open []*trip
	for i := range rd.rows {
		r := &rd.rows[i]
		if r.shot() && !r.made || r.play == turnover || r.play == periodStart {
			open = nil
			continue
		}
		if r.play != freeThrow {
			continue
		}
		if r.team == "" {
			rd.remark(r.line, "a free throw of no team; left out, as no total can count it")
			continue
		}
		t := continues(open, r)
		if t == nil {
			t = &trip{row: r, class: throwClass(r), cause: -1}
			trips, open = append(trips, t), append(open, t)
		}
		t.add(i, r)
		rd.tripAt[i] = t
	}
	return trips
}

// continues returns the open trip whose next throw r is, or nil.
func continues(open []*trip, r *row) *trip {
	for i := len(open) - 1; i >= 0; i-- {
		t := open[i]
		if t.period != r.period || t.team != r.team || t.class != throwClass(r) || t.n != r.n || t.attempted() == 3 || t.clock-r.clock > 2 {
			continue
		}
		if r.n > 0 && r.k == t.last+1 || r.n == 0 && r.player == t.player {
			return t
		}
	}
	return nil
}

func throwClass(r *row) string {
	if penaltyWhy(r.note) == "" {
		return ""
	}
	return r.note
}

func (t *trip) add(pos int, r *row) {
	t.at = append(t.at, pos)
	t.last, t.lastMade = r.k, r.made
	if r.made {
		t.made++
	} else {
		t.missed = true
	}
}

// classify decides whom a trip belongs to: a made shot, no chance at all, or a
// chance that it ends. The notes of the throws decide, and where they have
// none, the foul they were given for.
func (rd *reading) classify(t *trip) {
	shot := rd.madeBefore(t)
	t.cause = rd.cause(t, shot)
	if t.cause >= 0 {
		rd.taken[t.cause] = true
	}
	note := t.class
	if note == "" && t.cause >= 0 {
		note = rd.rows[t.cause].note
	}
	why := penaltyWhy(note)
	t.keepsBall = why != "" && note != noteTechnical || note == "away-from-play"
	// A flagrant foul on a shot that went in gives one throw, and that throw
	// belongs to the shot as any other does, though the ball stays.
	if shot != nil && (why == "" || note == "flagrant" && t.player == shot.player) {
		shot.andOne = t
		return
	}
	if why != "" {
		t.why = why
		rd.penalties = append(rd.penalties, t)
		return
	}
	rd.insert(&try{row: t.row, pos: t.at[0], trip: t})
}

// madeBefore is the made shot that a single free throw may follow: the last
// try before it, of the same team and moment. The two rows may have changed
// places.
func (rd *reading) madeBefore(t *trip) *try {
	if t.n > 1 || t.attempted() > 1 || t.class == noteTechnical || t.class == "clear-path" || t.class == "take-foul" {
		return nil
	}
	fits := func(s *try) bool {
		return s.shot() && s.made && s.andOne == nil && s.team == t.team && s.period == t.period && s.clock-t.clock <= 1 && t.clock-s.clock <= 1
	}
	i := rd.at(t.at[0])
	if i > 0 && fits(rd.tries[i-1]) {
		return rd.tries[i-1]
	}
	if i < len(rd.tries) && fits(rd.tries[i]) && rd.tries[i].player == t.player && rd.tries[i].pos-t.at[0] <= 3 {
		return rd.tries[i]
	}
	return nil
}

// cause is the place of the foul that a trip was given for, or -1. A single
// throw that follows no made shot is a technical's when there is one to take.
func (rd *reading) cause(t *trip, shot *try) int {
	from, to := rd.moment(t.at[0])
	best, rank := -1, 0
	for i := from; i < to; i++ {
		f := &rd.rows[i]
		if f.play != foul || f.team == t.team || f.note == noteOffensive || rd.taken[i] {
			continue
		}
		if r := causeRank(f, t, shot != nil, i < t.at[0]); r > 0 && r >= rank {
			best, rank = i, r
		}
	}
	return best
}

// causeRank says how well a foul explains a trip; 0: not at all.
func causeRank(f *row, t *trip, afterMade, before bool) int {
	technical := f.note == noteTechnical
	rank := 4
	switch {
	case f.team == "" && !technical:
		return 0
	case t.class != "":
		if f.note != t.class {
			return 0
		}
	case t.n == 1 && !afterMade:
		if technical {
			rank += 4
		}
	case technical:
		rank -= 2 // only when there is no other
	}
	if f.clock != t.clock {
		rank -= 2
	}
	if before {
		rank++
	}
	return rank
}

// penaltyShots turns a trip into the shots that no chance answers for.
func (t *trip) penaltyShots(ballAfter events.Token) *events.PenaltyShots {
	return &events.PenaltyShots{
		Team: t.team, Made: t.made, Attempted: t.attempted(), Why: t.why, BallAfter: ballAfter, Shooter: t.player,
	}
}
