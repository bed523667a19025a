package audit

import (
	"stopledger/metrics/stats"
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
		out = append(out, u.alpha(f.name, f.ordinal, f.words, f.label, o))
	}
	return out
}

// pairs is what one unit adds to the matrix of coincidences.
type pairs struct {
	chance int
	x, y   int
	weight float64
}

func (u *units) alpha(name string, ordinal bool, words []string, label func(*replay.Action) (string, bool), o Options) AlphaField {
	f := AlphaField{Name: name, Ordinal: ordinal}
	s := stratum{at: map[string]int{}}
	for _, w := range words {
		s.place(w)
	}
	var list []pairs
	for _, one := range u.actions {
		var values []int
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
		f.Units++
		f.Labels += len(values)
		for i, x := range values {
			for j, y := range values {
				if i != j {
					list = append(list, pairs{one.chance, x, y, 1 / float64(len(values)-1)})
				}
			}
		}
	}
	metric := stats.Nominal
	if ordinal {
		metric = stats.Ordinal
	}
	k := len(s.words)
	table := make([]float64, k*k)
	for _, p := range list {
		table[p.x*k+p.y] += p.weight
	}
	alpha, ok := alphaOf(table, k, metric)
	switch {
	case f.Units == 0:
		f.Note = "nothing that two charts labelled"
	case !ok:
		f.Note = "no variation: one word every time, so chance alone agrees always"
	default:
		f.Alpha = &Figure{Value: alpha}
		f.Alpha.Lo, f.Alpha.Hi, f.Note = u.resampleAlpha(list, k, metric, o)
	}
	return f
}

// resampleAlpha draws chances that hold pairs.
func (u *units) resampleAlpha(list []pairs, k int, metric stats.Metric, o Options) (lo, hi *float64, note string) {
	at := map[int]int{}
	var byChance [][]pairs
	for _, p := range list {
		i, known := at[p.chance]
		if !known {
			i = len(byChance)
			at[p.chance] = i
			byChance = append(byChance, nil)
		}
		byChance[i] = append(byChance[i], p)
	}
	table := make([]float64, k*k)
	return resample(len(byChance), o, func(drawn []int) (float64, bool) {
		clear(table)
		for _, i := range drawn {
			for _, p := range byChance[i] {
				table[p.x*k+p.y] += p.weight
			}
		}
		return alphaOf(table, k, metric)
	})
}

// alphaOf is Krippendorff's alpha of a matrix of coincidences whose categories
// stand in order: 1 − (n−1) Σ o·d² / Σ n n·d². It is what [stats.Alpha] computes
// from units; here it has to be quick.
func alphaOf(table []float64, k int, metric stats.Metric) (float64, bool) {
	totals := make([]float64, k)
	n := 0.0
	for x := range k {
		for _, c := range table[x*k : x*k+k] {
			totals[x] += c
		}
		n += totals[x]
	}
	observed, expected := 0.0, 0.0
	for x := range k {
		if totals[x] == 0 {
			continue
		}
		between := totals[x] / 2
		for y := x + 1; y < k; y++ {
			d := 1.0
			if metric == stats.Ordinal {
				d = between + totals[y]/2
				d *= d
				between += totals[y]
			}
			observed += table[x*k+y] * d
			expected += totals[x] * totals[y] * d
		}
	}
	if expected == 0 {
		return 0, false
	}
	return 1 - (n-1)*observed/expected, true
}
