package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"testing"
)

var update = flag.Bool("update", false, "write generated files anew")

// The front end's tests read the vocabulary from a file made from the table; a
// word added there must reach it.
func TestVocabularySampleIsTheTable(t *testing.T) {
	const file = "app/src/lib/vocabulary.sample.json"
	sc := start(t)
	_, text, _ := sc.get("/api/vocabulary", "")
	var pretty bytes.Buffer
	if err := json.Indent(&pretty, []byte(text), "", " "); err != nil {
		t.Fatal(err)
	}
	pretty.WriteByte('\n')
	if *update {
		if err := os.WriteFile(file, pretty.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(have, pretty.Bytes()) {
		t.Errorf("%s is not the vocabulary any more; run go test ./web -update", file)
	}
}
