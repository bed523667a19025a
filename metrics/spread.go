package metrics

import (
	"encoding/binary"
	"fmt"
	"math"
	"strconv"
	"strings"

	"stopledger/metrics/definition"
	"stopledger/metrics/stats"
	"stopledger/replay"
)

// spread counts chances by the points that a group answers for in each:
// counts[j] is how many cost j. Points that are no whole number, as where a
// chance is answered for in parts, count for both neighbours in proportion: the
// mean stays what it was, and the little variance that is added widens the
// interval rather than narrowing it.
type spread struct {
	counts []float64
	chance uint32 // the one being added up
	points float64
}

const noChance = ^uint32(0)

func newSpread() *spread { return &spread{chance: noChance} }

// add takes the points of one action. Actions come chance by chance.
func (s *spread) add(chance uint32, points float64) {
	if s.chance != chance {
		s.settle()
		s.chance = chance
	}
	s.points += points
}

// settle counts the chance that is now complete.
func (s *spread) settle() {
	if s.chance != noChance {
		s.counts = countPoints(s.counts, s.points, 1)
	}
	s.chance, s.points = noChance, 0
}

// countPoints counts one result with a weight.
func countPoints(counts []float64, points, weight float64) []float64 {
	whole := math.Floor(points + 1e-9) // thirds add up to a whole, but for the last bit
	part := max(points-whole, 0)
	for len(counts) < int(whole)+2 {
		counts = append(counts, 0)
	}
	counts[int(whole)] += weight * (1 - part)
	counts[int(whole)+1] += weight * part
	return counts
}

// mostPoints is the most that the variable of an interval may be, where nothing
// dearer was seen: a made three with its free throw.
const mostPoints = 4

// interval is the interval of the mean on a sample divided by a design effect.
func (s *spread) interval(design float64) ([2]float64, error) {
	counts := make([]float64, max(mostPoints+1, lastAbove0(s.counts)+1))
	for j := range min(len(counts), len(s.counts)) {
		counts[j] = s.counts[j] / design
	}
	_, lo, hi, err := stats.MeanInterval(counts, Level)
	return [2]float64{lo, hi}, err
}

func lastAbove0(counts []float64) int {
	for j := len(counts) - 1; j > 0; j-- {
		if counts[j] > 0 {
			return j
		}
	}
	return 0
}

// spreads counts the chances of each group of a grouping, by its joined key, and
// of all actions together under allGroups.
func spreads(v *definition.Verdicts, cols *replay.Columns, by []string) (map[string]*spread, error) {
	keys, err := newKeys(cols, by)
	if err != nil {
		return nil, err
	}
	found := make(map[string]*spread) // by codes
	out := map[string]*spread{allGroups: newSpread()}
	for row := range cols.Actions.Rows {
		if v.In[row] != definition.Yes {
			continue
		}
		codes := keys.codes(row)
		s, ok := found[string(codes)]
		if !ok {
			s = newSpread()
			found[string(codes)] = s
			out[keys.text()] = s
		}
		s.add(cols.ActionChance[row], v.Points[row])
		out[allGroups].add(cols.ActionChance[row], v.Points[row])
	}
	for _, s := range out {
		s.settle()
	}
	return out, nil
}

const allGroups = "\x00all"

// keys names the group of an action as a tally does.
type keys struct {
	dims [][]keyField
	code []uint32
	raw  []byte
}

type keyField struct {
	column *replay.Column
	row    func(action int) int
}

func newKeys(cols *replay.Columns, by []string) (*keys, error) {
	k := &keys{}
	n := 0
	for _, name := range by {
		fields := []string{name}
		for _, d := range definition.Dimensions {
			if d.Name == name {
				fields = d.Fields
			}
		}
		var dim []keyField
		for _, f := range fields {
			column, row := columnAt(cols, f)
			if column == nil {
				return nil, fmt.Errorf("cannot group by %q", name)
			}
			dim = append(dim, keyField{column, row})
			n++
		}
		k.dims = append(k.dims, dim)
	}
	k.code, k.raw = make([]uint32, n), make([]byte, 4*n)
	return k, nil
}

// columnAt finds the column of a field and the way from an action to its row.
func columnAt(cols *replay.Columns, field string) (*replay.Column, func(int) int) {
	root, rest, _ := strings.Cut(field, ".")
	chance := func(a int) int { return int(cols.ActionChance[a]) }
	switch root {
	case "action":
		return cols.Actions.Column(field), func(a int) int { return a }
	case "chance", "possession":
		return cols.Chances.Column(field), chance
	case "game":
		return cols.Games.Column(field), func(a int) int { return int(cols.ChanceGame[chance(a)]) }
	case "defender":
		return cols.Players.Column("player." + rest), func(a int) int { return int(cols.ActionDefender[a]) }
	case "opponent":
		return cols.Players.Column("player." + rest), func(a int) int { return int(cols.ActionOpponent[a]) }
	}
	return nil, nil
}

// codes looks an action up. The slice is overwritten by the next call.
func (k *keys) codes(action int) []byte {
	at := 0
	for _, dim := range k.dims {
		for _, f := range dim {
			k.code[at] = f.column.Code(f.row(action))
			binary.LittleEndian.PutUint32(k.raw[4*at:], k.code[at])
			at++
		}
	}
	return k.raw
}

// text is the joined key of the action last looked up.
func (k *keys) text() string {
	parts := make([]string, len(k.dims))
	at := 0
	for i, dim := range k.dims {
		var words []string
		for _, f := range dim {
			if w := wordOf(f.column, k.code[at]); w != "" {
				words = append(words, w)
			}
			at++
		}
		parts[i] = strings.Join(words, " ")
	}
	return joinKey(parts)
}

func joinKey(parts []string) string { return strings.Join(parts, "\x00") }

// wordOf is what a code stands for, as a group's key says it.
func wordOf(c *replay.Column, code uint32) string {
	switch {
	case code == 0:
		return ""
	case c.Field.Shape == replay.Number:
		return strconv.FormatFloat(math.Round(c.Numbers[code]*1e4)/1e4, 'f', -1, 64)
	case c.Field.Shape == replay.Truth:
		return strconv.FormatBool(c.Numbers[code] != 0)
	}
	return c.Words[code]
}
