package definition

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the expected messages; read the difference before committing")

const badFiles = "../../testdata/definitions"

// One bad file for each mistake, with its exact message beside it.
func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(badFiles, "*.yaml"))
	if err != nil || len(files) < 50 {
		t.Fatalf("%d bad files found, %v", len(files), err)
	}
	for _, path := range files {
		name := filepath.Base(path)
		t.Run(strings.TrimSuffix(name, ".yaml"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			d, err := Load(name, text)
			if err == nil {
				t.Fatalf("accepted as %s", d.Name)
			}
			golden := strings.TrimSuffix(path, ".yaml") + ".txt"
			if *update {
				if err := os.WriteFile(golden, []byte(err.Error()+"\n"), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, readErr := os.ReadFile(golden)
			if readErr != nil {
				t.Fatal(readErr)
			}
			if got := err.Error() + "\n"; got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}
