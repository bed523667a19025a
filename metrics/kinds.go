package metrics

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"stopledger/events"
	"stopledger/metrics/stats/pooled"
)

// KindReport is what film says of one kind of action of one player.
type KindReport struct {
	Kind events.Kind `json:"kind"`
	Counts
	Outcomes []OutcomeCount `json:"outcomes"` // the most frequent first
	Raw      *float64       `json:"raw"`      // process counted, by weight

	// Process is the fitted process for the film seen, Peers the peers' average
	// against the same roles in the same schemes, nil with fewer than [MinPeers].
	Process Pooled  `json:"process"`
	Peers   *Pooled `json:"peers"`
	PeersN  int     `json:"peers_n"`
	// Better is the probability that he is at least the peers' average there.
	Better   *float64 `json:"better"`
	OwnShare float64  `json:"own_share"`
	Result   Pooled   `json:"result"` // fitted stop rate for the film seen

	// Cost is the points that this kind costs him per 100 of his chances against
	// his peers, above 0 where he gives more away; CostEach the same per 100
	// actions of the kind. Nil without peers.
	Cost     *Pooled `json:"cost_per_100"`
	CostEach *Pooled `json:"cost_per_100_of_kind"`

	Sure  Sureness     `json:"sure"`
	Roles []RoleReport `json:"roles"` // by the opponents' role, the most film first
	Text  string       `json:"text"`
}

// RoleReport is a kind against one role.
type RoleReport struct {
	Role events.Role `json:"role,omitempty"`
	Counts
	Raw     *float64 `json:"raw"`
	Process Pooled   `json:"process"`
	Peers   *Pooled  `json:"peers"`
	Better  *float64 `json:"better"`
}

// OutcomeCount is how often a word was charted.
type OutcomeCount struct {
	Outcome events.Outcome `json:"outcome"`
	Reading events.Reading `json:"reading,omitempty"`
	Count   int            `json:"count"`
}

// Sureness says in a word how sure a comparison is.
type Sureness string

// How sure.
const (
	Clear    Sureness = "clear"  // 95 % or more either way
	Likely   Sureness = "likely" // 80 % or more
	Open     Sureness = "open"   // neither
	ThinFilm Sureness = "not enough film"
	NoField  Sureness = "no field" // too few peers
)

// clearly is the probability from which a comparison is called clear.
const clearly = 0.95

// kindWork is a report with the draws behind it.
type kindWork struct {
	KindReport
	kind  int
	parts []pooled.Part // process, at the roles and schemes seen
	own   []float64
	roles []roleWork
}

type roleWork struct {
	role  int
	parts []pooled.Part
	own   []float64
}

// Kinds reports on every kind that a player has film of, those that cost him
// most against his peers first.
func (s *Study) Kinds(id events.Token) ([]KindReport, error) {
	p, err := s.player(id)
	if err != nil {
		return nil, err
	}
	process, err := s.model(Process)
	if err != nil {
		return nil, err
	}
	result, err := s.model(Result)
	if err != nil {
		return nil, err
	}
	costs, err := s.film.costsOf(Process, s.Definition.Even)
	if err != nil {
		return nil, err
	}
	work, err := s.kindsSeen(p, process, result)
	if err != nil {
		return nil, err
	}
	if err := s.compareKinds(p, process, work, drawCosts(costs, process.draws.N(), s.seed)); err != nil {
		return nil, err
	}
	out := make([]KindReport, len(work))
	for i := range work {
		work[i].settle()
		out[i] = work[i].KindReport
	}
	slices.SortStableFunc(out, func(a, b KindReport) int { return cmp.Compare(b.costs(), a.costs()) })
	return out, nil
}

func (k *KindReport) costs() float64 {
	if k.Cost == nil {
		return math.Inf(-1)
	}
	return k.Cost.Mean
}

