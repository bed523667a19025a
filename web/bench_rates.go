package web

import (
	"fmt"
	"net/http"
	"slices"

	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/metrics/frame"
)

// rateJSON is one group with its numbers, under the names that the command line
// prints. What cannot be said of a group is null: a rate without trials, an
// interval of one game.
type rateJSON struct {
	Key []string `json:"key"`
	numbersJSON
}

type numbersJSON struct {
	Actions         int            `json:"actions"`
	Chances         int            `json:"chances"`
	Games           int            `json:"games"`
	Trials          int            `json:"trials"`
	Weight          float64        `json:"weight"`
	Stops           float64        `json:"stops"`
	StopTrials      int            `json:"stop_trials"`
	JudgedTrials    int            `json:"judged_trials"`
	StopRate        *float64       `json:"stop_rate"`
	Wilson          *[2]float64    `json:"wilson"`
	Effective       *effectiveJSON `json:"effective"`
	Points          float64        `json:"points"`
	PointsPerChance *float64       `json:"points_per_chance"`
	PointsInterval  *[2]float64    `json:"points_interval"`
	Held            int            `json:"held"`
	Even            int            `json:"even"`
	Broken          int            `json:"broken"`
	Unclear         int            `json:"unclear"`
	Undecided       int            `json:"undecided"`
}

type effectiveJSON struct {
	N        float64    `json:"n"`
	Design   float64    `json:"design_effect"`
	Rho      float64    `json:"rho"`
	Wilson   [2]float64 `json:"wilson"`
	Jeffreys [2]float64 `json:"jeffreys"`
}

func rateOf(r *metrics.Rate) rateJSON {
	n := numbersJSON{
		Actions: r.Actions, Chances: r.Chances, Games: r.Games, Trials: r.Trials, Weight: r.Judged, Stops: r.Stops,
		StopTrials: r.StopTrials, JudgedTrials: r.JudgedTrials, Points: r.Points, PointsInterval: r.PointsInterval,
		Held: r.Held, Even: r.Even, Broken: r.Broken, Unclear: r.Unclear, Undecided: r.Group.Undecided,
	}
	if r.Judged > 0 {
		n.StopRate, n.Wilson = &r.StopRate, &r.Wilson
	}
	if r.Chances > 0 {
		ppc := r.PointsPerChance()
		n.PointsPerChance = &ppc
	}
	if e := r.Effective; e != nil {
		n.Effective = &effectiveJSON{e.N, e.Design, e.Rho, e.Wilson, e.Jeffreys}
	}
	return rateJSON{slices.Clone(r.Key), n}
}

type ratesJSON struct {
	source
	By         []string               `json:"by"`
	Groups     []rateJSON             `json:"groups"`
	Total      rateJSON               `json:"total"`
	TeamPoints float64                `json:"team_points"`
	Rows       []definition.Undecided `json:"undecided_rows"`
	FewGames   int                    `json:"few_games"` // fewer than these must be said beside a rate
}

