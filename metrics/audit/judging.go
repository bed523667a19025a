package audit

import (
	"fmt"
	"slices"

	"stopledger/metrics/stats"
)

// Figure is an estimate and its doubt.
type Figure struct {
	Value float64 `json:"value"`
	// SE is the large-sample standard error (Fleiss, Cohen and Everitt 1969);
	// absent where there is none in closed form.
	SE *float64 `json:"se,omitempty"`
	// Lo and Hi are percentiles over resampled chances; absent where too few.
	Lo *float64 `json:"lo,omitempty"`
	Hi *float64 `json:"hi,omitempty"`
}

// Field is how alike two charts labelled one thing that both saw.
type Field struct {
	Name  string      `json:"name"`
	N     int         `json:"n"`               // pairs that both labelled
	Raw   *float64    `json:"raw"`             // share labelled alike; absent without pairs
	Kappa *Figure     `json:"kappa"`           // agreement beyond chance; absent where undefined
	Note  string      `json:"note,omitempty"`  // why a figure is absent, or what was left out
	Words []string    `json:"words,omitempty"` // of the table, in the vocabulary's order where it has one
	Table [][]float64 `json:"table,omitempty"` // counts, A in the rows and B in the columns
}

// judging collects pairs of labels of one field. Labels are compared within
// strata: an outcome only with outcomes of the same kind. Each stratum has its
// own words, margins and agreement by chance.
type judging struct {
	name    string
	weights func(k int) [][]float64 // partial credit, or nil
	strata  []stratum
	cells   []cell
	grid    map[int][][]float64

	rows, cols []float64 // room for margins
}

type stratum struct {
	words []string
	at    map[string]int
}

// cell is one pair of labels: which chance (the unit of resampling), stratum and
// places of the two words.
type cell struct{ chance, stratum, x, y int }

// newJudging starts a field with one stratum whose words may be given in order;
// further words follow as they come.
func newJudging(name string, words []string) *judging {
	j := &judging{name: name, grid: map[int][][]float64{}}
	j.stratum(0, words)
	return j
}

// stratum makes sure that a stratum exists, with words in a given order.
func (j *judging) stratum(s int, words []string) {
	for len(j.strata) <= s {
		j.strata = append(j.strata, stratum{at: map[string]int{}})
	}
	for _, w := range words {
		j.strata[s].place(w)
	}
}

func (s *stratum) place(word string) int {
	i, known := s.at[word]
	if !known {
		i = len(s.words)
		s.words, s.at[word] = append(s.words, word), i
	}
	return i
}

func (j *judging) add(chance, stratum int, x, y string) {
	s := &j.strata[stratum]
	j.cells = append(j.cells, cell{chance, stratum, s.place(x), s.place(y)})
}

// offsets says where each stratum's table begins in the flat one.
func (j *judging) offsets() (at []int, size int) {
	at = make([]int, len(j.strata))
	for i := range j.strata {
		at[i] = size
		size += len(j.strata[i].words) * len(j.strata[i].words)
	}
	return at, size
}

// table counts the pairs of some cells, or of all for nil, in one flat table.
func (j *judging) table(cells []cell) []float64 {
	if cells == nil {
		cells = j.cells
	}
	at, size := j.offsets()
	flat := make([]float64, size)
	for _, c := range cells {
		flat[at[c.stratum]+c.x*len(j.strata[c.stratum].words)+c.y]++
	}
	return flat
}

func (j *judging) credit(k int) [][]float64 {
	w := j.grid[k]
	if w == nil {
		if j.weights != nil {
			w = j.weights(k)
		} else {
			w = make([][]float64, k)
			for i := range w {
				w[i] = make([]float64, k)
				w[i][i] = 1
			}
		}
		j.grid[k] = w
	}
	return w
}

