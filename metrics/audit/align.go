package audit

import (
	"cmp"
	"math"
	"slices"

	"stopledger/events"
	"stopledger/replay"
)

// pairing is two charts of one game laid beside each other.
type pairing struct {
	a, b   *replay.Chart
	common scope
	why    string // why they cannot be compared, or ""
	offset Offset

	chances      []link // indices of chances, in the order of play of A
	onlyA, onlyB []int  // chances in common scope that the other lacks

	actions            []link // indices of actions, with their cost
	actOnlyA, actOnlyB []int
	chanceOfA          map[int]int // the link in chances of A's chance
	chanceOfB          map[int]int
}

// link is one thing seen in both charts, by index; score says how well it fits.
type link struct {
	a, b  int
	score float64
}

// indexed is a chance with its index in the chart.
type indexed struct {
	index  int
	chance *replay.Chance
}

// group is the chances of one period and one offence in both charts.
type group struct{ a, b []indexed }

// groupsOf sorts both charts' chances in common scope by period and defence.
// The window is on A's clock, so B's chances are asked with the offset taken
// out.
func (p *pairing) groupsOf() []group {
	type key struct {
		period  int
		defence events.Token
	}
	at := map[key]int{}
	var groups []group
	add := func(c *replay.Chart, offset float64, put func(*group, indexed)) {
		for i := range c.Chances {
			ch := &c.Chances[i]
			if !p.common.defends(ch.Defence) || !p.common.during(shifted(ch.When, -offset)) {
				continue
			}
			k := key{ch.When.Period, ch.Defence}
			if _, known := at[k]; !known {
				at[k] = len(groups)
				groups = append(groups, group{})
			}
			put(&groups[at[k]], indexed{i, ch})
		}
	}
	add(p.a, 0, func(g *group, c indexed) { g.a = append(g.a, c) })
	add(p.b, p.offset.Seconds, func(g *group, c indexed) { g.b = append(g.b, c) })
	return groups
}

func shifted(w events.When, seconds float64) events.When {
	if w.Clock != nil && seconds != 0 {
		clock := *w.Clock + seconds
		w.Clock = &clock
	}
	return w
}

// alignChances matches the chances of every group: the best-scoring set of
// matches that keeps the order of play in both charts (dynamic programming, after
// Needleman SB, Wunsch CD (1970) Journal of Molecular Biology 48:443-453, with
// gaps that cost nothing).
func (p *pairing) alignChances(groups []group, tolerance float64) {
	p.chances, p.onlyA, p.onlyB = p.chances[:0], p.onlyA[:0], p.onlyB[:0]
	for _, g := range groups {
		p.alignGroup(g, tolerance)
	}
	slices.SortFunc(p.chances, func(x, y link) int { return cmp.Compare(x.a, y.a) })
	slices.Sort(p.onlyA)
	slices.Sort(p.onlyB)
}

func (p *pairing) alignGroup(g group, tolerance float64) {
	n, m := len(g.a), len(g.b)
	fits := make([]float64, n*m)
	best := make([]float64, (n+1)*(m+1))
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			f := p.fit(g.a[i].chance, g.b[j].chance, tolerance)
			fits[i*m+j] = f
			best[i*(m+1)+j] = max(best[(i+1)*(m+1)+j], best[i*(m+1)+j+1], f+best[(i+1)*(m+1)+j+1])
		}
	}
	i, j := 0, 0
	for i < n || j < m {
		switch here := best[i*(m+1)+j]; {
		case i < n && j < m && fits[i*m+j] > 0 && here == fits[i*m+j]+best[(i+1)*(m+1)+j+1]:
			p.chances = append(p.chances, link{g.a[i].index, g.b[j].index, fits[i*m+j]})
			i, j = i+1, j+1
		case i < n && here == best[(i+1)*(m+1)+j]:
			p.onlyA = append(p.onlyA, g.a[i].index)
			i++
		default:
			p.onlyB = append(p.onlyB, g.b[j].index)
			j++
		}
	}
}

// fit scores how well two chances go together, from the clocks above all; below
// zero they do not. The weights are judgements.
func (p *pairing) fit(a, b *replay.Chance, tolerance float64) float64 {
	score := 0.3 // without clocks, the order and the end must do
	if apart, known := p.apart(a, b); known {
		if apart > tolerance {
			return -1
		}
		score = 1 - apart/tolerance
	}
	if a.Ended && b.Ended {
		if a.End == b.End {
			score += 0.6
		} else {
			score -= 0.3
		}
	}
	switch {
	case a.Shooter == "" || b.Shooter == "":
	case a.Shooter == b.Shooter:
		score += 0.4
	default:
		score -= 0.2
	}
	return score
}

