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
	fields     map[fieldKey]*fieldDraws
}

// StudyOptions add to what the columns know.
type StudyOptions struct {
	// Games are the folded games of the columns. They hold the line-ups, from
	// which it follows how often a player could have been tested; without them
	// what needs line-ups is left out.
	Games []*replay.Game
	// After is an earlier study of nearly the same ledger under the same
	// definition, as before the last event: the fit begins where that one ended.
	// The numbers agree with a fit from scratch as closely as a fit's own
	// tolerance, but not to the last bit.
	After *Study
}

// NewStudy judges the columns. Fitting is left until a number needs it.
func NewStudy(d *definition.Definition, cols *replay.Columns, opt StudyOptions) *Study {
	s := &Study{
		Definition: d, Columns: cols, film: newFilm(d, cols), floor: newFloor(opt.Games),
		digest: digestOf(cols), fields: make(map[fieldKey]*fieldDraws),
	}
	s.seed = seedOf(s.digest, d)
	s.process.target, s.result.target = Process, Result
	if opt.After != nil {
		s.process.after, s.result.after = opt.After.process.fitted(), opt.After.result.fitted()
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
	after  *pooled.Posterior

	once   sync.Once
	err    error
	cells  []cell
	of     [][]cell // by player
	design [][]float64
	post   *pooled.Posterior
	draws  *pooled.Draws

	lock sync.Mutex
	done bool
}

// fitted is the posterior, if somebody has asked for it yet.
func (m *model) fitted() *pooled.Posterior {
	m.lock.Lock()
	defer m.lock.Unlock()
	if !m.done || m.err != nil {
		return nil
	}
	return m.post
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
	f := s.film
	m.cells = f.tallyCells(m.target, s.Definition.Even)
	m.design = f.designEffects(m.target, s.Definition.Even)
	f.weigh(m.target, m.cells, m.design, s.Definition.Even)
	m.of = make([][]cell, len(f.players))
	for i := 0; i < len(m.cells); {
		end := i
		for end < len(m.cells) && m.cells[end].player == m.cells[i].player {
			end++
		}
		m.of[m.cells[i].player] = m.cells[i:end]
		i = end
	}
	post, err := pooled.Fit(f.modelData(m.cells), pooled.Options{Start: m.after})
	if err != nil {
		err = fmt.Errorf("fit the %s of %d defenders: %w", m.target, len(f.players), err)
	} else {
		seed := s.seed
		if m.target == Result {
			seed = ^seed // draws of the two targets are not joint
		}
		m.draws = post.Draw(draws, seed)
	}
	m.lock.Lock()
	defer m.lock.Unlock()
	m.post, m.err, m.done, m.after = post, err, true, nil
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