// kappa is agreement beyond chance, pooled over the strata:
// Σ n(Po − Pe) / Σ n(1 − Pe). With one stratum it is Cohen's. False where
// chance alone agrees always.
func (j *judging) kappa(flat []float64) (float64, bool) {
	beyond, room := 0.0, 0.0
	start := 0
	for s := range j.strata {
		k := len(j.strata[s].words)
		table := flat[start : start+k*k]
		start += k * k
		if len(j.rows) < k {
			j.rows, j.cols = make([]float64, k), make([]float64, k)
		}
		rows, cols, n := j.rows[:k], j.cols[:k], 0.0
		clear(rows)
		clear(cols)
		for x := range k {
			for y, c := range table[x*k : x*k+k] {
				rows[x] += c
				cols[y] += c
				n += c
			}
		}
		if n == 0 {
			continue
		}
		w := j.credit(k)
		agreed, expected := 0.0, 0.0
		for x := range k {
			if rows[x] == 0 {
				continue
			}
			for y := range k {
				agreed += table[x*k+y] * w[x][y]
				expected += rows[x] * cols[y] * w[x][y]
			}
		}
		beyond += agreed - expected/n
		room += n - expected/n
	}
	if room < 1e-9 {
		return 0, false
	}
	return beyond / room, true
}

// standardError is that of the pooled kappa: the strata's large-sample errors
// with the weights n(1 − Pe) taken as fixed, after Barlow W, Lai MY, Azen SP
// (1991) Statistics in Medicine 10:1465-1472 (from memory).
func (j *judging) standardError(flat []float64) *float64 {
	at, _ := j.offsets()
	var sum, room float64
	for s := range j.strata {
		k := len(j.strata[s].words)
		if k == 0 {
			continue
		}
		square := make([][]float64, k)
		for x := range k {
			square[x] = flat[at[s]+x*k : at[s]+x*k+k]
		}
		one, err := stats.WeightedKappa(square, j.credit(k))
		if err != nil || !one.Defined {
			continue
		}
		w := one.N * (1 - one.Expected)
		sum += w * w * one.SE * one.SE
		room += w
	}
	if room == 0 {
		return nil
	}
	se := sqrt(sum) / room
	return &se
}

// field sums the pairs up; without a resampler there are no intervals.
func (j *judging) field(r *resampler) Field {
	f := Field{Name: j.name, N: len(j.cells)}
	if f.N == 0 {
		f.Note = "nothing to compare"
		return f
	}
	alike := 0
	for _, c := range j.cells {
		if c.x == c.y {
			alike++
		}
	}
	raw := float64(alike) / float64(f.N)
	f.Raw = &raw
	flat := j.table(nil)
	if len(j.strata) == 1 {
		f.Words, f.Table = j.square(flat)
	}
	kappa, ok := j.kappa(flat)
	if !ok {
		f.Note = j.noVariation()
		return f
	}
	f.Kappa = &Figure{Value: kappa, SE: j.standardError(flat)}
	f.Kappa.Lo, f.Kappa.Hi, f.Note = j.interval(r)
	return f
}

func (j *judging) noVariation() string {
	if len(j.strata) == 1 {
		return fmt.Sprintf("no variation: both wrote %q every time, so chance alone agrees always", j.strata[0].words[j.cells[0].x])
	}
	return "no variation: both wrote the same word every time, so chance alone agrees always"
}

// square is the one stratum's table without words that nobody used.
func (j *judging) square(flat []float64) (words []string, table [][]float64) {
	all := j.strata[0].words
	var used []int
	for i := range all {
		if slices.ContainsFunc(j.cells, func(c cell) bool { return c.x == i || c.y == i }) {
			used = append(used, i)
		}
	}
	for _, i := range used {
		words = append(words, all[i])
		row := make([]float64, len(used))
		for y, k := range used {
			row[y] = flat[i*len(all)+k]
		}
		table = append(table, row)
	}
	return words, table
}

// interval resamples chances with their pairs.
func (j *judging) interval(r *resampler) (lo, hi *float64, note string) {
	at, size := j.offsets()
	flat := make([]float64, size)
	places := make([]int, len(j.cells))
	for i, c := range j.cells {
		places[i] = at[c.stratum] + c.x*len(j.strata[c.stratum].words) + c.y
	}
	return r.interval(func(times []float64) (float64, bool) {
		clear(flat)
		for i, place := range places {
			flat[place] += times[j.cells[i].chance]
		}
		return j.kappa(flat)
	})
}
