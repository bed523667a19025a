package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"stopledger/events"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/replay/evidence"
	"stopledger/replay/film"
)

// evidenceJSON is the chances behind a number. Actions, chances and games are
// those of all of them, though only so many rows come at once.
type evidenceJSON struct {
	source
	Actions int            `json:"actions"`
	Chances int            `json:"chances"`
	Games   int            `json:"chance_games"`
	Rows    []evidence.Row `json:"rows"`
	From    int            `json:"from"`
}

// behind are the rows of the columns that a number counts: actions that count
// under the definition and pass what the address asks of them, beside the
// filters: ?defender=, ?kind=, ?reading=, ?outcome=, ?stop=yes|no|undecided, and
// any field by its full name, such as ?action.why=saw-late.
func behind(r *http.Request, a asked) ([]bool, error) {
	q := r.URL.Query()
	var picks []evidence.Filter
	for name, values := range q {
		field := name
		switch name {
		case "defender":
			field = "defender.id"
		case "kind", "reading", "outcome":
			field = "action." + name
		default:
			if !strings.Contains(name, ".") {
				continue
			}
		}
		picks = append(picks, evidence.Filter{Field: field, Values: values})
	}
	keep, err := evidence.Actions(a.view.Columns, picks)
	if err != nil {
		return nil, faultf(invalid, "%v", err)
	}
	stops := map[string]definition.Truth{"yes": definition.Yes, "no": definition.No, "undecided": definition.Unsettled}
	stop, asksStop := stops[q.Get("stop")]
	if q.Get("stop") != "" && !asksStop {
		return nil, faultf(invalid, "stop %q: want yes, no or undecided", q.Get("stop"))
	}
	v := definition.Apply(a.definition, a.view.Columns)
	for i := range keep {
		keep[i] = keep[i] && v.In[i] == definition.Yes && (!asksStop || v.Trial[i] > 0 && v.Stop[i] == stop)
	}
	return keep, nil
}

// rowsBehind opens the chances of the actions that are kept, by date, game and
// order of play.
func rowsBehind(a asked, keep []bool, games []*replay.Game) (rows []evidence.Row, actions int) {
	cols := a.view.Columns
	chances, asked := map[events.Token]map[events.ID]bool{}, map[events.ID]bool{}
	for i, ok := range keep {
		if !ok {
			continue
		}
		actions++
		c := cols.ActionChance[i]
		game := cols.GameIDs[cols.ChanceGame[c]]
		if chances[game] == nil {
			chances[game] = map[events.ID]bool{}
		}
		chances[game][cols.ChanceIDs[c]] = true
		asked[cols.ActionIDs[i]] = true
	}
	rows = []evidence.Row{}
	for _, g := range games {
		if of := chances[g.ID]; of != nil {
			rows = append(rows, evidence.Of(g, of, asked)...)
		}
	}
	evidence.Sort(rows)
	return rows, actions
}

// evidenceAsked works out the chances that an address asks for. ?chance= names
// chances one by one, whatever the definition says of them; ?untested= a player
// for those in which nobody tried him.
func (s *Server) evidenceAsked(r *http.Request) (asked, []evidence.Row, int, []*replay.Game, error) {
	a, err := s.ask(r)
	if err != nil {
		return a, nil, 0, nil, err
	}
	whole, err := s.season(r, a.asOf)
	if err != nil {
		return a, nil, 0, nil, err
	}
	if ids := r.URL.Query()["chance"]; len(ids) > 0 {
		want := evidence.Want{}
		for _, id := range ids {
			want.Chances = append(want.Chances, events.ID(id))
		}
		return a, evidence.Find(whole.Games, want), 0, whole.Games, nil
	}
	if player := r.URL.Query().Get("untested"); player != "" {
		return a, evidence.Untested(a.view.Games, events.Token(player)), 0, whole.Games, nil
	}
	keep, err := behind(r, a)
	if err != nil {
		return a, nil, 0, nil, err
	}
	rows, actions := rowsBehind(a, keep, whole.Games)
	return a, rows, actions, whole.Games, nil
}

// pageOf is how many rows of evidence come at once.
const pageOf = 40

// typicalFirst puts those rows first whose outcome is the commonest among the
// actions asked for; within an outcome they stay as they were.
func typicalFirst(rows []evidence.Row) {
	often := map[events.Outcome]int{}
	for i := range rows {
		for _, a := range rows[i].Acts {
			if a.Asked {
				often[a.Outcome]++
			}
		}
	}
	most := func(r evidence.Row) int {
		n := 0
		for _, a := range r.Acts {
			if a.Asked {
				n = max(n, often[a.Outcome])
			}
		}
		return n
	}
	slices.SortStableFunc(rows, func(a, b evidence.Row) int { return most(b) - most(a) })
}

func (s *Server) getEvidence(w http.ResponseWriter, r *http.Request) {
	a, rows, actions, _, err := s.evidenceAsked(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if r.URL.Query().Get("order") != "play" {
		typicalFirst(rows)
	}
	from, _ := strconv.Atoi(r.URL.Query().Get("from"))
	from = max(0, min(from, len(rows)))
	games := map[events.Token]bool{}
	for _, row := range rows {
		games[row.Game] = true
	}
	s.answer(w, r, evidenceJSON{a.source(), actions, len(rows), len(games), rows[from:min(len(rows), from+pageOf)], from})
}

// clipsJSON is the clip lists of a set of chances, one for each film.
type clipsJSON struct {
	source
	Chances int             `json:"chances"`
	Reels   []evidence.Reel `json:"reels"`
	Files   []evidence.File `json:"files"`
	Left    []evidence.Left `json:"left"` // chances that no film shows
}

// getClips gives what the command clips writes, for the same set of chances as
// getEvidence: ?format= one of the formats, ?rate= the film's frame rate.
func (s *Server) getClips(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	format := q.Get("format")
	if format == "" {
		format = "vtt"
	}
	if !slices.Contains(evidence.Formats(), format) {
		s.fail(w, r, faultf(invalid, "format %q: want one of %s", format, strings.Join(evidence.Formats(), ", ")))
		return
	}
	var rate film.Rate
	if name := q.Get("rate"); name != "" || evidence.NeedsRate(format) {
		var err error
		if rate, err = film.ParseRate(name); err != nil {
			s.fail(w, r, faultf(invalid, "%v", err))
			return
		}
	}
	a, rows, _, games, err := s.evidenceAsked(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out := clipsJSON{source: a.source(), Chances: len(rows), Files: []evidence.File{}}
	out.Reels, out.Left = evidence.Cut(games, rows, film.DefaultMargins)
	for _, reel := range out.Reels {
		files, err := evidence.Write(format, reel, rate)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		out.Files = append(out.Files, files...)
	}
	s.answer(w, r, out)
}