// apart is how many seconds two chances' clocks differ, the offset taken out:
// the mean over beginning and end.
func (p *pairing) apart(a, b *replay.Chance) (float64, bool) {
	sum, n := 0.0, 0.0
	length := p.a.Info.Rules.Length(a.When.Period)
	for _, c := range [2][2]*float64{{a.When.Clock, b.When.Clock}, {ended(a), ended(b)}} {
		if c[0] != nil && c[1] != nil {
			want := max(*c[0]+p.offset.Seconds, 0)
			if *c[0] <= length && *c[1] <= length {
				want = min(want, length) // a clock that is ahead stops at the edges all the same
			}
			sum += math.Abs(*c[1] - want)
			n++
		}
	}
	return sum / max(n, 1), n > 0
}

// pair lays two charts beside each other.
func pair(a, b *replay.Chart, o Options) *pairing {
	p := &pairing{a: a, b: b, chanceOfA: map[int]int{}, chanceOfB: map[int]int{}}
	p.common, p.why = common(scopeOf(a), scopeOf(b))
	if why := otherGame(a, b); why != "" {
		p.why = why
	}
	if p.why != "" {
		return p
	}
	p.findOffset(o)
	p.dropOutside()
	p.why = p.apartAltogether()
	p.offset.Text = offsetText(string(a.Name), string(b.Name), p.offset)
	for i, l := range p.chances {
		p.chanceOfA[l.a], p.chanceOfB[l.b] = i, i
	}
	if p.why == "" {
		p.alignActions()
	}
	return p
}

// findOffset aligns with the offset estimated, then refines it twice from the
// matches. Half a second or less is no offset but the hand.
func (p *pairing) findOffset(o Options) {
	groups := p.groupsOf()
	p.offset.Seconds = estimateOffset(groups, o.MaxOffset)
	p.alignChances(groups, o.Tolerance)
	for range 2 {
		seconds, spread, ok := refineOffset(p)
		if !ok {
			break
		}
		p.offset = Offset{Seconds: round1(seconds), Spread: round1(spread), Applied: math.Abs(seconds) > 0.5}
		if !p.offset.Applied {
			p.offset.Seconds = 0
		}
		groups = p.groupsOf()
		p.alignChances(groups, o.Tolerance)
	}
}

func round1(x float64) float64 { return math.Round(x*10) / 10 }

// otherGame says why two charts cannot be of one game, as far as their openings
// tell.
func otherGame(a, b *replay.Chart) string {
	x, y := a.Info, b.Info
	switch {
	case x.Home.ID == "" || y.Home.ID == "":
		return "one of the charts does not say which game it is"
	case !sameTeams(x, y):
		return "two different games: " + string(x.Home.ID) + " against " + string(x.Away.ID) + ", and " + string(y.Home.ID) + " against " + string(y.Away.ID)
	case x.Date != "" && y.Date != "" && x.Date != y.Date:
		return "two different games: one of " + x.Date + ", one of " + y.Date
	}
	return ""
}

func sameTeams(x, y events.GameOpened) bool {
	return x.Home.ID == y.Home.ID && x.Away.ID == y.Away.ID || x.Home.ID == y.Away.ID && x.Away.ID == y.Home.ID
}

// dropOutside leaves out what one of the charts could not hold: of a one-player
// chart, chances without him on the floor.
func (p *pairing) dropOutside() {
	focus := p.common.focus
	if focus == "" {
		return
	}
	absent := func(c *replay.Chart) func(int) bool {
		return func(i int) bool {
			if c.Scope.Focus != "" {
				return false
			}
			ch := &c.Chances[i]
			if len(ch.OnFloor) == 5 {
				return !slices.Contains(ch.OnFloor, focus)
			}
			// Without line-ups his own actions are all that tells.
			return !slices.ContainsFunc(actionsOf(c, ch), func(a replay.Action) bool { return a.Defender == focus })
		}
	}
	p.onlyA = slices.DeleteFunc(p.onlyA, absent(p.a))
	p.onlyB = slices.DeleteFunc(p.onlyB, absent(p.b))
}
