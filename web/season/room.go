package season

import (
	"slices"
	"sync"

	"stopledger/events"
	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/replay/evidence"
)

// Room holds what was laid out before. Its methods may be called from several
// goroutines.
type Room struct {
	mu     sync.Mutex
	parts  map[events.Token]laid
	people []events.Person
	now    *View
}

// laid is one game in columns.
type laid struct {
	digest string
	cols   *replay.Columns
}

// View is a season at one moment.
type View struct {
	Columns  *replay.Columns
	Games    []*replay.Game // sorted by id, as in the columns
	Digest   string         // of the whole
	Position uint64         // how far the ledger was read
	Events   int            // distinct ones
	Invented bool

	studies *studies
}

// New is a room without people.
func New() *Room { return &Room{parts: make(map[events.Token]laid)} }

// Meet says what is known of people; the next view has it.
func (r *Room) Meet(people []events.Person) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.people = slices.Clone(people)
	r.now = nil
}

// People is what was last said of people.
func (r *Room) People() []events.Person {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.people)
}

// Name is a player's name, or "" where nobody knows it.
func (r *Room) Name(id events.Token) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, p := range r.people {
		if p.ID == id {
			return p.Name
		}
	}
	return ""
}

// Now is the season of these games, sorted by id. The same games give the same
// view. Its studies begin where those of the view before it ended, so that a
// page can follow a game; see Settle.
func (r *Room) Now(games []*replay.Game, position uint64) *View {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.now != nil && slices.Equal(r.now.Games, games) {
		return r.now
	}
	before := r.now
	r.now = r.view(games, position)
	if before != nil {
		r.now.studies.after(before.studies)
	}
	return r.now
}

// Settle makes the studies of the present view anew from scratch, where they
// began from earlier ones, and reports whether there were any. Then they are
// those that anybody else computes from the same ledger, to the last bit.
func (r *Room) Settle() bool {
	r.mu.Lock()
	now := r.now
	r.mu.Unlock()
	if now == nil || !now.studies.anyQuick() {
		return false
	}
	settled := *now
	settled.studies = &studies{}
	for _, d := range now.studies.definitions() {
		settled.Study(d)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.now != now { // the game went on meanwhile
		return false
	}
	r.now = &settled
	return true
}

// Past is a view that is not kept as the present one.
func (r *Room) Past(games []*replay.Game, position uint64) *View {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.view(games, position)
}

func (r *Room) view(games []*replay.Game, position uint64) *View {
	v := &View{Games: slices.Clone(games), Position: position, studies: &studies{}}
	parts := make([]*replay.Columns, len(games))
	digests := make(map[events.Token]string, len(games))
	for i, g := range games {
		part, ok := r.parts[g.ID]
		if !ok || part.digest != g.Digest {
			part = laid{g.Digest, replay.GameColumns(g)}
			r.parts[g.ID] = part
		}
		parts[i] = part.cols
		digests[g.ID] = g.Digest
		v.Events += g.Events
		v.Invented = v.Invented || g.Info.Invented
	}
	v.Columns = replay.Join(parts, r.people)
	v.Digest = events.Digests(digests)
	return v
}

// Narrow is the part of a view that passes every filter. Where games are left
// out they are left out altogether.
func (v *View) Narrow(filters []evidence.Filter) (*View, error) {
	if len(filters) == 0 {
		return v, nil
	}
	return v.studies.narrowed(filters, func() (*View, error) {
		cols, err := evidence.Narrow(v.Columns, filters)
		if err != nil {
			return nil, err
		}
		part := *v
		part.Columns, part.studies = cols, &studies{}
		part.Games = nil // line-ups know nothing of roles or periods
		if onlyOfGames(filters) {
			part.Games = gamesIn(v.Games, cols)
		}
		return &part, nil
	})
}

func onlyOfGames(filters []evidence.Filter) bool {
	return !slices.ContainsFunc(filters, func(f evidence.Filter) bool {
		field, ok := replay.FieldNamed(f.Field)
		return !ok || field.Of != replay.OfGame
	})
}

func gamesIn(games []*replay.Game, cols *replay.Columns) []*replay.Game {
	in := make(map[events.Token]bool)
	for _, g := range cols.ChanceGame {
		in[cols.GameIDs[g]] = true
	}
	var out []*replay.Game
	for _, g := range games {
		if in[g.ID] {
			out = append(out, g)
		}
	}
	return out
}

// Study is the view under a definition, fitted. Asked again, it is the same one.
func (v *View) Study(d *definition.Definition) *metrics.Study { return v.studies.of(v, d).fitted() }

// Quick reports whether the study under a definition began from an earlier one,
// so that its last digits are still to settle.
func (v *View) Quick(d *definition.Definition) bool { return v.studies.of(v, d).quick }

// Profile is the study's report on a player, made once. It must not be changed.
func (v *View) Profile(d *definition.Definition, id events.Token) (*metrics.Profile, error) {
	return v.studies.of(v, d).profile(id)
}
