package audit

import (
	"stopledger/replay"
)

// AlphaField is Krippendorff's alpha of one field over all charts, labels that a
// chart lacks being missing.
type AlphaField struct {
	Name    string  `json:"name"`
	Units   int     `json:"units"`          // things that at least two charts labelled
	Labels  int     `json:"labels"`         // labels in them
	Alpha   *Figure `json:"alpha"`          // absent where undefined; the interval resamples chances
	Ordinal bool    `json:"ordinal"`        // readings: by the ranks between them; else alike or not
	Note    string  `json:"note,omitempty"` // why it is absent
}

func (u *units) alphas(o Options) []AlphaField {
	r := newResampler(len(u.chances), o)
	zones := zoner(u.charts[0])
	roles := rolesOf(u.charts...)
	word := func(s string) (string, bool) { return s, s != "" }
	fields := []struct {
		name    string
		ordinal bool
		words   []string
		label   func(*replay.Action) (string, bool)
	}{
		{"kind", false, nil, func(a *replay.Action) (string, bool) { return string(a.Kind), true }},
		{"kind and outcome", false, nil, func(a *replay.Action) (string, bool) {
			return string(a.Kind) + " " + string(a.Outcome), !bare(a.Outcome)
		}},
		{"reading", false, nil, func(a *replay.Action) (string, bool) { return word(string(a.Reading)) }},
		{"held, even, broken", true, scale, func(a *replay.Action) (string, bool) { return string(a.Reading), onScale(a.Reading) }},
		{"role", false, nil, func(a *replay.Action) (string, bool) { return word(string(roles[a.Opponent])) }},
		{"zone", false, nil, func(a *replay.Action) (string, bool) { return word(zones(a.Spot)) }},
	}
	out := make([]AlphaField, 0, len(fields))
	for _, f := range fields {
		out = append(out, u.alpha(f.name, f.ordinal, f.words, f.label, r))
	}
	return out
}

// coincidence is two labels of one unit: it counts weight each way.
type coincidence struct {
	chance int
	x, y   int
	weight float64
}

// coincidences lists the pairs of labels within units, and counts both.
func (u *units) coincidences(s *stratum, label func(*replay.Action) (string, bool)) (list []coincidence, units, labels int) {
	values := make([]int, 0, len(u.charts))
	for _, one := range u.actions {
		values = values[:0]
		for i, k := range one.of {
			if k < 0 {
				continue
			}
			if w, said := label(&u.charts[i].Actions[k]); said {
				values = append(values, s.place(w))
			}
		}
		if len(values) < 2 {
			continue
		}
		units++
		labels += len(values)
		for i, x := range values {
			for _, y := range values[:i] {
				list = append(list, coincidence{one.chance, min(x, y), max(x, y), 1 / float64(len(values)-1)})
			}
		}
	}
	return list, units, labels
}

func (u *units) alpha(name string, ordinal bool, words []string, label func(*replay.Action) (string, bool), r *resampler) AlphaField {
	f := AlphaField{Name: name, Ordinal: ordinal}
	s := stratum{at: map[string]int{}}
	for _, w := range words {
		s.place(w)
	}
	var list []coincidence
	list, f.Units, f.Labels = u.coincidences(&s, label)
	m := newMatrix(len(s.words), ordinal)
	once := make([]float64, len(u.chances))
	for i := range once {
		once[i] = 1
	}
	alpha, ok := m.alpha(list, once)
	switch {
	case f.Units == 0:
		f.Note = "nothing that two charts labelled"
	case !ok:
		f.Note = "no variation: one word every time, so chance alone agrees always"
	default:
		f.Alpha = &Figure{Value: alpha}
		f.Alpha.Lo, f.Alpha.Hi, f.Note = r.interval(func(times []float64) (float64, bool) { return m.alpha(list, times) })
	}
	return f
}

// matrix is room for Krippendorff's coincidences of categories in order. It
// computes what [stats.Alpha] does from units, and is quick enough to resample.
type matrix struct {
	k       int
	ordinal bool
	totals  []float64
	table   []float64 // above the diagonal; for ordinal alone
}

func newMatrix(k int, ordinal bool) *matrix {
	m := &matrix{k: k, ordinal: ordinal, totals: make([]float64, k)}
	if ordinal {
		m.table = make([]float64, k*k)
	}
	return m
}

// alpha is 1 − (n−1) Σ o·d² / Σ n n·d², each chance counted times.
func (m *matrix) alpha(list []coincidence, times []float64) (float64, bool) {
	clear(m.totals)
	clear(m.table)
	n, observed := 0.0, 0.0
	for _, c := range list {
		w := c.weight * times[c.chance]
		m.totals[c.x] += w
		m.totals[c.y] += w
		n += 2 * w
		switch {
		case c.x == c.y:
		case m.ordinal:
			m.table[c.x*m.k+c.y] += 2 * w
		default:
			observed += 2 * w
		}
	}
	expected := 0.0
	if !m.ordinal {
		expected = n * n
		for _, t := range m.totals {
			expected -= t * t
		}
	} else {
		observed, expected = m.ranked()
	}
	if expected < 1e-9 {
		return 0, false
	}
	return 1 - (n-1)*observed/expected, true
}

// ranked sums the coincidences seen and expected by the squared number of ranks
// between two categories.
func (m *matrix) ranked() (observed, expected float64) {
	for x := range m.k {
		between := m.totals[x] / 2
		for y := x + 1; y < m.k; y++ {
			d := between + m.totals[y]/2
			between += m.totals[y]
			observed += m.table[x*m.k+y] * d * d
			expected += 2 * m.totals[x] * m.totals[y] * d * d
		}
	}
	return observed, expected
}
