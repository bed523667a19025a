package metrics

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"sync"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/metrics/stats/pooled"
	"stopledger/replay"
)

// Study is a season under a definition, ready to be asked how sure anything is.
// It judges every action once and fits the pooled model to each target when
// first asked. The same columns and definition give the same numbers to the last
// bit. It is safe for concurrent use.
type Study struct {
	Definition *definition.Definition
	Columns    *replay.Columns

	film    *film
	floor   floor
	digest  string // of the ledger
	seed    uint64
	process model
	result  model

	fieldsLock sync.Mutex
	fields     map[fieldKey]*roleField
}

// StudyOptions add to what the columns know.
type StudyOptions struct {
	// Games are the folded games of the columns. They hold the line-ups, from
	// which it follows how often a player could have been tested; without them
	// what needs line-ups is left out.
	Games []*replay.Game
	// After is an earlier study of nearly the same ledger under the same
	// definition, as before the last event of a live game. The correlation within
	// games and the model's scales are then taken from there, and only what changed
	// is solved anew, which is many times faster. The numbers agree with a study
	// from scratch to second order in the change, but not to the last bit: make a
	// new one when the game is over.
	After *Study
}

// NewStudy judges the columns. Fitting is left until a number needs it.
func NewStudy(d *definition.Definition, cols *replay.Columns, opt StudyOptions) *Study {
	s := &Study{
		Definition: d, Columns: cols, film: newFilm(d, cols), floor: newFloor(opt.Games),
		digest: digestOf(cols), fields: make(map[fieldKey]*roleField),
	}
	s.seed = seedOf(s.digest, d)
	s.process.target, s.result.target = Process, Result
	if opt.After != nil {
		s.process.after, s.result.after = opt.After.process.current(), opt.After.result.current()
	}
	return s
}

func digestOf(cols *replay.Columns) string {
	digests := make(map[events.Token]string, len(cols.GameIDs))
	for i, id := range cols.GameIDs {
		digests[id] = cols.Digests[i]
	}
	return events.Digests(digests)
}

// seedOf follows from what was charted and how it is read, so that the same
// question has the same answer on every machine.
func seedOf(digest string, d *definition.Definition) uint64 {
	sum := sha256.Sum256([]byte(digest + "\x00" + d.Hash()))
	return binary.BigEndian.Uint64(sum[:8])
}

// Seed is what the draws of this study are made from: it follows from the
// ledger's digest and the definition's hash.
func (s *Study) Seed() uint64 { return s.seed }

// Players lists everybody on the ledger, by id.
func (s *Study) Players() []events.Token {
	out := make([]events.Token, len(s.film.players))
	for i, p := range s.film.players {
		out[i] = p.id
	}
	return out
}

// player finds a player; the error names the nearest.
func (s *Study) player(id events.Token) (int, error) {
	if p, ok := s.film.index[id]; ok {
		return p, nil
	}
	if len(s.film.players) == 0 {
		return 0, fmt.Errorf("player %q: nobody is on this ledger yet", id)
	}
	var words []string
	for _, p := range s.film.players {
		words = append(words, string(p.id))
	}
	if near := events.Nearest(string(id), words); near != "" {
		return 0, fmt.Errorf("player %q is not on this ledger; did you mean %q?", id, near)
	}
	return 0, fmt.Errorf("player %q is not on this ledger, which has %d players, %s to %s", id, len(words), words[0], words[len(words)-1])
}

// draws is how many joint draws stand behind every pooled number: the Monte
// Carlo error of a probability of 80 % is then below one hundredth.
const draws = 2000

// model is the pooled model of one target, fitted on demand.
type model struct {
	target Target
	after  *fitted

	once   sync.Once
	err    error
	cells  []cell
	of     [][]cell // by player
	design [][]float64
	fitted
	draws *pooled.Draws

	lock sync.Mutex
	done bool
}

// fitted is what a refit begins from.
type fitted struct {
	post   *pooled.Posterior
	rho    []float64 // correlation within games, by kind
	steady float64   // see steadiness
}

// current is the fit, or nil if nobody has asked for it yet.
func (m *model) current() *fitted {
	m.lock.Lock()
	defer m.lock.Unlock()
	if !m.done || m.err != nil {
		return nil
	}
	return &m.fitted
}

// model fits a target once.
func (s *Study) model(t Target) (*model, error) {
	m := &s.process
	if t == Result {
		m = &s.result
	}
	m.once.Do(func() { m.fit(s) })
	return m, m.err
}

func (m *model) fit(s *Study) {
	f, even := s.film, s.Definition.Even
	clusters := f.clustersOf(m.target, even)
	var start *pooled.Posterior
	var now fitted
	if m.after != nil {
		now, start = *m.after, m.after.post
	} else {
		now.rho, now.steady = correlationOf(clusters), 1
		if m.target == Process {
			now.steady = f.steadiness(even)
		}
	}
	m.cells = f.tallyCells(m.target, even)
	m.design = designEffects(clusters, now.rho)
	weigh(m.target, m.cells, m.design, now.steady)
	m.of = cellsOf(m.cells, len(f.players))
	post, err := pooled.Fit(f.modelData(m.cells), pooled.Options{Start: start})
	if err != nil {
		err = fmt.Errorf("fit the %s of %d defenders: %w", m.target, len(f.players), err)
	} else {
		seed := s.seed
		if m.target == Result {
			seed = ^seed // draws of the two targets are not joint
		}
		m.draws = post.Draw(draws, seed)
	}
	now.post = post
	m.lock.Lock()
	defer m.lock.Unlock()
	m.fitted, m.err, m.done, m.after = now, err, true, nil
}

// cellsOf sorts cells, which are in the players' order, by player.
func cellsOf(cells []cell, players int) [][]cell {
	of := make([][]cell, players)
	for i := 0; i < len(cells); {
		end := i
		for end < len(cells) && cells[end].player == cells[i].player {
			end++
		}
		of[cells[i].player] = cells[i:end]
		i = end
	}
	return of
}

// Warnings says in words what went less well in the fit of a target than it
// should, if anything.
func (s *Study) Warnings(t Target) ([]string, error) {
	m, err := s.model(t)
	if err != nil {
		return nil, err
	}
	list := slices.Clone(m.post.Warnings())
	if w := m.draws.Check.Warning; w != "" {
		list = append(list, w)
	}
	return list, nil
}
