package events_test

import (
	"encoding/json"
	"flag"
	"os"
	"testing"

	"stopledger/events"
)

var update = flag.Bool("update", false, "rewrite schema.json and VOCABULARY.md")

// The schema and the vocabulary page in the repository are what the tables say.
func TestGeneratedFiles(t *testing.T) {
	for file, want := range map[string]string{"schema.json": string(events.Schema()), "VOCABULARY.md": events.Handbook()} {
		if *update {
			if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		got, err := os.ReadFile(file)
		if err != nil || string(got) != want {
			t.Errorf("%s is not what the tables say (%v); run go generate ./events", file, err)
		}
	}
}

func TestSchemaIsJSON(t *testing.T) {
	if !json.Valid(events.Schema()) {
		t.Error("the schema is no JSON")
	}
}