// kindsSeen fills counts and fitted rates.
func (s *Study) kindsSeen(p int, process, result *model) ([]kindWork, error) {
	him, his := process.draws.Group(p), result.draws.Group(p)
	var out []kindWork
	for kind := range events.Kinds {
		of := func(r *row) bool { return r.kind == kind }
		w := kindWork{kind: kind}
		w.Kind, w.Counts = events.Kinds[kind].Kind, s.count(process, p, of)
		if w.Actions == 0 {
			continue
		}
		w.Outcomes, w.Raw = s.outcomes(p, kind), s.rawOf(p, of)
		w.parts = partsSeen(process.of[p], kind, -1)
		var err error
		if w.own, err = mix(him, w.parts); err != nil {
			return nil, err
		}
		stops, err := mix(his, partsSeen(result.of[p], kind, -1))
		if err != nil {
			return nil, err
		}
		w.Process, w.Result = summary(w.own), summary(stops)
		if err := w.addRoles(s, process, p, him); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

func (s *Study) rawOf(p int, keep func(*row) bool) *float64 {
	y, n := s.rawRate(Process, p, keep)
	if n == 0 {
		return nil
	}
	raw := y / n
	return &raw
}

// partsSeen is the mixture of roles and schemes in which a kind was seen, or one
// role of it; a fresh one where no trial counts.
func partsSeen(cells []cell, kind, role int) []pooled.Part {
	var out []pooled.Part
	sum := 0.0
	for _, c := range cells {
		if c.kind == kind && (role < 0 || c.facing == role) {
			sum += c.n
		}
	}
	if sum == 0 {
		return []pooled.Part{{Item: kind, Opposing: max(role, pooled.Fresh), Condition: pooled.Fresh, Share: 1}}
	}
	for _, c := range cells {
		if c.kind == kind && (role < 0 || c.facing == role) {
			out = append(out, pooled.Part{Item: kind, Opposing: c.facing, Condition: c.scheme, Share: c.n / sum})
		}
	}
	return out
}

func (w *kindWork) addRoles(s *Study, m *model, p int, him *pooled.Member) error {
	for role := range roles {
		of := func(r *row) bool { return r.kind == w.kind && r.facing == role }
		c := s.count(m, p, of)
		if c.Actions == 0 {
			continue
		}
		r := roleWork{role: role, parts: partsSeen(m.of[p], w.kind, role)}
		var err error
		if r.own, err = mix(him, r.parts); err != nil {
			return err
		}
		w.roles = append(w.roles, r)
		w.Roles = append(w.Roles, RoleReport{Role: roles[role], Counts: c, Raw: s.rawOf(p, of), Process: summary(r.own)})
	}
	return nil
}

// compareKinds puts the peers beside every kind and role, in one pass over them.
func (s *Study) compareKinds(p int, m *model, work []kindWork, costs costDraws) error {
	var list []quantity
	for i := range work {
		peers := s.peersIn(m, p, map[int]bool{work[i].kind: true})
		work[i].PeersN = len(peers)
		if len(peers) < MinPeers {
			peers = nil
		}
		list = append(list, quantity{work[i].parts, peers})
		for _, r := range work[i].roles {
			list = append(list, quantity{r.parts, peers})
		}
	}
	averages, err := m.averages(list)
	if err != nil {
		return err
	}
	at := 0
	for i := range work {
		if err := s.compareKind(p, m, &work[i], averages[at:at+1+len(work[i].roles)], costs); err != nil {
			return err
		}
		at += 1 + len(work[i].roles)
	}
	return nil
}

// chancesOf counts the chances of a player with a trial of a kind.
func (s *Study) chancesOf(p, kind int) int {
	n := 0
	for _, i := range s.film.of[p] {
		if s.film.rows[i].kind == kind && s.film.rows[i].trial > 0 {
			n++
		}
	}
	return n
}

func (s *Study) compareKind(p int, m *model, w *kindWork, peers [][]float64, costs costDraws) error {
	unknown, err := m.unknown(s.film.players[p].role, w.parts)
	if err != nil {
		return err
	}
	w.OwnShare = ownShare(w.Process.SD*w.Process.SD, unknown)
	if peers[0] == nil {
		return nil
	}
	average, better := summary(peers[0]), atLeast(w.own, peers[0])
	w.Peers, w.Better = &average, &better
	for i, r := range w.roles {
		average, better := summary(peers[1+i]), atLeast(r.own, peers[1+i])
		w.Roles[i].Peers, w.Roles[i].Better = &average, &better
	}
	each := make([]float64, len(w.own))
	all := make([]float64, len(w.own))
	often := float64(s.chancesOf(p, w.kind)) / float64(max(s.chancesOn(p), 1))
	for j := range each {
		each[j] = 100 * (peers[0][j] - w.own[j]) * (costs.badly[w.kind][j] - costs.well[w.kind][j])
		all[j] = often * each[j]
	}
	cost, costEach := summary(all), summary(each)
	w.Cost, w.CostEach = &cost, &costEach
	return nil
}

// chancesOn counts the chances that a player had a part in.
func (s *Study) chancesOn(p int) int {
	n, last := 0, noChance
	for _, i := range s.film.of[p] {
		if c := s.film.rows[i].chance; c != last {
			last = c
			n++
		}
	}
	return n
}

// outcomes counts the words charted of a kind.
func (s *Study) outcomes(p, kind int) []OutcomeCount {
	var out []OutcomeCount
	for _, i := range s.film.of[p] {
		r := &s.film.rows[i]
		if r.kind != kind {
			continue
		}
		word := events.Outcome(s.film.word(r.action, "action.outcome"))
		at := slices.IndexFunc(out, func(o OutcomeCount) bool { return o.Outcome == word && o.Reading == readingWord(r.reading) })
		if at < 0 {
			at = len(out)
			out = append(out, OutcomeCount{Outcome: word, Reading: readingWord(r.reading)})
		}
		out[at].Count++
	}
	slices.SortFunc(out, func(a, b OutcomeCount) int {
		return cmp.Or(b.Count-a.Count, cmp.Compare(a.Outcome, b.Outcome), cmp.Compare(a.Reading, b.Reading))
	})
	return out
}

func readingWord(r reading) events.Reading {
	words := events.Reading("").Words()
	if int(r) < len(words) {
		return events.Reading(words[r])
	}
	return events.NoReading
}

// settle says how sure it is, and the sentence.
func (w *kindWork) settle() {
	slices.SortStableFunc(w.Roles, func(a, b RoleReport) int { return b.Actions - a.Actions })
	switch {
	case enough(w.OwnShare, 1, w.Counts) != "":
		w.Sure = ThinFilm
	case w.Better == nil:
		w.Sure = NoField
	case *w.Better >= clearly || *w.Better <= 1-clearly:
		w.Sure = Clear
	case *w.Better >= Sure || *w.Better <= 1-Sure:
		w.Sure = Likely
	default:
		w.Sure = Open
	}
	w.Text = w.text()
}

// text is the sentence a coach reads: "Broken on 9 of 16 ball screens on the
// handler (mostly hit), 4 games; the field on 31 %; 94 % likely he is worse".
func (k *KindReport) text() string {
	text := fmt.Sprintf("broken on %d of %d %s", k.Broken, k.Actions, noun(k.Kind))
	if mostly := k.mostly(events.Broken); mostly != "" {
		text += fmt.Sprintf(" (mostly %s)", mostly)
	}
	text += ", " + games(k.Games)
	if k.Unclear > 0 {
		text += fmt.Sprintf(", %d unclear", k.Unclear)
	}
	text += fmt.Sprintf("; process %s (%s to %s)", percent(k.Process.Mean), percent(k.Process.Q10), percent(k.Process.Q90))
	if k.Better == nil {
		return sentence(text + "; too few others of his role to compare")
	}
	text += fmt.Sprintf(", the field %s", percent(k.Peers.Mean))
	if *k.Better >= 0.5 {
		text += fmt.Sprintf("; %s likely at least as good", likely(*k.Better))
	} else {
		text += fmt.Sprintf("; %s likely worse", likely(1-*k.Better))
	}
	if k.Sure == ThinFilm {
		text += "; not enough film"
	}
	return sentence(text)
}

// mostly is the word behind at least half of the actions of a reading, if one is
// and they are at least three.
func (k *KindReport) mostly(r events.Reading) string {
	sum, most := 0, OutcomeCount{}
	for _, o := range k.Outcomes {
		if o.Reading != r {
			continue
		}
		sum += o.Count
		if o.Count > most.Count {
			most = o
		}
	}
	if sum < 3 || 2*most.Count < sum || string(most.Outcome) == string(r) {
		return ""
	}
	return string(most.Outcome)
}
