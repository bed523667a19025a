package events

import (
	"encoding/json"
	"reflect"
	"strings"
	"time"
)

// object is a JSON object being built.
type object = map[string]any

// Schema is the JSON Schema (draft 2020-12) of one event line, made from the
// vocabulary and the bodies' own fields. Unknown fields are allowed: they are
// kept.
func Schema() []byte {
	defs := object{
		"token": object{"type": "string", "pattern": tokenSchema, "description": "id of a game, chart, charter, team, player, film or pad"},
		"id":    object{"type": "string", "pattern": idSchema, "description": "an event's id: a UUID in lower case, version 7"},
	}
	var variants []any
	for _, row := range Types {
		body := schemaOf(reflect.TypeOf(row.New()).Elem())
		body["description"] = row.Gloss
		if row.Type == "action" {
			body["allOf"] = actionRules()
		}
		defs[string(row.Type)] = body
		variants = append(variants, object{
			"if":   object{"properties": object{"type": object{"const": row.Type}}},
			"then": object{"properties": object{"body": object{"$ref": "#/$defs/" + string(row.Type)}}},
		})
	}
	root := schemaOf(reflect.TypeFor[Event]())
	props := root["properties"].(object)
	props["v"] = object{"type": "integer", "minimum": 1}
	props["n"] = object{"type": "integer", "minimum": 1}
	props["body"] = object{"type": "object"}
	props["recorded"] = object{"type": "string", "format": "date-time"}
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "Stopledger event, version 1"
	root["$defs"] = defs
	// Only version 1 is described; a newer one passes with its envelope alone.
	root["if"] = object{"properties": object{"v": object{"const": Version}}}
	root["then"] = object{"allOf": variants, "properties": object{"type": wordSchema(Type("").Words())}}
	text, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		panic("events: the schema is not JSON: " + err.Error()) // a mistake in this file
	}
	return append(text, '\n')
}

// actionRules says for each kind which outcomes and details it takes.
func actionRules() []any {
	var rules []any
	for _, k := range Kinds {
		var outcomes []string
		for _, o := range OutcomesOf(k.Kind) {
			outcomes = append(outcomes, string(o.Outcome))
		}
		details := object{}
		for _, d := range DetailsOf(k.Kind) {
			details[d.Name] = detailSchema(d)
		}
		rules = append(rules, object{
			"if": object{"properties": object{"kind": object{"const": k.Kind}}},
			"then": object{"properties": object{
				"outcome": wordSchema(outcomes),
				"details": object{"type": "object", "properties": details, "additionalProperties": false},
			}},
		})
	}
	return rules
}

func detailSchema(d DetailRow) object {
	var item object
	switch d.Holds {
	case HoldsPlayer:
		item = object{"$ref": "#/$defs/token"}
	case HoldsEvent:
		item = object{"$ref": "#/$defs/id"}
	case HoldsText:
		item = object{"type": "string", "minLength": 1, "maxLength": 200}
	default:
		item = wordSchema(d.Words)
	}
	list := object{"type": "array", "items": item, "minItems": 1, "description": d.Gloss}
	if !d.Many {
		list["maxItems"] = 1
	}
	return list
}

func wordSchema(words []string) object { return object{"enum": words} }

// schemaOf describes a Go type by its own fields, as checkValue walks them.
func schemaOf(t reflect.Type) object {
	switch t {
	case reflect.TypeFor[time.Time]():
		return object{"type": "string", "format": "date-time"}
	case reflect.TypeFor[json.RawMessage]():
		return object{"type": "object"}
	case reflect.TypeFor[Token]():
		return object{"$ref": "#/$defs/token"}
	case reflect.TypeFor[ID]():
		return object{"$ref": "#/$defs/id"}
	case reflect.TypeFor[Rules]():
		return object{"anyOf": []any{wordSchema(RuleName("").Words()), schemaOf(reflect.TypeFor[rulesByHand]())}}
	case reflect.TypeFor[Outcome]():
		return object{"type": "string"} // by kind, see actionRules
	}
	if w, ok := reflect.Zero(t).Interface().(words); ok && t.Kind() == reflect.String {
		return wordSchema(w.Words())
	}
	switch t.Kind() {
	case reflect.Pointer:
		return schemaOf(t.Elem())
	case reflect.Struct:
		return structSchema(t)
	case reflect.Slice:
		return object{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Map:
		return object{"type": "object", "additionalProperties": schemaOf(t.Elem())}
	case reflect.Int, reflect.Int64:
		return object{"type": "integer", "minimum": 0}
	case reflect.Float64:
		return object{"type": "number"}
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Interface:
		return object{}
	}
	return object{"type": "string"}
}

func structSchema(t reflect.Type) object {
	props := object{}
	required := []string{}
	for i := range t.NumField() {
		name, opts, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == "" || name == "-" {
			continue
		}
		props[name] = schemaOf(t.Field(i).Type)
		if !strings.Contains(opts, "omit") {
			required = append(required, name)
		}
	}
	return object{"type": "object", "properties": props, "required": required}
}
