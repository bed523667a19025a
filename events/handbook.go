package events

import (
	"fmt"
	"reflect"
	"strings"
)

// Handbook is the vocabulary as a Markdown page for charters, made from the
// same tables as everything else.
func Handbook() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Vocabulary, version %d\n\nMade from the tables in `events`; edit those, then run `go generate ./events`.\n", VocabularyVersion)
	b.WriteString("The words are the trade's; what they mean is common practice, no source.\n")
	handbookKinds(&b)
	handbookDetails(&b)
	handbookWords(&b)
	handbookTypes(&b)
	return b.String()
}

func handbookKinds(b *strings.Builder) {
	b.WriteString("\n## Kinds and outcomes\n")
	for _, k := range Kinds {
		fmt.Fprintf(b, "\n### `%s`: %s\n\n| outcome | reading | on the floor |\n| --- | --- | --- |\n", k.Kind, k.Gloss)
		handbookOutcomes(b, k.Outcomes)
	}
	b.WriteString("\n### Every kind also takes\n\n| outcome | reading | on the floor |\n| --- | --- | --- |\n")
	handbookOutcomes(b, EveryKind)
}

func handbookOutcomes(b *strings.Builder, rows []OutcomeRow) {
	for _, o := range rows {
		fmt.Fprintf(b, "| `%s` | %s | %s |\n", o.Outcome, o.Reading, o.Gloss)
	}
}

func handbookDetails(b *strings.Builder) {
	b.WriteString("\n## Details of an action\n\nAll optional.\n\n| detail | on | says | values |\n| --- | --- | --- | --- |\n")
	for _, d := range DetailRows {
		on := "every kind"
		if d.On != nil {
			on = joinWords(d.On)
		}
		values := joinWords(d.Words)
		switch d.Holds {
		case HoldsPlayer:
			values = "a player's id"
		case HoldsEvent:
			values = "an event's id"
		case HoldsText:
			values = "your own words"
		}
		if d.Many {
			values += " (several may be said)"
		}
		fmt.Fprintf(b, "| `%s` | %s | %s | %s |\n", d.Name, on, d.Gloss, values)
	}
}

func handbookWords(b *strings.Builder) {
	b.WriteString("\n## Other words\n\n| what | words |\n| --- | --- |\n")
	for _, list := range []struct {
		name  string
		words words
	}{
		{"role", Role("")}, {"level", Level("")}, {"rules", RuleName("")}, {"origin of a chance", Origin("")}, {"tempo", Tempo("")},
		{"end", End("")}, {"turnover", Turnover("")}, {"side", Side("")}, {"base scheme", Base("")}, {"principle", Principle("")},
		{"pressure", Pressure("")}, {"focus", Focus("")}, {"penalty shots for", PenaltyWhy("")}, {"clock from", ClockSource("")},
	} {
		fmt.Fprintf(b, "| %s | %s |\n", list.name, joinWords(list.words.Words()))
	}
}

func handbookTypes(b *strings.Builder) {
	b.WriteString("\n## Event types\n\n| type | what it says | body |\n| --- | --- | --- |\n")
	for _, row := range Types {
		var fields []string
		t := reflect.TypeOf(row.New()).Elem()
		for i := range t.NumField() {
			name, opts, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			if strings.Contains(opts, "omit") {
				name += "?"
			}
			fields = append(fields, name)
		}
		fmt.Fprintf(b, "| `%s` | %s | %s |\n", row.Type, row.Gloss, joinWords(fields))
	}
}

func joinWords[W ~string](list []W) string {
	quoted := make([]string, len(list))
	for i, w := range list {
		quoted[i] = "`" + string(w) + "`"
	}
	return strings.Join(quoted, ", ")
}
