package report

import (
	"os"
	"path/filepath"
	"testing"
)

// TestLook writes the fixture's faces to the folder THUMBED_LOOK, to be looked
// at.
func TestLook(t *testing.T) {
	dir := os.Getenv("THUMBED_LOOK")
	if dir == "" {
		t.Skip("set THUMBED_LOOK to a folder to see the fixture's page and figures")
	}
	r := fixture(t)
	figures, err := r.Figures()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range figures {
		for ext, data := range map[string][]byte{".svg": f.SVG, ".pdf": f.PDF, ".png": f.PNG} {
			if err := os.WriteFile(filepath.Join(dir, f.Name+ext), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, s := range r.Sentences() {
		t.Log(s.Text)
	}
}
