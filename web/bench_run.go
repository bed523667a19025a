package web

import (
	"errors"
	"net/http"
	"time"

	"stopledger/metrics"
	"stopledger/metrics/contrast"
	"stopledger/metrics/definition"
	"stopledger/replay"
)

// runJSON is a text held against a definition over everything that is charted.
type runJSON struct {
	source
	From    inForceJSON            `json:"from"`
	To      inForceJSON            `json:"to"`
	By      []string               `json:"by"`
	Groups  []groupMoveJSON        `json:"groups"` // what moved most first
	Total   groupMoveJSON          `json:"total"`
	Rules   []ruleFlipsJSON        `json:"rules"`
	Flips   []flipJSON             `json:"flips"` // the first of them
	Flipped int                    `json:"flipped"`
	Millis  float64                `json:"milliseconds"`
	Old     []definition.Undecided `json:"undecided_old"`
	New     []definition.Undecided `json:"undecided_new"`
}

type groupMoveJSON struct {
	Key   []string     `json:"key"`
	Old   *numbersJSON `json:"old"`
	New   *numbersJSON `json:"new"`
	Moved float64      `json:"moved"` // in stops
}

type ruleFlipsJSON struct {
	Rule string `json:"rule"`
	Old  string `json:"old_rule"`
	New  string `json:"new_rule"`
	Rows int    `json:"rows"`
}

type flipJSON struct {
	Game     string `json:"game"`
	Chance   string `json:"chance"`
	Action   string `json:"action"`
	Kind     string `json:"kind"`
	Outcome  string `json:"outcome"`
	Defender string `json:"defender,omitempty"`
	From     string `json:"from"`
	To       string `json:"to"`
	Rule     string `json:"rule"`
}

// maxFlips is how many flips a page gets at once, and maxGroups how many groups.
const (
	maxFlips  = 200
	maxGroups = 2000
)

// postRun runs a text that may never have been saved. It changes nothing.
func (s *Server) postRun(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Text    string   `json:"text"`
		Against string   `json:"against"`
		By      []string `json:"by"`
		AsOf    string   `json:"as_of"`
	}
	if err := readJSON(r, &in); err != nil {
		s.fail(w, r, err)
		return
	}
	to, err := definition.Parse("", []byte(in.Text))
	if err != nil {
		var problems definition.Problems
		if errors.As(err, &problems) {
			err = faultf(invalid, "line %d, column %d: %s", problems[0].Line, problems[0].Column, problems[0].Text)
		}
		s.fail(w, r, err)
		return
	}
	from, err := s.definitionAsked(r, in.Against)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	view, err := s.season(r, in.AsOf)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	began := time.Now()
	c, err := contrast.Of(from, to, view.Columns, in.By)
	if err != nil {
		s.fail(w, r, faultf(invalid, "%v", err))
		return
	}
	out := runOf(c, view.Columns)
	out.Millis = float64(time.Since(began).Microseconds()) / 1000
	out.source = asked{view: view, definition: to, asOf: in.AsOf}.source()
	s.answer(w, r, out)
}

func runOf(c *contrast.Result, cols *replay.Columns) runJSON {
	from, to := c.From.Definition, c.To.Definition
	out := runJSON{
		From: inForceJSON{from.Name, from.Hash()}, To: inForceJSON{to.Name, to.Hash()}, By: append([]string{}, c.By...),
		Groups: []groupMoveJSON{}, Total: moveOf(&c.Total), Rules: []ruleFlipsJSON{}, Flips: []flipJSON{}, Flipped: len(c.Flips),
		Old: append([]definition.Undecided{}, c.From.Undecided...), New: append([]definition.Undecided{}, c.To.Undecided...),
	}
	for i := range c.Groups[:min(maxGroups, len(c.Groups))] {
		out.Groups = append(out.Groups, moveOf(&c.Groups[i]))
	}
	for _, r := range c.Rules {
		out.Rules = append(out.Rules, ruleFlipsJSON(r))
	}
	for _, f := range c.Flips[:min(maxFlips, len(c.Flips))] {
		out.Flips = append(out.Flips, flipOf(f, cols))
	}
	return out
}

func moveOf(g *contrast.Group) groupMoveJSON {
	side := func(r *metrics.Rate) *numbersJSON {
		if r == nil {
			return nil
		}
		n := rateOf(r).numbersJSON
		return &n
	}
	return groupMoveJSON{g.Key, side(g.Old), side(g.New), g.Moved}
}

func flipOf(f contrast.Flip, cols *replay.Columns) flipJSON {
	chance := cols.ActionChance[f.Action]
	word := func(field string) string {
		c := cols.Actions.Column(field)
		return c.Words[c.Code(f.Action)]
	}
	ids := cols.Players.Column("player.id")
	return flipJSON{
		Game: string(cols.GameIDs[cols.ChanceGame[chance]]), Chance: string(cols.ChanceIDs[chance]), Action: string(cols.ActionIDs[f.Action]),
		Kind: word("action.kind"), Outcome: word("action.outcome"), Defender: ids.Words[ids.Code(int(cols.ActionDefender[f.Action]))],
		From: string(f.From), To: string(f.To), Rule: f.Rule,
	}
}
