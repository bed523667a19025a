package metrics

import (
	"fmt"
	"slices"
	"sync"

	"stopledger/events"
	"stopledger/metrics/stats/pooled"
)

// MinPeers is how many other defenders of a role make a field to compare with.
const MinPeers = 5

// chunks is into how many parts sums over peers are split. It is fixed, so that
// sums come out the same to the last bit on any machine.
const chunks = 8

// quantity is a mixture of cells that every peer is asked for.
type quantity struct {
	parts []pooled.Part
	peers []int
}

// peersIn lists the others of a player's role who have film of any of the kinds.
func (s *Study) peersIn(m *model, p int, kinds map[int]bool) []int {
	return slices.DeleteFunc(s.withFilm(m, s.film.players[p].role, kinds), func(q int) bool { return q == p })
}

// withFilm lists the defenders of a role who have film of any of the kinds. Men
// whose role nobody knows are nobody's peers.
func (s *Study) withFilm(m *model, role int, kinds map[int]bool) []int {
	if role == roleUnknown {
		return nil
	}
	var out []int
	for q := range s.film.players {
		if s.film.players[q].role == role && slices.ContainsFunc(m.of[q], func(c cell) bool { return kinds[c.kind] }) {
			out = append(out, q)
		}
	}
	return out
}

// averages are the draws of each quantity's mean over its peers; nil where there
// are none.
func (m *model) averages(list []quantity) ([][]float64, error) {
	asked := make(map[int][]int) // by peer: the quantities
	var peers []int
	for i, q := range list {
		for _, p := range q.peers {
			if asked[p] == nil {
				peers = append(peers, p)
			}
			asked[p] = append(asked[p], i)
		}
	}
	parts := make([][][]float64, chunks) // by chunk and quantity
	errs := make([]error, chunks)
	var wg sync.WaitGroup
	for c := range chunks {
		wg.Go(func() {
			parts[c] = make([][]float64, len(list))
			for at := c; at < len(peers) && errs[c] == nil; at += chunks {
				errs[c] = m.addPeer(peers[at], asked[peers[at]], list, parts[c])
			}
		})
	}
	wg.Wait()
	out := make([][]float64, len(list))
	for c := range chunks {
		if errs[c] != nil {
			return nil, errs[c]
		}
		for i, x := range parts[c] {
			addTo(&out[i], x, 1)
		}
	}
	for i, q := range list {
		for j := range out[i] {
			out[i][j] /= float64(len(q.peers))
		}
	}
	return out, nil
}

func (m *model) addPeer(p int, asked []int, list []quantity, sums [][]float64) error {
	member := m.draws.Group(p)
	for _, i := range asked {
		x, err := mix(member, list[i].parts)
		if err != nil {
			return err
		}
		addTo(&sums[i], x, 1)
	}
	return nil
}

// mix are the draws of a mixture whose shares sum to 1. Without a step in level
// it is an average, which costs less.
func mix(m *pooled.Member, parts []pooled.Part) ([]float64, error) {
	terms := make([]pooled.Term, len(parts))
	for i, p := range parts {
		if p.Shift != 0 || p.ShiftSD != 0 {
			return m.Mix(parts)
		}
		terms[i] = pooled.Term{Item: p.Item, Opposing: p.Opposing, Condition: p.Condition, Weight: p.Share}
	}
	return m.Average(terms)
}

// addTo adds weight times x to a sum, which is made when it is first needed.
func addTo(sum *[]float64, x []float64, weight float64) {
	if x == nil {
		return
	}
	if *sum == nil {
		*sum = make([]float64, len(x))
	}
	for j := range x {
		(*sum)[j] += weight * x[j]
	}
}

// fieldKey names what all projections of a role share.
type fieldKey struct {
	role int
	step bool // whether the step in level is taken
}

// roleField is the sum of a role's projections into every assignment, and the
// variance of a newcomer's; made once, for all players who are asked about.
type roleField struct {
	once sync.Once
	err  error
	jobs []jobField // in the definition's order
}

type jobField struct {
	members map[int]bool
	sum     []float64
	unknown float64 // variance of the projection of a man without film
}

// field sums up a role.
func (s *Study) field(m *model, key fieldKey, jobs []job, at setting) (*roleField, error) {
	s.fieldsLock.Lock()
	f := s.fields[key]
	if f == nil {
		f = &roleField{}
		s.fields[key] = f
	}
	s.fieldsLock.Unlock()
	f.once.Do(func() { f.fill(s, m, key.role, jobs, at) })
	return f, f.err
}

func (f *roleField) fill(s *Study, m *model, role int, jobs []job, at setting) {
	f.jobs = make([]jobField, len(jobs))
	list := make([]quantity, len(jobs))
	for i := range jobs {
		parts := jobs[i].parts(s.Definition, at, true)
		if f.jobs[i].unknown, f.err = m.unknown(role, parts); f.err != nil {
			return
		}
		list[i] = quantity{parts, s.withFilm(m, role, jobs[i].kinds)}
		f.jobs[i].members = make(map[int]bool)
		for _, q := range list[i].peers {
			f.jobs[i].members[q] = true
		}
	}
	means, err := m.averages(list)
	if err != nil {
		f.err = fmt.Errorf("projections of the %ss: %w", roleWord(roles[role]), err)
		return
	}
	for i := range means {
		f.jobs[i].sum = means[i]
		for j := range means[i] {
			f.jobs[i].sum[j] *= float64(len(list[i].peers))
		}
	}
}

// besides are the draws of the mean projection over a role without one of its
// men, and how many the others are. own are his own draws.
func (f *jobField) besides(p int, own []float64) ([]float64, int) {
	n := len(f.members)
	if f.members[p] {
		n--
	}
	if n == 0 {
		return nil, 0
	}
	out := make([]float64, len(f.sum))
	for j := range out {
		out[j] = f.sum[j]
		if f.members[p] {
			out[j] -= own[j]
		}
		out[j] /= float64(n)
	}
	return out, n
}

// newcomers is over how many exchangeable new defenders the variance of an
// unknown man's rate is averaged.
const newcomers = 4

// unknown is the variance of a mixture for a defender of whom there is no film.
func (m *model) unknown(role int, parts []pooled.Part) (float64, error) {
	sum := 0.0
	for n := range newcomers {
		x, err := mix(m.draws.NewGroup(role, n), parts)
		if err != nil {
			return 0, err
		}
		sd := summary(x).SD
		sum += sd * sd
	}
	return sum / newcomers, nil
}

// atLeast is the share of draws in which x is at least y.
func atLeast(x, y []float64) float64 {
	n := 0
	for j := range x {
		if x[j] >= y[j] {
			n++
		}
	}
	return float64(n) / float64(max(len(x), 1))
}

func minus(x, y []float64) []float64 {
	out := make([]float64, len(x))
	for j := range x {
		out[j] = x[j] - y[j]
	}
	return out
}

func roleWord(r events.Role) string {
	if r == "" {
		return "player"
	}
	return string(r)
}
