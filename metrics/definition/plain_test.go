package definition

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"pgregory.net/rapid"

	"stopledger/events"
	"stopledger/replay"
)

// The quick way of applying a definition (keys, classes, grid, blocks, workers)
// against the obvious one: every expression evaluated on every row, and every
// chance settled as the package comment says it.

// plainly is what the obvious way finds of one action.
type plainly struct {
	in, stop Truth
	trial    float64
	points   float64
}

// obvious applies a definition row by row.
type obvious struct {
	d    *Definition
	cols *replay.Columns
}

func (o obvious) fieldValue(f *fieldRef, chance, action int) ref.Val {
	if f.name == decidedField {
		if o.d.decided == nil {
			return types.False
		}
		return o.value(o.d.decided, chance, action).val()
	}
	table, row := &o.cols.Chances, chance
	switch f.from {
	case fromGame:
		table, row = &o.cols.Games, int(o.cols.ChanceGame[chance])
	case fromAction:
		table, row = &o.cols.Actions, action
	case fromDefender:
		table, row = &o.cols.Players, int(o.cols.ActionDefender[action])
	case fromOpponent:
		table, row = &o.cols.Players, int(o.cols.ActionOpponent[action])
	}
	c := table.Column(f.column)
	if f.field.Shape == replay.Real {
		if len(c.Reals) == 0 || math.IsNaN(float64(c.Reals[row])) {
			return absent[f.slot]
		}
		return types.Double(c.Reals[row])
	}
	code := c.Code(row)
	switch {
	case code == 0:
		return absent[f.slot]
	case f.field.Shape == replay.Number:
		return types.Double(c.Numbers[code])
	case f.field.Shape == replay.Truth:
		return types.Bool(c.Numbers[code] == 1)
	case f.field.Shape == replay.Words:
		return types.DefaultTypeAdapter.NativeToValue(c.Lists[code])
	}
	return types.String(c.Words[code])
}

func (o obvious) value(e *expression, chance, action int) value {
	r := newRecord()
	for _, f := range e.fields {
		r.values[f.slot] = o.fieldValue(f, chance, action)
	}
	v := e.evaluate(r)
	if v.reason == "" && v.number < 0 {
		switch {
		case e == o.d.weight:
			return value{reason: "the weight is less than 0", failed: true}
		case strings.HasPrefix(e.label, "cost"):
			return value{reason: "the cost is less than 0", failed: true}
		}
	}
	return v
}

func ofKind(p perKind, k events.Kind) *expression { return p.list[p.byKind[k]] }

