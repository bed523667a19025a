package outline

// tipIn is how many seconds after a miss its rebound may still be told when
// another try has come between: the row of a tip-in can stand before the row
// of the rebound that made it possible.
const tipIn = 3

// bindRebounds gives every rebound its miss. Individual rebounds go first:
// the official count has them, so each must find a place.
func (rd *reading) bindRebounds() {
	for i := range rd.rows {
		if r := &rd.rows[i]; r.play == rebound && !r.teamRebound() && r.team != "" {
			if t := rd.missOf(i); t != nil {
				t.rebound, t.rebAt = r, i
			} else {
				rd.strays = append(rd.strays, i)
			}
		} else if r.play == rebound && r.team == "" {
			rd.remark(r.line, "a rebound of no team; left out, as no total can count it")
		}
	}
	for i := range rd.rows {
		r := &rd.rows[i]
		if !r.teamRebound() || r.team == "" || rd.betweenThrows(i) {
			continue
		}
		if t := rd.missOf(i); t != nil {
			t.rebound, t.rebAt = r, i
		} else if !rd.alreadyBound(i) {
			rd.remark(r.line, "a team rebound of no miss; left out, no total counts it")
		}
	}
}

// missOf finds the miss a rebound at a place belongs to. Usually it is the
// try just before. It is an earlier one when the tries since then only make
// sense if that miss was rebounded by this side (a tip-in told before its
// rebound), and a later one when the two rows have changed places.
func (rd *reading) missOf(pos int) *try {
	r := &rd.rows[pos]
	next := rd.at(pos)
	var found, whistled *try
	for i := next - 1; i >= 0; i-- {
		t := rd.tries[i]
		if t.period != r.period || i < next-1 && t.clock-r.clock > tipIn {
			break
		}
		if !t.missed() || t.rebound != nil {
			continue
		}
		switch {
		case i == next-1:
			found = t
		case rd.tries[i+1].team != r.team:
		case rd.whistled(t.lastAt(), rd.tries[i+1].pos):
			whistled = t
		default:
			found = t
		}
	}
	if found != nil {
		return found
	}
	if next < len(rd.tries) {
		t := rd.tries[next]
		if t.missed() && t.rebound == nil && t.period == r.period && r.clock-t.clock <= 1 && t.pos-pos <= 3 && !rd.owed(next) {
			return t
		}
	}
	return whistled // not likely, and still better than none
}

// whistled reports whether play stopped between two places, so that a miss
// before them needs no rebound.
func (rd *reading) whistled(from, to int) bool {
	for i := from + 1; i < to; i++ {
		if r := &rd.rows[i]; r.whistle() || r.teamRebound() {
			return true
		}
	}
	return false
}

// owed reports whether an individual rebound follows a try before the next.
func (rd *reading) owed(i int) bool {
	for pos := rd.tries[i].lastAt() + 1; pos < len(rd.rows); pos++ {
		r := &rd.rows[pos]
		if r.play == rebound && !r.teamRebound() {
			return true
		}
		if r.shot() || r.play == turnover || r.play == freeThrow || r.period != rd.tries[i].period {
			return false
		}
	}
	return false
}

// betweenThrows reports whether a team rebound is bookkeeping: it follows a
// free throw that was not its trip's last, or one of a penalty, where the ball
// is dead. The two rows may have changed places.
func (rd *reading) betweenThrows(pos int) bool {
	if t, at := rd.throwBeside(pos, -1); t != nil {
		last := at == t.at[len(t.at)-1]
		switch {
		case t.why != "" || last && t.lastMade:
			return t.missed
		case !last:
			return !rd.rows[at].made
		}
		return false
	}
	t, at := rd.throwBeside(pos, 1)
	if t == nil || rd.rows[at].made || rd.rows[at].clock != rd.rows[pos].clock || rd.missJustBefore(pos) {
		return false
	}
	return t.why != "" || at != t.at[len(t.at)-1]
}

// throwBeside finds the free throw nearest to a place in one direction, with
// nothing in between that moves the ball.
func (rd *reading) throwBeside(pos, step int) (*trip, int) {
	for i := pos + step; i >= 0 && i < len(rd.rows) && rd.rows[i].period == rd.rows[pos].period; i += step {
		r := &rd.rows[i]
		if r.shot() || r.play == turnover || r.play == rebound {
			break
		}
		if r.play == freeThrow {
			return rd.tripAt[i], i
		}
	}
	return nil, 0
}

// missJustBefore reports whether the try before a place left a ball that
// nobody has yet.
func (rd *reading) missJustBefore(pos int) bool {
	i := rd.at(pos) - 1
	return i >= 0 && rd.tries[i].period == rd.rows[pos].period && rd.tries[i].missed() && rd.tries[i].rebound == nil
}

// alreadyBound reports whether the miss before a team rebound has a player's
// rebound: the feed tells both when a ball is touched and then lost.
func (rd *reading) alreadyBound(pos int) bool {
	i := rd.at(pos) - 1
	if i < 0 {
		return false
	}
	t := rd.tries[i]
	if t.period != rd.rows[pos].period || t.rebound == nil || t.rebound.teamRebound() {
		return false
	}
	rd.remark(rd.rows[pos].line, "a team rebound beside the player's rebound of the same miss; the player's stands")
	return true
}
