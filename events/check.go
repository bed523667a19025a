package events

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"time"
)

// FieldError says which field of an event is refused and why.
type FieldError struct {
	Field  string // a path such as "body.outcome"
	Reason string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Reason }

// Check says whether an event may enter the ledger: nil, or a [*FieldError]
// for the first field that is wrong. An event that is valid but odd (an action
// outside a chance, a defender not in the line-up) passes; the fold reports it.
// Of an event of a newer version only the envelope is checked.
func Check(e *Event) error {
	if err := checkEnvelope(e); err != nil {
		return err
	}
	if e.Newer() {
		return nil
	}
	if e.Body == nil {
		return &FieldError{"body", "is missing"}
	}
	if e.Body.Type() != e.Type {
		return &FieldError{"type", fmt.Sprintf("says %q, but the body is of a %q", e.Type, e.Body.Type())}
	}
	return CheckBody(e.Body)
}

// CheckBody checks a body alone.
func CheckBody(b Body) error {
	if err := checkValue("body", reflect.ValueOf(b).Elem()); err != nil {
		return err
	}
	if c, ok := b.(interface{ whole() *FieldError }); ok {
		if err := c.whole(); err != nil {
			return err
		}
	}
	return nil
}

func checkEnvelope(e *Event) error {
	tokens := []struct {
		name  string
		token Token
	}{{"game", e.Game}, {"chart", e.Chart}, {"charter", e.Charter}, {"pad", e.Pad}}
	switch {
	case e.V < 1:
		return &FieldError{"v", "is missing; this program writes version 1"}
	case !e.ID.Valid():
		return &FieldError{"id", fmt.Sprintf("%q is no UUID in lower case", e.ID)}
	case len(e.Raw) > MaxBytes:
		return &FieldError{"event", fmt.Sprintf("%d bytes; at most %d are taken", len(e.Raw), MaxBytes)}
	case e.N < 1:
		return &FieldError{"n", fmt.Sprintf("%d; counts up from 1 for each pad", e.N)}
	case e.After != "" && !e.After.Valid():
		return &FieldError{"after", fmt.Sprintf("%q is no event's id", e.After)}
	}
	for _, t := range tokens {
		if reason := t.token.check(); reason != "" {
			return &FieldError{t.name, reason}
		}
	}
	if err := checkValue("when", reflect.ValueOf(e.When)); err != nil {
		return err
	}
	return nil
}

// selfChecked is what a leaf type implements that knows its own rule; the
// reason is "" when all is well.
type selfChecked interface{ check() string }

type words interface{ Words() []string }

func (t Token) check() string {
	switch {
	case t == "":
		return "is missing"
	case !t.Valid():
		return fmt.Sprintf("%q is no id: want 1 to 63 of a-z, 0-9 and -, not beginning with -", string(t))
	}
	return ""
}

func (id ID) check() string {
	switch {
	case id == "":
		return "is missing"
	case !id.Valid():
		return fmt.Sprintf("%q is no event's id: want a UUID in lower case", string(id))
	}
	return ""
}

func (w When) check() string {
	switch {
	case w.Period < 0 || w.Period > 20:
		return fmt.Sprintf("period %d; want 1 to 20", w.Period)
	case w.Clock != nil && !(*w.Clock >= 0 && *w.Clock <= 3600):
		return fmt.Sprintf("clock %g; want the seconds left in the period, 0 to 3600", *w.Clock)
	case w.Film != nil && !(w.Film.At >= 0 && w.Film.At < 1e6):
		return fmt.Sprintf("film time %g; want seconds from the film's start", w.Film.At)
	}
	return ""
}

func (s Spot) check() string {
	// No court is larger than 31 m by 17 m; a spot behind the backboard or just
	// off the floor is possible.
	if !(math.Abs(s.X) <= 10 && s.Y >= -4 && s.Y <= 30) {
		return fmt.Sprintf("x %g, y %g is off any court; metres from the floor under the basket", s.X, s.Y)
	}
	return ""
}

// checkValue walks a body and asks every leaf for its own rule. A field
// without omitempty must be there.
func checkValue(path string, v reflect.Value) *FieldError {
	if v.CanInterface() {
		if c, ok := v.Interface().(selfChecked); ok && v.Kind() != reflect.Pointer {
			if reason := c.check(); reason != "" {
				return &FieldError{path, reason}
			}
		}
		if w, ok := v.Interface().(words); ok && v.Kind() == reflect.String {
			return checkWord(path, v.String(), w.Words())
		}
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return checkValue(path, v.Elem())
	case reflect.Struct:
		return checkStruct(path, v)
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Uint8 {
			return nil
		}
		for i := range v.Len() {
			if err := checkValue(fmt.Sprintf("%s[%d]", path, i), v.Index(i)); err != nil {
				return err
			}
		}
	case reflect.Map:
		return checkMap(path, v)
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return &FieldError{path, "is no finite number"}
		}
	case reflect.Int, reflect.Int64:
		if v.Int() < 0 {
			return &FieldError{path, fmt.Sprintf("%d; must not be below 0", v.Int())}
		}
	}
	return nil
}

var timeType = reflect.TypeFor[time.Time]()

func checkStruct(path string, v reflect.Value) *FieldError {
	t := v.Type()
	if t == timeType || t == reflect.TypeFor[Rules]() {
		return nil
	}
	for i := range t.NumField() {
		name, opts, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == "-" || name == "" {
			continue
		}
		f := v.Field(i)
		optional := strings.Contains(opts, "omit")
		if optional && f.IsZero() {
			continue
		}
		if err := checkValue(path+"."+name, f); err != nil {
			return err
		}
	}
	return nil
}

func checkMap(path string, v reflect.Value) *FieldError {
	for _, key := range v.MapKeys() {
		at := path + "." + key.String()
		if err := checkValue(at, key); err != nil {
			return err
		}
		if err := checkValue(at, v.MapIndex(key)); err != nil {
			return err
		}
	}
	return nil
}

func checkWord(path, word string, words []string) *FieldError {
	if word == "" {
		return &FieldError{path, "is missing; want one of " + strings.Join(words, ", ")}
	}
	for _, w := range words {
		if w == word {
			return nil
		}
	}
	return &FieldError{path, notAWord(word, words)}
}