// chance judges the actions from first to last of a chance.
func (o obvious) chance(chance, first, last int, undecided map[Undecided]int) (found []plainly, kept Truth, team float64) {
	type row struct {
		plainly
		kind     events.Kind
		reading  int
		defender uint32
		weight   value
		cost     *expression
	}
	note := func(label string, v value) {
		if v.reason != "" {
			undecided[Undecided{Rule: label, Reason: v.reason}]++
		}
	}
	kinds, readings := o.cols.Actions.Column("action.kind"), o.cols.Actions.Column("action.reading")
	rank := []string{"", "unclear", "held", "even", "broken"}
	rows := make([]row, 0, last-first)
	for a := first; a < last; a++ {
		r := row{kind: events.Kind(kinds.Words[kinds.Code(a)]), defender: o.cols.ActionDefender[a]}
		r.reading = slices.Index(rank, readings.Words[readings.Code(a)])
		keep, count := o.value(o.d.keep, chance, a), o.value(o.d.count, chance, a)
		kept = either(kept, truthOf(keep))
		switch {
		case truthOf(keep) == No || truthOf(count) == No:
			r.in = No
			if truthOf(keep) == Unsettled {
				note("", value{}) // false whatever keep would say
			}
		case truthOf(keep) == Yes && truthOf(count) == Yes:
			r.in = Yes
		default:
			r.in = Unsettled
			note("keep", keep)
			if keep.reason == "" {
				note("count", count)
			}
		}
		if r.in == Yes {
			e := ofKind(o.d.stop, r.kind)
			stop := o.value(e, chance, a)
			r.stop = truthOf(stop)
			note(e.label, stop)
			r.weight = o.value(o.d.weight, chance, a)
			note("blame", r.weight)
			r.cost = ofKind(o.d.cost, r.kind)
		}
		rows = append(rows, r)
	}
	if o.d.keep.ofChance() {
		kept = truthOf(o.value(o.d.keep, chance, 0))
	}
	// Trials: the worst reading, the earliest of these, stands for it.
	for i := range rows {
		best := -1
		for k := range rows {
			if rows[k].in == Yes && rows[k].kind == rows[i].kind && rows[k].defender == rows[i].defender {
				if best < 0 || rows[k].reading > rows[best].reading {
					best = k
				}
			}
		}
		if best == i {
			rows[i].trial = 1
		}
	}
	for i := range rows {
		n := 0
		for k := range rows {
			if rows[k].trial > 0 && rows[k].defender == rows[i].defender {
				n++
			}
		}
		if rows[i].trial > 0 {
			found = append(found, plainly{trial: 1 / float64(n)})
		} else {
			found = append(found, plainly{})
		}
	}
	// Points: cost times weight over the sum of the weights with that cost.
	anyWeight := false
	for _, r := range rows {
		anyWeight = anyWeight || r.in == Yes && r.weight.number > 0 && r.weight.reason == ""
	}
	base := o.value(o.d.cost.list[0], chance, 0)
	if kept == Yes {
		team = base.number
	}
	for i, r := range rows {
		found[i].in, found[i].stop = r.in, r.stop
		if r.in != Yes {
			continue
		}
		sum, known := 0.0, true
		for _, other := range rows {
			if other.in == Yes && other.cost == r.cost {
				sum += other.weight.number
				known = known && other.weight.reason == ""
			}
		}
		cost := o.value(r.cost, chance, 0)
		if r.weight.reason == "" && r.weight.number > 0 {
			note(r.cost.label, cost)
		}
		if known && sum > 0 && cost.reason == "" && r.defender != 0 {
			found[i].points = cost.number * r.weight.number / sum
			if r.cost == o.d.cost.list[0] {
				team -= found[i].points
			}
		}
	}
	return found, kept, team
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-8 }

// sameAsObvious compares Apply and Tally with the obvious way.
func sameAsObvious(t interface {
	Fatalf(string, ...any)
}, d *Definition, cols *replay.Columns, by []string) {
	v := Apply(d, cols)
	o := obvious{d, cols}
	undecided := map[Undecided]int{}
	var all []plainly
	action := 0
	for c := range cols.Chances.Rows {
		first := action
		for action < cols.Actions.Rows && int(cols.ActionChance[action]) == c {
			action++
		}
		found, kept, team := o.chance(c, first, action, undecided)
		for i, want := range found {
			a := first + i
			got := plainly{v.In[a], v.Stop[a], v.Trial[a], v.Points[a]}
			if got.in != want.in || got.stop != want.stop || !near(got.trial, want.trial) || !near(got.points, want.points) {
				t.Fatalf("action %d of chance %d: got %+v, want %+v", a, c, got, want)
			}
		}
		if v.Kept[c] != kept || kept == Yes && !near(v.Team[c], team) {
			t.Fatalf("chance %d: kept %v team %v, want %v %v", c, v.Kept[c], v.Team[c], kept, team)
		}
		all = append(all, found...)
	}
	got := map[Undecided]int{}
	for _, u := range v.Undecided {
		n := u.Rows
		u.Rows = 0
		got[u] = n
	}
	if fmt.Sprint(got) != fmt.Sprint(undecided) {
		t.Fatalf("undecided: got %v, want %v", got, undecided)
	}
	table, err := Tally(d, cols, by)
	if err != nil {
		t.Fatalf("tally: %v", err)
	}
	sameTable(t, d, cols, table, v, all)
}

