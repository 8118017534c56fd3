package codex_test

import (
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// By Gregory's rule like faces like; a stated side that does not, and a leaf cut
// out, are told with their openings.
func TestSkinNote(t *testing.T) {
	note := func(leaves string) string {
		var ps table.Problems
		books := codex.FromTables(codex.Tables{
			Books:  table.Read("books.csv", []byte("book,outer\nhazel,hair\n"), &ps),
			Leaves: table.Read("leaves.csv", []byte("book,leaf,quire,state,conjugate,recto\n"+leaves), &ps),
		}, &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
		return books[0].SkinNote()
	}
	for leaves, want := range map[string]string{
		"hazel,1,1,,,\nhazel,2,1,,,\nhazel,3,1,,,\nhazel,4,1,,,\nhazel,5,2,,,\nhazel,6,2,,,\n": "",
		// The inner sheet was looked at, and turns its hair outward too.
		"hazel,1,1,,,\nhazel,2,1,,,hair\nhazel,3,1,,,\nhazel,4,1,,,\n": "Hair faces flesh, against the usual order of a quire, in the openings 1v–2r, 3v–4r: a leaf may have been cut out, turned or moved there; look at them once more.",
		// Leaves 2 and 5 of a ternion cut out: 1 faces what was 3.
		"hazel,1,1,,,\nhazel,,1,cancelled,,\nhazel,2,1,,,\nhazel,3,1,,,\nhazel,,1,cancelled,,\nhazel,4,1,,,\n": "Hair faces flesh, against the usual order of a quire, in the openings 1v–2r, 3v–4r: a leaf may have been cut out, turned or moved there; look at them once more.",
		"hazel,1,1,,,\nhazel,,1,lost,,\nhazel,,1,lost,,\nhazel,4,1,,,\n":                                       "",
	} {
		if got := note(leaves); got != want {
			t.Errorf("%s: %q", leaves, got)
		}
	}
}
