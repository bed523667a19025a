package outline

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"stopledger/events"
)

// What may pass for one game: a long one has about 600 rows, and 30 players.
const (
	maxBytes   = 4 << 20
	maxRows    = 5_000
	maxPlayers = 200
	maxTold    = 20 // errors told at once
)

// Error says which cell of the feed cannot be read, and why. [Read] returns
// all of them together, joined; use [errors.As] for the first.
type Error struct {
	Line   int    // in the file, the header being 1
	Column string // a column's name, or "" for the whole line
	Reason string
}

func (e *Error) Error() string {
	if e.Column == "" {
		return fmt.Sprintf("line %d: %s", e.Line, e.Reason)
	}
	return fmt.Sprintf("line %d, column %s: %s", e.Line, e.Column, e.Reason)
}

// Feed is a game as its official play-by-play tells it.
type Feed struct {
	Teams   [2]events.Token // in alphabetical order
	Players []events.Player // in the order they first appear
	rows    []row           // as they stand in the file
	remarks []Remark
}

// Remark is something a reader of the feed should know: a row that could not
// be placed, one that contradicts another, or a count that differs.
type Remark struct {
	Row  int // the line in the file; 0 when it is about the whole game
	Text string
}

func (r Remark) String() string {
	if r.Row == 0 {
		return r.Text
	}
	return fmt.Sprintf("line %d: %s", r.Row, r.Text)
}

// Read reads a plays.csv. It refuses a file whose cells cannot be read, and
// names them; rows that can be read but make no sense are remarks of
// [Feed.Events].
func Read(r io.Reader) (*Feed, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read plays: %w", err)
	}
	if len(text) > maxBytes {
		return nil, fmt.Errorf("read plays: more than %d bytes; want the plays of one game", maxBytes)
	}
	t := &table{csv: csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))))}
	t.csv.FieldsPerRecord = -1
	t.csv.ReuseRecord = true
	t.feed = &Feed{}
	if err := t.header(); err != nil {
		return nil, fmt.Errorf("read plays: %w", err)
	}
	t.body()
	if len(t.errs) == 0 && len(t.feed.rows) == 0 {
		t.refuse(1, "", "no plays follow the header")
	}
	if len(t.errs) > 0 {
		return nil, fmt.Errorf("read plays: %w", errors.Join(t.errs...))
	}
	t.feed.settleTeams()
	if n := len(t.feed.Players); n > maxPlayers {
		return nil, fmt.Errorf("read plays: %w", &Error{1, "player", fmt.Sprintf("%d different players; want one game's, at most %d", n, maxPlayers)})
	}
	return t.feed, nil
}

// table is a csv file on its way to rows.
type table struct {
	csv     *csv.Reader
	columns []string
	feed    *Feed
	told    map[string]bool // words already remarked on
	errs    []error
}

func (t *table) refuse(line int, column, format string, args ...any) {
	t.errs = append(t.errs, &Error{line, column, fmt.Sprintf(format, args...)})
}

func (t *table) remark(line int, format string, args ...any) {
	t.feed.remarks = append(t.feed.remarks, Remark{line, fmt.Sprintf(format, args...)})
}

func (t *table) header() error {
	record, err := t.csv.Read()
	if errors.Is(err, io.EOF) {
		return &Error{1, "", "the file is empty; want a header and plays"}
	} else if err != nil {
		return csvError(err)
	}
	for _, name := range record {
		name = strings.ToLower(strings.TrimSpace(name))
		if name != "" && slices.Contains(t.columns, name) {
			return &Error{1, name, "stands twice in the header"}
		}
		t.columns = append(t.columns, name)
	}
	for _, want := range []string{"period", "clock", "team", "play", "made"} {
		if !slices.Contains(t.columns, want) {
			return &Error{1, want, fmt.Sprintf("is missing; the header is %q", strings.Join(t.columns, ","))}
		}
	}
	return nil
}

func (t *table) body() {
	for len(t.errs) < maxTold {
		record, err := t.csv.Read()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.errs = append(t.errs, csvError(err))
			return
		}
		line, _ := t.csv.FieldPos(0)
		if len(t.feed.rows) == maxRows {
			t.refuse(line, "", "more than %d plays; want one game", maxRows)
			return
		}
		cells := make(map[string]string, len(t.columns))
		filled := false
		for i, cell := range record {
			cell = strings.TrimSpace(cell)
			filled = filled || cell != ""
			if i < len(t.columns) {
				cells[t.columns[i]] = cell
			} else if cell != "" {
				t.refuse(line, "", "%q stands beyond the last column", cell)
			}
		}
		if filled {
			t.row(line, cells)
		}
	}
}

