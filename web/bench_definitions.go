package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"stopledger/events/bus"
	"stopledger/metrics/definition"
	"stopledger/web/access"
	"stopledger/web/rulebook"
)

// definitionsJSON is what the Bench shows beside its editor.
type definitionsJSON struct {
	InForce    inForceJSON            `json:"in_force"`
	Trail      []rulebook.Choice      `json:"trail"`
	Names      []rulebook.Named       `json:"definitions"`
	Fields     []definition.FieldDoc  `json:"fields"`
	Blame      []definition.BlameRule `json:"blame"`
	Dimensions []string               `json:"dimensions"`
	Keeps      bool                   `json:"keeps"` // whether this ledger keeps definitions
}

type inForceJSON struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

func (s *Server) getDefinitions(w http.ResponseWriter, r *http.Request) {
	book, err := s.room.rules(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out := definitionsJSON{Fields: definition.FieldDocs(), Blame: definition.BlameRules, Keeps: book.Keeps()}
	for _, d := range definition.Dimensions {
		out.Dimensions = append(out.Dimensions, d.Name)
	}
	d, err := book.InForce(r.Context())
	if err == nil {
		out.InForce = inForceJSON{d.Name, d.Hash()}
		out.Trail, err = book.Trail(r.Context())
	}
	if err == nil {
		out.Names, err = book.Names(r.Context())
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, out)
}

// versionJSON is one version with its file and the rules as they are read.
type versionJSON struct {
	Name  string            `json:"name"`
	About string            `json:"about"`
	Hash  string            `json:"hash"`
	Text  string            `json:"text"`
	Rules []definition.Rule `json:"rules"`
}

func (s *Server) getDefinition(w http.ResponseWriter, r *http.Request) {
	d, err := s.definitionAsked(r, r.PathValue("definition"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	book, err := s.room.rules(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	text, err := book.Text(r.Context(), d.Hash())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.answer(w, r, versionJSON{d.Name, d.About, d.Hash(), string(text), d.Rules()})
}

// checkedJSON is what the server says of a text while it is typed.
type checkedJSON struct {
	Name     string                     `json:"name,omitempty"`
	Hash     string                     `json:"hash,omitempty"`
	Problems []definition.Problem       `json:"problems"`
	Examples []definition.ExampleResult `json:"examples"`
	Rules    []definition.Rule          `json:"rules"`
}

func checkText(text string) (checkedJSON, *definition.Definition) {
	out := checkedJSON{Problems: []definition.Problem{}, Examples: []definition.ExampleResult{}, Rules: []definition.Rule{}}
	d, err := definition.Parse("", []byte(text))
	var problems definition.Problems
	switch {
	case errors.As(err, &problems):
		out.Problems = problems
	case err != nil:
		out.Problems = append(out.Problems, definition.Problem{Line: 1, Column: 1, Text: err.Error()})
	default:
		out.Name, out.Hash, out.Rules, out.Examples = d.Name, d.Hash(), d.Rules(), definition.Check(d)
	}
	return out, d
}

func (s *Server) postCheck(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Text string `json:"text"`
	}
	if err := readJSON(r, &in); err != nil {
		s.fail(w, r, err)
		return
	}
	out, _ := checkText(in.Text)
	s.answer(w, r, out)
}

// asking is needAny for a question that is too long for an address: it changes
// nothing, so nothing is noted.
func (s *Server) asking(want access.Role, next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		asked := r.Clone(r.Context())
		asked.Method = http.MethodGet
		s.needAny(want, func(w http.ResponseWriter, _ *http.Request) { next(w, r) })(w, asked)
	}
}

func readJSON(r *http.Request, into any) error {
	dec := json.NewDecoder(r.Body)
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			return err
		}
		return faultf(invalid, "want a JSON object: %v", err)
	}
	return nil
}

// postDefinition keeps a text as the newest version of its name.
func (s *Server) postDefinition(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Text string `json:"text"`
		Note string `json:"note"`
	}
	if err := readJSON(r, &in); err != nil {
		s.fail(w, r, err)
		return
	}
	book, err := s.room.rules(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	d, err := book.Save(r.Context(), []byte(in.Text), visitorOf(r.Context()).name(), in.Note, time.Now())
	if err != nil {
		s.fail(w, r, ruleFault(err))
		return
	}
	s.answer(w, r, inForceJSON{d.Name, d.Hash()})
}

// postInForce puts a version in force; the trail keeps who and why.
func (s *Server) postInForce(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Hash string `json:"hash"`
		Why  string `json:"why"`
	}
	if err := readJSON(r, &in); err != nil {
		s.fail(w, r, err)
		return
	}
	book, err := s.room.rules(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	choice, err := book.Choose(r.Context(), in.Hash, visitorOf(r.Context()).name(), in.Why, time.Now())
	if err != nil {
		s.fail(w, r, ruleFault(err))
		return
	}
	s.desk.nudgeBoards() // every Board reads its numbers anew
	s.answer(w, r, choice)
}

// ruleFault is the asker's part in an error of the book.
func ruleFault(err error) error {
	var problems definition.Problems
	switch {
	case errors.As(err, &problems):
		return faultf(invalid, "the definition is not kept while it has mistakes: %s", problems[0].Text)
	case errors.Is(err, rulebook.ErrShippedName), errors.Is(err, bus.ErrReadOnly):
		return faultf(invalid, "%v", err)
	case errors.Is(err, bus.ErrNotFound):
		return faultf(notFound, "%v", err)
	case errors.Is(err, bus.ErrConflict):
		return faultf(unavailable, "%v", err)
	}
	return err
}
