package metrics

import (
	"fmt"
	"math"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/metrics/stats"
)

// ProcessResult holds a player's readings against what the scoreboard made of
// them.
type ProcessResult struct {
	Trials  int     `json:"trials"` // whose stop is decided
	Stops   float64 `json:"stops"`  // by weight, as all of these
	Of      float64 `json:"of"`
	Process float64 `json:"process"` // rate of readings, raw
	// Expected is the stops to be expected from his readings alone: each of his
	// trials at the rate at which everybody's trials of that kind and reading were
	// stops.
	Expected float64 `json:"expected"`
	// Above is Stops minus Expected per 100 trials, with its interval at [Level] on
	// the effective sample; nil with one game, or where most of the ledger's trials
	// are his own, so that there is nobody to expect from.
	Above *Spanned `json:"above_per_100"`
	Text  string   `json:"text"`

	Threes ShootingLuck `json:"threes"`

	// Blind is the share of his readings that were taken before the result was
	// seen. A charter who saw the make writes "late".
	Blind    float64 `json:"blind"`
	Readings int     `json:"readings"`
}

// Spanned is a number with its interval.
type Spanned struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// ShootingLuck is what opponents' three-pointers did in the chances that he had a
// part in, against everybody's at the same contest.
type ShootingLuck struct {
	Taken    int     `json:"taken"`
	Made     int     `json:"made"`
	Expected float64 `json:"expected"` // makes
	// Points is what the difference cost him (above 0) or saved him, with its
	// interval at [Level]; nil without any, or with nobody else's to compare.
	Points *Spanned `json:"points"`
	Text   string   `json:"text"`
}

// ProcessResult compares a player's readings with the scoreboard.
func (s *Study) ProcessResult(id events.Token) (*ProcessResult, error) {
	p, err := s.player(id)
	if err != nil {
		return nil, err
	}
	m, err := s.model(Result)
	if err != nil {
		return nil, err
	}
	out := &ProcessResult{}
	rates := s.stopRates()
	y, n := s.rawRate(Process, p, func(*row) bool { return true })
	if n > 0 {
		out.Process = y / n
	}
	effective := 0.0
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if r.reading < isUnclear {
			out.Readings++
			if s.film.word(r.action, "action.saw_end") == "no" {
				out.Blind++
			}
		}
		stop, ok := r.success(Result, 0)
		if !ok {
			continue
		}
		out.Trials++
		out.Of += r.trial
		out.Stops += r.trial * stop
		out.Expected += r.trial * rates[r.kind][r.reading].rate()
		effective += r.trial / m.design[p][r.kind]
	}
	if out.Readings > 0 {
		out.Blind /= float64(out.Readings)
	}
	out.compare(effective, len(s.film.games[p]), s.mostlyHis(p))
	out.Threes = s.threes(p)
	return out, nil
}

// share counts weights of what happened and of all.
type share struct{ y, n float64 }

func (s share) rate() float64 {
	if s.n == 0 {
		return 0
	}
	return s.y / s.n
}

// stopRates are everybody's stops by kind and reading.
func (s *Study) stopRates() [][noReading + 1]share {
	out := make([][noReading + 1]share, len(events.Kinds))
	for i := range s.film.rows {
		r := &s.film.rows[i]
		if stop, ok := r.success(Result, 0); ok {
			out[r.kind][r.reading].y += r.trial * stop
			out[r.kind][r.reading].n += r.trial
		}
	}
	return out
}

// mostlyHis reports whether more than half of the ledger's trials are one man's.
func (s *Study) mostlyHis(p int) bool {
	return 2*len(s.film.of[p]) > len(s.film.rows)
}

func (r *ProcessResult) compare(effective float64, played int, alone bool) {
	switch {
	case r.Trials == 0:
		r.Text = "no stop of his is decided"
		return
	case alone:
		r.Text = "most of the film on this ledger is his own, so there is nothing to expect his stops from"
		return
	case played < 2:
		r.Text = fmt.Sprintf("%.1f stops in %.1f trials, %.1f expected from the readings; one game has no interval", r.Stops, r.Of, r.Expected)
		return
	}
	lo, hi := stats.Wilson(r.Stops/r.Of*effective, effective, Level)
	expected := r.Expected / r.Of
	r.Above = &Spanned{100 * (r.Stops/r.Of - expected), 100 * (lo - expected), 100 * (hi - expected)}
	text := fmt.Sprintf("%.0f stops per 100 trials on the scoreboard, %.0f expected from the readings alone", 100*r.Stops/r.Of, 100*expected)
	switch {
	case r.Above.Low > 0:
		text += "; the scoreboard flatters the technique"
	case r.Above.High < 0:
		text += "; the scoreboard belittles the technique"
	default:
		text += "; no more apart than chance allows"
	}
	r.Text = text
}

// threeLook is how well a three-pointer was contested: by reading of the worst
// contest of the chance, or noReading where none was charted.
func (f *film) threeLooks() []reading {
	out := make([]reading, f.cols.Chances.Rows)
	for c := range out {
		out[c] = noReading
	}
	contest := kindIndex(events.Contest)
	for i := range f.rows {
		r := &f.rows[i]
		if r.kind == contest && r.reading < isUnclear && (out[r.chance] == noReading || r.reading > out[r.chance]) {
			out[r.chance] = r.reading
		}
	}
	return out
}

// threes counts the opponents' three-pointers of the chances that count and that
// a player had a part in.
func (s *Study) threes(p int) ShootingLuck {
	end := s.Columns.Chances.Column("chance.end")
	looks := s.film.threeLooks()
	var all [noReading + 1]share
	made := make([]int8, s.Columns.Chances.Rows) // 1 made, -1 missed, 0 no three
	for c := range made {
		if s.film.verdicts.Kept[c] != definition.Yes {
			continue
		}
		switch events.End(wordOf(end, end.Code(c))) {
		case events.Made3:
			made[c] = 1
			all[looks[c]].y++
		case events.Missed3:
			made[c] = -1
		default:
			continue
		}
		all[looks[c]].n++
	}
	var out ShootingLuck
	last := noChance
	for _, i := range s.film.of[p] {
		c := s.film.rows[i].chance
		if c == last {
			continue
		}
		last = c
		if made[c] == 0 {
			continue
		}
		out.Taken++
		if made[c] > 0 {
			out.Made++
		}
		out.Expected += all[looks[c]].rate()
	}
	out.judge(s.mostlyHis(p))
	return out
}

func (l *ShootingLuck) judge(alone bool) {
	switch {
	case l.Taken == 0:
		l.Text = "no opponents' three in a chance that he had a part in"
		return
	case alone:
		l.Text = fmt.Sprintf("opponents made %d of %d threes; there is nobody else's film to expect from", l.Made, l.Taken)
		return
	}
	n := float64(l.Taken)
	lo, hi := stats.Wilson(float64(l.Made), n, Level)
	l.Points = &Spanned{3 * (float64(l.Made) - l.Expected), 3 * (lo*n - l.Expected), 3 * (hi*n - l.Expected)}
	whose := "for"
	if l.Points.Value > 0 {
		whose = "against"
	}
	l.Text = fmt.Sprintf("opponents made %d of %d threes, %.1f expected at the same contests: shooting luck of %.1f points %s him", l.Made, l.Taken, l.Expected, math.Abs(l.Points.Value), whose)
}
