package outline

import (
	"cmp"
	"fmt"
	"slices"
)

// putBack bounds, in seconds, time put back on the clock in a period's last
// moments, and how late that must be.
const putBack = 3

// order returns the rows in the order of play: by period and clock, rows of
// one moment as they stand. Time put back on the clock is the exception: there
// the rows stay in order and it is the clock that yields.
func order(rows []row) ([]row, []Remark) {
	var remarks []Remark
	out := slices.Clone(rows)
	slices.SortStableFunc(out, func(a, b row) int { return cmp.Compare(a.period, b.period) })
	for start := 0; start < len(out); {
		end := start
		for end < len(out) && out[end].period == out[start].period {
			end++
		}
		remarks = append(remarks, orderPeriod(out[start:end])...)
		start = end
	}
	return out, remarks
}

func orderPeriod(rows []row) []Remark {
	var remarks []Remark
	low, segment := 3600.0, 0
	segments := make(map[int]int, len(rows)) // by line
	for i := range rows {
		r := &rows[i]
		if r.play == periodStart || r.play == periodEnd {
			continue
		}
		switch {
		case segment == 0 && r.clock > low && low <= putBack && r.clock-low <= putBack && r.whistle():
			// A whistle must have stopped play before time is put back; a
			// live row that is late only stands in the wrong place.
			remarks = append(remarks, Remark{r.line, fmt.Sprintf("the clock goes back from %g to %g: time put back; what follows is taken as played after it", low, r.clock)})
			segment = 1
		case r.clock > low && segment == 0:
			remarks = append(remarks, Remark{r.line, fmt.Sprintf("stands after a row at %g; moved to its clock, %g", low, r.clock)})
		}
		segments[r.line] = segment
		if segment > 0 {
			r.clock = min(r.clock, low)
		}
		low = min(low, r.clock)
	}
	for i := range rows {
		if r := &rows[i]; r.play == periodEnd {
			r.clock = min(r.clock, low)
		}
	}
	rank := func(r row) int {
		switch r.play {
		case periodStart:
			return -1
		case periodEnd:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(rows, func(a, b row) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(segments[a.line], segments[b.line]), cmp.Compare(b.clock, a.clock))
	})
	return remarks
}
