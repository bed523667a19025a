package definition

import (
	"sort"
	"strings"

	"stopledger/replay"
)

// Table is a definition's numbers by group.
type Table struct {
	Definition *Definition
	By         []string
	Groups     []Group // sorted by key
	Total      Group   // over everything, with an empty key
	// Team is the points of kept chances that nobody answers for. The points of
	// all groups whose kinds have the default cost and Team sum to that cost.
	Team      float64
	Kept      int // chances that count, with or without actions
	Undecided []Undecided
}

// Group is what a table says of one group. Counts are of actions that count,
// unless it says otherwise; see the package comment for trials.
type Group struct {
	Key     []string // one text for each of By; "" where the field is absent
	Actions int
	Games   int
	Chances int
	Trials  int

	Weight float64 // of the trials
	Judged float64 // of the trials whose stop is decided
	Stops  float64 // of the trials that are stops

	JudgedTrials int // the same, every trial as one
	StopTrials   int

	Points float64 // answered for

	Held, Even, Broken, Unclear int // actions by reading; a foul to give has none

	HeldWeight, EvenWeight, BrokenWeight float64 // trials by reading

	Undecided int // actions that a rule left undecided
}

// Tally groups the actions of the columns. By names dimensions (see
// [Dimensions]) or fields; none gives one group of everything.
func Tally(d *Definition, cols *replay.Columns, by []string) (*Table, error) {
	dims, err := dimensionsOf(by)
	if err != nil {
		return nil, err
	}
	return tally(d, newFrame(d, cols, nil), by, dims), nil
}

// running is a group while it is being counted.
type running struct {
	Group
	codes      []uint32
	lastGame   uint32
	lastChance uint32
}

const never = ^uint32(0)

func tally(d *Definition, f *frame, by []string, dims []dimension) *Table {
	var refs []*fieldRef
	for _, dim := range dims {
		refs = append(refs, dim.fields...)
	}
	groups := map[string]*running{}
	total := &running{lastGame: never, lastChance: never}
	s := newSettler(d, f)
	t := &Table{Definition: d, By: by}
	codes := make([]uint32, len(refs))
	key := make([]byte, 4*len(refs))
	for c := range f.cols.Chances.Rows {
		chance := uint32(c)
		s.chance(chance)
		if s.kept == Yes {
			t.Kept++
		}
		t.Team += s.team
		for i := range s.acts {
			a := &s.acts[i]
			if a.in == No {
				continue
			}
			for k, r := range refs {
				codes[k] = codeAt(&f.column(r).Codes, f.at(r.from, chance, a.row))
				key[4*k], key[4*k+1], key[4*k+2], key[4*k+3] = byte(codes[k]), byte(codes[k]>>8), byte(codes[k]>>16), byte(codes[k]>>24)
			}
			g, ok := groups[string(key)]
			if !ok {
				g = &running{codes: append([]uint32(nil), codes...), lastGame: never, lastChance: never}
				groups[string(key)] = g
			}
			g.add(a, chance, f.cols.ChanceGame[chance])
			total.add(a, chance, f.cols.ChanceGame[chance])
		}
	}
	t.Total = total.Group
	for _, g := range groups {
		g.Key = groupKey(f, dims, g.codes)
		t.Groups = append(t.Groups, g.Group)
	}
	sortGroups(t.Groups)
	t.Undecided = s.undecided.list(d, &s.judge.reasons)
	return t
}

func (g *running) add(a *act, chance, game uint32) {
	undecided := a.in == Unsettled || a.stop == Unsettled || a.weighed == Unsettled || a.why[ruleCost] > 0
	if undecided {
		g.Undecided++
	}
	if a.in != Yes {
		return
	}
	g.Actions++
	if g.lastChance != chance {
		g.lastChance = chance
		g.Chances++
	}
	if g.lastGame != game {
		g.lastGame = game
		g.Games++
	}
	g.Points += a.points
	switch a.reading {
	case held:
		g.Held++
	case even:
		g.Even++
	case broken:
		g.Broken++
	case unclear:
		g.Unclear++
	}
	if a.trial > 0 {
		g.addTrial(a)
	}
}

func (g *running) addTrial(a *act) {
	g.Trials++
	g.Weight += a.trial
	switch a.reading {
	case held:
		g.HeldWeight += a.trial
	case even:
		g.EvenWeight += a.trial
	case broken:
		g.BrokenWeight += a.trial
	}
	if a.stop == Unsettled {
		return
	}
	g.JudgedTrials++
	g.Judged += a.trial
	if a.stop == Yes {
		g.StopTrials++
		g.Stops += a.trial
	}
}

// groupKey turns the codes of a group into words, dimension by dimension.
func groupKey(f *frame, dims []dimension, codes []uint32) []string {
	key := make([]string, len(dims))
	at := 0
	for i, dim := range dims {
		var parts []string
		for _, r := range dim.fields {
			if text := keyText(f.column(r), codes[at]); text != "" {
				parts = append(parts, text)
			}
			at++
		}
		key[i] = strings.Join(parts, " ")
	}
	return key
}

func sortGroups(groups []Group) {
	sort.Slice(groups, func(i, j int) bool {
		a, b := groups[i].Key, groups[j].Key
		for k := range a {
			if a[k] != b[k] {
				return a[k] < b[k]
			}
		}
		return false
	})
}
