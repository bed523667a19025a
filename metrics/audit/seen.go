package audit

// counted is what one chance adds to a count of things seen.
type counted struct{ a, b, both float64 }

// seenChances and seenActions count over the chances of either chart, matched
// ones first, then A's own, then B's.

func (p *pairing) seenChances(r *resampler) Seen {
	s := Seen{InA: len(p.chances) + len(p.onlyA), InB: len(p.chances) + len(p.onlyB), Both: len(p.chances)}
	var cells []counted
	for range p.chances {
		cells = append(cells, counted{1, 1, 1})
	}
	for range p.onlyA {
		cells = append(cells, counted{a: 1})
	}
	for range p.onlyB {
		cells = append(cells, counted{b: 1})
	}
	return s.shares(cells, r)
}

func (p *pairing) seenActions(r *resampler) Seen {
	s := Seen{InA: len(p.actions) + len(p.actOnlyA), InB: len(p.actions) + len(p.actOnlyB), Both: len(p.actions)}
	cells := make([]counted, len(p.chances)+len(p.onlyA)+len(p.onlyB))
	ofA, ofB := map[int]int{}, map[int]int{}
	for i, l := range p.chances {
		ofA[l.a], ofB[l.b] = i, i
	}
	for i, ch := range p.onlyA {
		ofA[ch] = len(p.chances) + i
	}
	for i, ch := range p.onlyB {
		ofB[ch] = len(p.chances) + len(p.onlyA) + i
	}
	for _, l := range p.actions {
		c := &cells[ofA[p.a.Actions[l.a].Chance]]
		c.a, c.b, c.both = c.a+1, c.b+1, c.both+1
	}
	for _, i := range p.actOnlyA {
		cells[ofA[p.a.Actions[i].Chance]].a++
	}
	for _, i := range p.actOnlyB {
		cells[ofB[p.b.Actions[i].Chance]].b++
	}
	return s.shares(cells, r)
}

func (s Seen) shares(cells []counted, r *resampler) Seen {
	if s.InA == 0 && s.InB == 0 {
		s.Note = "neither chart holds any"
		return s
	}
	s.Precision = s.share(cells, s.InA, func(c counted) float64 { return c.a }, r)
	s.Recall = s.share(cells, s.InB, func(c counted) float64 { return c.b }, r)
	f1 := 2 * float64(s.Both) / float64(s.InA+s.InB)
	s.F1 = &f1
	if f := s.Precision; f != nil && f.Lo == nil && r != nil {
		s.Note = "too few chances for an interval"
	}
	return s
}

// share is Both over the things of one chart.
func (s Seen) share(cells []counted, all int, of func(counted) float64, r *resampler) *Figure {
	if all == 0 {
		return nil
	}
	f := &Figure{Value: float64(s.Both) / float64(all)}
	f.Lo, f.Hi, _ = r.interval(func(times []float64) (float64, bool) {
		both, all := 0.0, 0.0
		for i, c := range cells {
			both += times[i] * c.both
			all += times[i] * of(c)
		}
		return both / max(all, 1), all > 0
	})
	return f
}