// getRates gives the table of a definition by any grouping: ?by=defender,kind
// and ?format=json, csv or parquet.
func (s *Server) getRates(w http.ResponseWriter, r *http.Request) {
	a, err := s.ask(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	by := words(r.URL.Query().Get("by"))
	t, err := metrics.Rates(a.definition, a.view.Columns, by)
	if err != nil {
		s.fail(w, r, faultf(invalid, "%v", err))
		return
	}
	switch format := r.URL.Query().Get("format"); format {
	case "", "json":
		s.answer(w, r, ratesOf(a, t))
	case "csv", "parquet":
		s.download(w, r, ratesFrame(a, t), format, "stopledger-"+a.definition.Name)
	default:
		s.fail(w, r, faultf(invalid, "format %q: want json, csv or parquet", format))
	}
}

func ratesOf(a asked, t *metrics.RateTable) ratesJSON {
	out := ratesJSON{source: a.source(), By: t.By, Groups: make([]rateJSON, len(t.Groups)), Total: rateOf(&t.Total), TeamPoints: t.Team, Rows: t.Undecided, FewGames: metrics.FewGames}
	for i := range t.Groups {
		out.Groups[i] = rateOf(&t.Groups[i])
	}
	if out.By == nil {
		out.By = []string{}
	}
	if out.Rows == nil {
		out.Rows = []definition.Undecided{}
	}
	return out
}

// ratesFrame lays the table out for CSV and Parquet.
func ratesFrame(a asked, t *metrics.RateTable) *frame.Frame {
	rows := make([]rateJSON, len(t.Groups))
	for i := range t.Groups {
		rows[i] = rateOf(&t.Groups[i])
	}
	f := &frame.Frame{Rows: len(rows)}
	if a.view.Invented {
		f.Mark = inventedMark
	}
	for i, name := range t.By {
		f.Columns = append(f.Columns, frame.Column{Name: name, Type: frame.Text, Cell: func(row int) any { return orNil(rows[row].Key[i]) }})
	}
	whole := func(name string, of func(*rateJSON) int) {
		f.Columns = append(f.Columns, frame.Column{Name: name, Type: frame.Whole, Cell: func(row int) any { return int64(of(&rows[row])) }})
	}
	number := func(name string, of func(*rateJSON) *float64) {
		f.Columns = append(f.Columns, frame.Column{Name: name, Type: frame.Number, Cell: func(row int) any {
			if v := of(&rows[row]); v != nil {
				return *v
			}
			return nil
		}})
	}
	interval := func(name string, of func(*rateJSON) *[2]float64) {
		for i, end := range []string{"_low", "_high"} {
			number(name+end, func(r *rateJSON) *float64 {
				if v := of(r); v != nil {
					return &v[i]
				}
				return nil
			})
		}
	}
	whole("actions", func(r *rateJSON) int { return r.Actions })
	whole("chances", func(r *rateJSON) int { return r.Chances })
	whole("games", func(r *rateJSON) int { return r.Games })
	number("stops", func(r *rateJSON) *float64 { return &r.Stops })
	number("of", func(r *rateJSON) *float64 { return &r.Weight })
	number("stop_rate", func(r *rateJSON) *float64 { return r.StopRate })
	interval("stop_rate", func(r *rateJSON) *[2]float64 {
		if r.Effective == nil {
			return nil
		}
		return &r.Effective.Wilson
	})
	number("points", func(r *rateJSON) *float64 { return &r.Points })
	number("points_per_chance", func(r *rateJSON) *float64 { return r.PointsPerChance })
	interval("points_per_chance", func(r *rateJSON) *[2]float64 { return r.PointsInterval })
	whole("held", func(r *rateJSON) int { return r.Held })
	whole("even", func(r *rateJSON) int { return r.Even })
	whole("broken", func(r *rateJSON) int { return r.Broken })
	whole("unclear", func(r *rateJSON) int { return r.Unclear })
	whole("undecided", func(r *rateJSON) int { return r.Undecided })
	return f
}

func orNil(word string) any {
	if word == "" {
		return nil
	}
	return word
}

// inventedMark goes with everything that shows demo data.
const inventedMark = "INVENTED demo data; no team, player or game in it is real"

// download sends a frame as a file.
func (s *Server) download(w http.ResponseWriter, r *http.Request, f *frame.Frame, format, name string) {
	media, write := "text/csv; charset=utf-8", f.WriteCSV
	if format == "parquet" {
		media, write = "application/vnd.apache.parquet", f.WriteParquet
	}
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name+"."+format))
	w.Header().Set("Cache-Control", "no-store")
	if err := write(w); err != nil {
		s.log.Error().Err(err).Str("path", r.URL.Path).Msg("download broke off")
	}
}

// getFrame gives the season as a data frame, one row an action.
func (s *Server) getFrame(w http.ResponseWriter, r *http.Request) {
	a, err := s.ask(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	format := r.URL.Query().Get("format")
	if format != "csv" && format != "parquet" {
		s.fail(w, r, faultf(invalid, "format %q: want csv or parquet", format))
		return
	}
	f := frame.Of(a.view.Columns)
	if a.view.Invented {
		f.Mark = inventedMark
	}
	s.download(w, r, f, format, "stopledger-actions")
}
