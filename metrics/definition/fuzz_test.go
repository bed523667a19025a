package definition

import (
	"os"
	"path/filepath"
	"testing"
)

// Whatever the bytes, a definition is refused with at least one problem that
// has a text, or it is read, hashed, checked and applied without a panic.
func FuzzParse(f *testing.F) {
	for _, d := range Shipped() {
		text, _ := ShippedText(d.Name)
		f.Add([]byte(text))
	}
	files, err := filepath.Glob(filepath.Join(badFiles, "*.yaml"))
	if err != nil || files == nil {
		f.Fatal("no bad files", err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		d, err := Parse("fuzz.yaml", text)
		if err != nil {
			problems, ok := err.(Problems)
			if !ok || len(problems) == 0 || problems[0].Text == "" {
				t.Fatalf("refused without a reason: %v", err)
			}
			return
		}
		if len(d.Hash()) != 64 {
			t.Fatalf("hash %q", d.Hash())
		}
		Check(d)
		again, err := Parse("fuzz.yaml", text)
		if err != nil || again.Hash() != d.Hash() {
			t.Fatalf("read twice: %v, %s and %s", err, d.Hash(), again.Hash())
		}
	})
}