// sameTable adds the obvious verdicts up group by group.
func sameTable(t interface {
	Fatalf(string, ...any)
}, d *Definition, cols *replay.Columns, table *Table, v *Verdicts, all []plainly) {
	dims, _ := dimensionsOf(table.By)
	f := newFrame(d, cols)
	type sums struct {
		actions, trials, won     int
		weight, stops, points    float64
		chances, games, readings map[uint32]int
	}
	groups := map[string]*sums{}
	reading := cols.Actions.Column("action.reading")
	team := 0.0
	for c := range v.Team {
		team += v.Team[c]
	}
	for a, p := range all {
		if p.in != Yes {
			continue
		}
		chance := cols.ActionChance[a]
		var key []string
		for _, dim := range dims {
			var parts []string
			for _, r := range dim.fields {
				parts = append(parts, keyText(f.column(r), f.column(r).Code(int(f.at(r.from, chance, uint32(a))))))
			}
			key = append(key, joinKey(parts))
		}
		name := strings.Join(key, "|")
		g, ok := groups[name]
		if !ok {
			g = &sums{chances: map[uint32]int{}, games: map[uint32]int{}, readings: map[uint32]int{}}
			groups[name] = g
		}
		g.actions++
		g.points += p.points
		g.chances[chance]++
		g.games[cols.ChanceGame[chance]]++
		g.readings[reading.Code(a)]++
		if p.trial > 0 {
			g.trials++
			g.weight += p.trial
			if p.stop == Yes {
				g.won++
				g.stops += p.trial
			}
		}
	}
	counted := 0
	for _, got := range table.Groups {
		if got.Actions == 0 {
			continue // only undecided rows
		}
		counted++
		want, ok := groups[strings.Join(got.Key, "|")]
		if !ok {
			t.Fatalf("group %v should not be there", got.Key)
		}
		if got.Actions != want.actions || got.Trials != want.trials || got.StopTrials != want.won || got.Chances != len(want.chances) ||
			got.Games != len(want.games) || !near(got.Weight, want.weight) || !near(got.Stops, want.stops) || !near(got.Points, want.points) {
			t.Fatalf("group %v: got %+v, want %+v", got.Key, got, want)
		}
		chances, points := 0.0, 0.0
		for j, n := range got.ByPoints {
			chances += n
			points += n * float64(j)
		}
		if !near(chances, float64(got.Chances)) || math.Abs(points-got.Points) > 1e-6 {
			t.Fatalf("group %v: %v chances by points are %v chances and %v points", got.Key, got.ByPoints, chances, points)
		}
	}
	if counted != len(groups) {
		t.Fatalf("%d groups, want %d", counted, len(groups))
	}
	if math.Abs(table.Team-team) > 1e-6 {
		t.Fatalf("team's account %v, want %v", table.Team, team)
	}
}

func TestQuickWayAgreesWithObviousWay(t *testing.T) {
	defer func(b, c int, d, g, h uint64) {
		block, maxClasses, maxDense, maxGrid, maxDenseGroups = b, c, d, g, h
	}(block, maxClasses, maxDense, maxGrid, maxDenseGroups)
	rapid.Check(t, func(t *rapid.T) {
		// Small blocks mean many of them and several workers; small limits lead
		// off the quickest path.
		block = rapid.SampledFrom([]int{3, 16, 2048}).Draw(t, "block")
		maxClasses = rapid.SampledFrom([]int{2, 1 << 14}).Draw(t, "classes")
		maxDense = rapid.SampledFrom([]uint64{8, 1 << 16}).Draw(t, "dense")
		maxGrid = rapid.SampledFrom([]uint64{64, 1 << 20}).Draw(t, "grid")
		maxDenseGroups = rapid.SampledFrom([]uint64{1, 1 << 17}).Draw(t, "groups")
		cols := drawColumns(t)
		text := drawDefinition(t)
		d, err := Parse("drawn.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		by := rapid.SampledFrom([][]string{nil, {"defender", "kind", "role"}, {"game"}, {"scheme", "kind"}, {"outcome", "chance.tempo"}, {"opponent.shooter", "own_role"}}).Draw(t, "by")
		sameAsObvious(t, d, cols, by)
	})
}

func TestShippedDefinitionsAgreeWithObviousWay(t *testing.T) {
	cols := rapid.Custom(drawColumns).Example(7)
	for _, d := range Shipped() {
		sameAsObvious(t, d, cols, []string{"defender", "kind", "role"})
	}
}
