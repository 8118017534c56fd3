package report

import (
	"os"
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
	if err := r.Write(dir); err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Sentences() {
		t.Log(s.Text)
	}
}
