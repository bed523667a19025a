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
	role := s.film.players[p].role
	if role == roleUnknown {
		return nil
	}
	var out []int
	for q := range s.film.players {
		if q == p || s.film.players[q].role != role {
			continue
		}
		for i := range m.of[q] {
			if kinds[m.of[q][i].kind] {
				out = append(out, q)
				break
			}
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
		x, err := member.Mix(list[i].parts)
		if err != nil {
			return err
		}
		addTo(&sums[i], x, 1)
	}
	return nil
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

// fieldKey names a sum over the defenders of one role that is asked for again
// with every player.
type fieldKey struct {
	role       int
	assignment string
	step       bool // whether the step in level is taken
}

// fieldDraws is the sum of an assignment's projections over a role, and the
// variance of a newcomer's.
type fieldDraws struct {
	once    sync.Once
	members map[int]bool
	sum     []float64
	err     error

	newOnce   sync.Once
	newSpread float64
	newErr    error
}

func (s *Study) fieldAt(key fieldKey) *fieldDraws {
	s.fieldsLock.Lock()
	defer s.fieldsLock.Unlock()
	f := s.fields[key]
	if f == nil {
		f = &fieldDraws{}
		s.fields[key] = f
	}
	return f
}

// newcomers is over how many exchangeable new defenders the variance of an
// unknown man's rate is averaged.
const newcomers = 4

// newcomerSpread is the variance of the projection of a new defender of a role,
// of whom there is no film.
func (s *Study) newcomerSpread(m *model, key fieldKey, parts []pooled.Part) (float64, error) {
	f := s.fieldAt(key)
	f.newOnce.Do(func() { f.newSpread, f.newErr = m.unknown(key.role, parts) })
	return f.newSpread, f.newErr
}

// unknown is the variance of a mixture for a defender of whom there is no film.
func (m *model) unknown(role int, parts []pooled.Part) (float64, error) {
	sum := 0.0
	for n := range newcomers {
		x, err := m.draws.NewGroup(role, n).Mix(parts)
		if err != nil {
			return 0, err
		}
		sd := summary(x).SD
		sum += sd * sd
	}
	return sum / newcomers, nil
}

// assignmentPeers are the draws of the mean projection over the peers of a
// player, and how many they are. own are his own draws.
func (s *Study) assignmentPeers(m *model, p int, key fieldKey, kinds map[int]bool, parts []pooled.Part, own []float64) ([]float64, int, error) {
	if key.role == roleUnknown {
		return nil, 0, nil
	}
	f := s.fieldAt(key)
	f.once.Do(func() { f.fill(s, m, p, kinds, parts) })
	if f.err != nil {
		return nil, 0, f.err
	}
	n := len(f.members)
	if f.members[p] {
		n--
	}
	if n == 0 {
		return nil, 0, nil
	}
	out := make([]float64, len(f.sum))
	for j := range out {
		out[j] = f.sum[j]
		if f.members[p] {
			out[j] -= own[j]
		}
		out[j] /= float64(n)
	}
	return out, n, nil
}

func (f *fieldDraws) fill(s *Study, m *model, p int, kinds map[int]bool, parts []pooled.Part) {
	f.members = make(map[int]bool)
	list := s.peersIn(m, p, kinds)
	for i := range m.of[p] { // he is a peer of the others
		if kinds[m.of[p][i].kind] {
			list = append(list, p)
			break
		}
	}
	slices.Sort(list)
	for _, q := range list {
		f.members[q] = true
	}
	sum, err := m.averages([]quantity{{parts, list}})
	if err != nil {
		f.err = fmt.Errorf("projections of the %ss: %w", roleWord(roles[s.film.players[p].role]), err)
		return
	}
	f.sum = sum[0]
	for j := range f.sum {
		f.sum[j] *= float64(len(list))
	}
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
