package events

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	quick "github.com/goccy/go-json"
)

// MaxBytes is the largest event the ledger takes, in bytes of its line.
const MaxBytes = 64 << 10

// ErrNotAnEvent is wrapped by every error of [Decode].
var ErrNotAnEvent = errors.New("not an event")

// envelope is an event whose body is still unread.
type envelope struct {
	Event
	Body json.RawMessage `json:"body"`
}

// Decode reads one line of JSON. It keeps a copy of the line in Raw, so that
// fields it does not know are not lost. An event of a newer version is
// returned with an [Opaque] body; nothing but its envelope was read. Decode
// does not judge: [Check] does.
func Decode(line []byte) (Event, error) {
	line = bytes.TrimSpace(line)
	if len(line) > MaxBytes {
		return Event{}, fmt.Errorf("%w: %d bytes; at most %d are taken", ErrNotAnEvent, len(line), MaxBytes)
	}
	return decode(bytes.Clone(line), json.Unmarshal)
}

// DecodeOwned is Decode for bytes that passed the gate before they were stored
// and that nobody else will change: Raw is line. It reads with a quicker JSON
// package, about four times as fast; what that package stumbles over is read
// again with the standard one, which says why.
func DecodeOwned(line []byte) (Event, error) {
	if e, err := decode(line, quick.Unmarshal); err == nil {
		return e, nil
	}
	return decode(line, json.Unmarshal)
}

type unmarshal func([]byte, any) error

func decode(line []byte, read unmarshal) (Event, error) {
	var env envelope
	if err := read(line, &env); err != nil {
		return Event{}, fmt.Errorf("%w: %s", ErrNotAnEvent, jsonReason(err))
	}
	e := env.Event
	e.Raw = line
	if e.V > Version {
		e.Body = &Opaque{e.Type}
		return e, nil
	}
	body, err := decodeBody(e.Type, env.Body, read)
	if err != nil {
		return Event{}, err
	}
	e.Body = body
	return e, nil
}

// DecodeBody reads a body of the given type.
func DecodeBody(t Type, text []byte) (Body, error) { return decodeBody(t, text, json.Unmarshal) }

func decodeBody(t Type, text []byte, read unmarshal) (Body, error) {
	row, ok := typeRows[t]
	if !ok {
		return nil, fmt.Errorf("%w: type: %s", ErrNotAnEvent, notAWord(string(t), t.Words()))
	}
	body := row.New()
	if len(text) == 0 {
		return nil, fmt.Errorf("%w: body of a %s is missing", ErrNotAnEvent, t)
	}
	if err := read(text, body); err != nil {
		return nil, fmt.Errorf("%w: body of a %s: %s", ErrNotAnEvent, t, jsonReason(err))
	}
	return body, nil
}

// Seal checks an event made in code and fills Raw with the bytes to store.
func (e *Event) Seal() error {
	raw, err := json.Marshal(e)
	if err != nil {
		return fmt.Errorf("write event %s: %w", e.ID, err)
	}
	e.Raw = raw
	if err := Check(e); err != nil {
		e.Raw = nil
		return err
	}
	return nil
}

// jsonReason says in a charter's terms what the JSON reader did not like.
func jsonReason(err error) string {
	var typ *json.UnmarshalTypeError
	if errors.As(err, &typ) {
		where := typ.Field
		if where == "" {
			where = "the line"
		}
		return fmt.Sprintf("%s is a %s; want %s", where, typ.Value, plainType(typ.Type.Kind().String()))
	}
	var syn *json.SyntaxError
	if errors.As(err, &syn) {
		return fmt.Sprintf("no JSON: %s at byte %d", syn, syn.Offset)
	}
	return err.Error()
}

func plainType(kind string) string {
	switch kind {
	case "int", "int64":
		return "a whole number"
	case "float64":
		return "a number"
	case "string":
		return "text"
	case "slice":
		return "a list"
	case "bool":
		return "true or false"
	}
	return "an object"
}
