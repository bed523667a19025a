package metrics

import (
	"slices"
	"strings"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// film is every action that a definition counts and a defender answers for, with
// what the numbers need of it decoded once.
type film struct {
	cols     *replay.Columns
	verdicts *definition.Verdicts
	players  []player // sorted by id
	index    map[events.Token]int
	schemes  []string // sorted
	rows     []row    // in the order of the columns: by game, chance and order of play
	of       [][]int  // by player: indexes into rows
	games    [][]int  // by player: the games he has rows in
}

type player struct {
	id, team events.Token
	role     int // index into roles
}

// row is one action that counts.
type row struct {
	action  int // row in the columns
	chance  uint32
	game    uint32
	player  int
	kind    int // index into events.Kinds
	facing  int // the opponent's role, index into roles
	scheme  int // index into film.schemes
	cameBy  string
	reading reading
	stop    definition.Truth
	trial   float64 // weight of the trial it stands for, or 0
	points  float64 // answered for by his actions of the kind in the chance; where trial is above 0
}

// reading is an index: held, even, broken, unclear, or none.
type reading uint8

const (
	isHeld reading = iota
	isEven
	isBroken
	isUnclear
	noReading
)

// roles are the levels of both sides' roles; the last is an opponent that nobody
// named, as in a zone, or a defender whose role nobody knows.
var roles = []events.Role{events.Guard, events.Wing, events.Big, ""}

const roleUnknown = 3

func roleIndex(r events.Role) int {
	if i := slices.Index(roles, r); i >= 0 {
		return i
	}
	return roleUnknown
}

func kindIndex(k events.Kind) int {
	return slices.IndexFunc(events.Kinds, func(row events.KindRow) bool { return row.Kind == k })
}

func newFilm(d *definition.Definition, cols *replay.Columns) *film {
	f := &film{cols: cols, verdicts: definition.Apply(d, cols)}
	rowPlayer := f.listPlayers()
	f.of, f.games = make([][]int, len(f.players)), make([][]int, len(f.players))
	f.decode(rowPlayer)
	f.settleRoles(rowPlayer)
	return f
}

// listPlayers lists everybody on the ledger, whether or not he was charted, and
// returns the player of each roster row, -1 for nobody.
func (f *film) listPlayers() []int {
	ids, teams := f.cols.Players.Column("player.id"), f.cols.Players.Column("player.team")
	byRow := make([]events.Token, f.cols.Players.Rows)
	team := make(map[events.Token]events.Token)
	var list []events.Token
	for r := range byRow {
		id := events.Token(wordOf(ids, ids.Code(r)))
		byRow[r] = id
		if id == "" {
			continue
		}
		if _, ok := team[id]; !ok {
			list = append(list, id)
		}
		team[id] = events.Token(wordOf(teams, teams.Code(r)))
	}
	slices.Sort(list)
	f.index = make(map[events.Token]int, len(list))
	for i, id := range list {
		f.index[id] = i
		f.players = append(f.players, player{id: id, team: team[id], role: roleUnknown})
	}
	out := make([]int, len(byRow))
	for r, id := range byRow {
		out[r] = -1
		if i, ok := f.index[id]; ok {
			out[r] = i
		}
	}
	return out
}

// decode fills the rows.
func (f *film) decode(rowPlayer []int) {
	cols := f.cols
	kinds := codeIndex(cols.Actions.Column("action.kind"), func(w string) int { return kindIndex(events.Kind(w)) })
	readings := codeIndex(cols.Actions.Column("action.reading"), func(w string) int { return slices.Index(events.Reading("").Words(), w) })
	facing := codeIndex(cols.Players.Column("player.role"), func(w string) int { return roleIndex(events.Role(w)) })
	kind, read, role := cols.Actions.Column("action.kind"), cols.Actions.Column("action.reading"), cols.Players.Column("player.role")
	cameBy := cols.Actions.Column("action.came_by")
	schemeOf := f.listSchemes()
	v := f.verdicts
	for a := range cols.Actions.Rows {
		p := rowPlayer[cols.ActionDefender[a]]
		k := kinds[kind.Code(a)]
		if v.In[a] != definition.Yes || p < 0 || k < 0 {
			continue
		}
		r := row{
			action: a, chance: cols.ActionChance[a], player: p, kind: k,
			facing: facing[role.Code(int(cols.ActionOpponent[a]))], reading: noReading,
			cameBy: wordOf(cameBy, cameBy.Code(a)), stop: v.Stop[a], trial: v.Trial[a],
		}
		r.game, r.scheme = cols.ChanceGame[r.chance], schemeOf[r.chance]
		if i := readings[read.Code(a)]; i >= 0 {
			r.reading = reading(i)
		}
		f.of[p] = append(f.of[p], len(f.rows))
		if g := f.games[p]; len(g) == 0 || g[len(g)-1] != int(r.game) {
			f.games[p] = append(g, int(r.game))
		}
		f.rows = append(f.rows, r)
	}
	f.addPoints()
}

// addPoints gives each trial the points of all its actions.
func (f *film) addPoints() {
	for i := 0; i < len(f.rows); {
		end := i
		for end < len(f.rows) && f.rows[end].chance == f.rows[i].chance {
			end++
		}
		for t := i; t < end; t++ {
			if f.rows[t].trial <= 0 {
				continue
			}
			for j := i; j < end; j++ {
				if f.rows[j].player == f.rows[t].player && f.rows[j].kind == f.rows[t].kind {
					f.rows[t].points += f.verdicts.Points[f.rows[j].action]
				}
			}
		}
		i = end
	}
}

// listSchemes lists the schemes (base and principle) and returns each chance's.
func (f *film) listSchemes() []int {
	base, principle := f.cols.Chances.Column("chance.base"), f.cols.Chances.Column("chance.principle")
	names := make([]string, f.cols.Chances.Rows)
	seen := make(map[string]bool)
	for c := range names {
		names[c] = schemeName(wordOf(base, base.Code(c)), wordOf(principle, principle.Code(c)))
		if !seen[names[c]] {
			seen[names[c]] = true
			f.schemes = append(f.schemes, names[c])
		}
	}
	slices.Sort(f.schemes)
	out := make([]int, len(names))
	for c, name := range names {
		out[c], _ = slices.BinarySearch(f.schemes, name)
	}
	return out
}

// schemeName writes a scheme as a group's key does.
func schemeName(base, principle string) string {
	return strings.TrimSpace(base + " " + principle)
}

// codeIndex translates the codes of a column.
func codeIndex(c *replay.Column, of func(string) int) []int {
	out := make([]int, max(c.Cardinality(), 1))
	for code := range out {
		out[code] = of(wordOf(c, uint32(code)))
	}
	return out
}

// settleRoles gives each player the role that he defended in most, else the
// first on a roster.
func (f *film) settleRoles(rowPlayer []int) {
	role := f.cols.Players.Column("player.role")
	counts := make([][4]int, len(f.players))
	for r, p := range rowPlayer {
		if p >= 0 {
			counts[p][roleIndex(events.Role(wordOf(role, role.Code(r))))]++
		}
	}
	for i := range f.rows {
		r := int(f.cols.ActionDefender[f.rows[i].action])
		counts[f.rows[i].player][roleIndex(events.Role(wordOf(role, role.Code(r))))] += 1000
	}
	for p, c := range counts {
		best := roleUnknown
		for i, n := range c[:roleUnknown] {
			if n > 0 && (best == roleUnknown || n > c[best]) {
				best = i
			}
		}
		f.players[p].role = best
	}
}

// word reads a field of an action as a word, "" where it is absent.
func (f *film) word(action int, field string) string {
	c, at := columnAt(f.cols, field)
	return wordOf(c, c.Code(at(action)))
}

// score is what a reading counts in the process, and whether it counts at all.
func (r *row) score(even float64) (float64, bool) {
	switch r.reading {
	case isHeld:
		return 1, true
	case isEven:
		return even, true
	case isBroken:
		return 0, true
	}
	return 0, false
}

// success is the share of the trial that succeeded under a target, and whether
// the trial counts for it.
func (r *row) success(t Target, even float64) (float64, bool) {
	if r.trial <= 0 {
		return 0, false
	}
	if t == Process {
		return r.score(even)
	}
	switch r.stop {
	case definition.Yes:
		return 1, true
	case definition.No:
		return 0, true
	}
	return 0, false
}