func csvError(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return &Error{p.Line, "", fmt.Sprintf("no CSV at byte %d: %s", p.Column, p.Err)}
	}
	return err
}

// row reads one line's cells; a cell that cannot be read is an error, a word
// nobody knows a remark.
func (t *table) row(line int, cells map[string]string) {
	r := row{line: line, play: strings.ToLower(cells["play"]), note: strings.ToLower(cells["note"])}
	var err error
	if r.period, err = strconv.Atoi(cells["period"]); err != nil || r.period < 1 || r.period > 20 {
		t.refuse(line, "period", "%q; want 1 to 20", cells["period"])
	}
	// The negated range also refuses NaN.
	if r.clock, err = strconv.ParseFloat(cells["clock"], 64); err != nil || !(r.clock >= 0 && r.clock <= 3600) {
		t.refuse(line, "clock", "%q; want the seconds left in the period", cells["clock"])
	}
	r.clock += 0 // no minus zero
	if !slices.Contains(plays, r.play) {
		near := ""
		if w := events.Nearest(r.play, plays); w != "" {
			near = fmt.Sprintf(" (did the feed mean %q?)", w)
		}
		t.remark(line, "unknown play %q%s; the row is left out", r.play, near)
		return
	}
	if !slices.Contains(notes, r.note) {
		t.remark(line, "unknown note %q; the row is read without it", r.note)
		r.note = "other"
	}
	r.team = t.id(line, "team", cells["team"])
	r.player = t.id(line, "player", cells["player"])
	r.by = t.id(line, "by", cells["by"])
	if r.shot() || r.play == freeThrow {
		r.made = t.yes(line, cells["made"])
	}
	if r.play == freeThrow {
		r.k, r.n = t.of(line, cells["of"])
	}
	t.team(&r)
	t.feed.rows = append(t.feed.rows, r)
}

// id makes a feed's code an id of ours: lower case, anything else a hyphen.
func (t *table) id(line int, column, label string) events.Token {
	id := events.Token(strings.ToLower(label))
	if label == "" || id.Valid() {
		return id
	}
	plain := strings.Map(func(c rune) rune {
		if c >= 'a' && c <= 'z' || c >= '0' && c <= '9' {
			return c
		}
		return '-'
	}, string(id))
	id = events.Token(strings.Trim(plain[:min(len(plain), 63)], "-"))
	if !id.Valid() {
		t.refuse(line, column, "%q holds neither letter nor digit to make an id of", label)
		return ""
	}
	if t.told == nil {
		t.told = make(map[string]bool)
	}
	if key := column + " " + label; !t.told[key] {
		t.told[key] = true
		t.remark(line, "%s %q is called %s here", column, label, id)
	}
	return id
}

func (t *table) yes(line int, cell string) bool {
	switch strings.ToLower(cell) {
	case "yes":
		return true
	case "no":
		return false
	}
	t.refuse(line, "made", "%q; a shot or free throw is made yes or no", cell)
	return false
}

func (t *table) of(line int, cell string) (k, n int) {
	if cell == "" {
		return 0, 0
	}
	first, second, ok := strings.Cut(cell, "/")
	k, err1 := strconv.Atoi(strings.TrimSpace(first))
	n, err2 := strconv.Atoi(strings.TrimSpace(second))
	if !ok || err1 != nil || err2 != nil || k < 1 || n < k || n > 3 {
		t.remark(line, "free throw %q of its trip; want 1/1 to 3/3, read as not said", cell)
		return 0, 0
	}
	return k, n
}

// team keeps the two teams' ids and refuses a third.
func (t *table) team(r *row) {
	if r.team == "" || slices.Contains(t.feed.Teams[:], r.team) {
		return
	}
	for i, known := range t.feed.Teams {
		if known == "" {
			t.feed.Teams[i] = r.team
			return
		}
	}
	t.refuse(r.line, "team", "%q is a third team beside %q and %q", r.team, t.feed.Teams[0], t.feed.Teams[1])
}
