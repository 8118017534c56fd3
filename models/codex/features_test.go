package codex_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// row is one row of a table by column, missing cells left out.
func row(t *table.Table, i int) map[string]string {
	cells := map[string]string{}
	for _, c := range t.Columns() {
		if !c.Missing(i) {
			cells[c.Name] = c.Label(i)
		}
	}
	return cells
}

func TestFeatures(t *testing.T) {
	f := codex.Features(small.load(t))
	if diff := cmp.Diff(append(codex.FeatureNames(), "gold"), f.Names()); diff != "" {
		t.Error(diff)
	}
	if f.Rows() != 28 {
		t.Fatalf("%d rows, not 28: one a page of a leaf still there", f.Rows())
	}
	// The small book has 15 leaves, one lost; worked out by hand.
	for i, want := range map[int]map[string]string{
		0: {"book": "hazel", "page": "ir", "leaf": "i", "position": "1", "leaf_position": "1", "place": "0", "edge": "0", "side": "recto",
			"opening": "ir", "picture": "no", "facing": "no", "incipit": "no", "blank": "no"},
		7: {"book": "hazel", "page": "2v", "leaf": "2", "position": "8", "leaf_position": "4", "place": "0.21428571428571427", "edge": "3", "side": "verso",
			"opening": "2v", "quire": "1", "quire_place": "2", "quire_leaves": "8", "hair": "hair",
			"section": "Calendar", "kind": "calendar", "section_page": "4", "section_place": "1",
			"picture": "no", "incipit": "no", "blank": "no", "language": "Latin", "conjugate": "2+5"}, // facing: cannot be known beside the lost leaf
		8: {"book": "hazel", "page": "3r", "leaf": "3", "position": "11", "leaf_position": "6", "place": "0.35714285714285715", "edge": "5", "side": "recto",
			"opening": "3r", "quire": "1", "quire_place": "4", "quire_leaves": "8", "hair": "flesh",
			"section": "Matins of the Virgin", "kind": "hours", "set": "of the Virgin", "office": "Matins", "office_order": "1", "section_page": "1", "section_place": "0",
			"picture": "yes", "incipit": "yes", "blank": "no", "language": "Latin", "subject": "Annunciation", "conjugate": "3+4", "gold": "2"},
		13: {"book": "hazel", "page": "4bisv", "leaf": "4bis", "position": "16", "leaf_position": "8", "place": "0.5", "edge": "7", "side": "verso",
			"opening": "4bisv–5r", "quire": "1", "quire_place": "6", "quire_leaves": "8", "hair": "hair",
			"section": "Matins of the Virgin", "kind": "hours", "set": "of the Virgin", "office": "Matins", "office_order": "1", "section_page": "6", "section_place": "0.5555555555555556",
			"picture": "no", "facing": "no", "incipit": "no", "blank": "no", "language": "Latin", "conjugate": "lost+4bis"},
		22: {"book": "hazel", "page": "9r", "leaf": "9", "position": "25", "leaf_position": "13", "place": "0.8571428571428571", "edge": "2", "side": "recto",
			"opening": "8v–9r", "quire": "2", "quire_place": "3", "quire_leaves": "5",
			"picture": "no", "facing": "no", "incipit": "no", "blank": "no", "conjugate": "9"},
		27: {"book": "hazel", "page": "11v", "leaf": "11", "position": "30", "leaf_position": "15", "place": "1", "edge": "0", "side": "verso",
			"opening": "11v", "quire": "2", "quire_place": "5", "quire_leaves": "5", "hair": "hair",
			"picture": "no", "facing": "no", "incipit": "no", "blank": "yes", "conjugate": "7+11"},
	} {
		if diff := cmp.Diff(want, row(f, i)); diff != "" {
			t.Errorf("row %d: %s", i, diff)
		}
	}
	if !f.Column("gold").IsNumber() || f.Column("leaf").IsNumber() || !f.Column("office_order").IsNumber() {
		t.Error("numbers and labels are mistaken")
	}
}

// A picture is felt on the facing page: an opening is touched as one.
func TestFacing(t *testing.T) {
	x := tables{books: "book\nhazel\n", leaves: "book,leaf\nhazel,1\nhazel,2\nhazel,3\n", pages: "book,page,picture\nhazel,1v,yes\nhazel,3r,yes\n"}
	f := codex.Features(x.load(t))
	if diff := cmp.Diff("no no yes yes no no", strings.Join(f.Column("facing").Text(), " ")); diff != "" {
		t.Error(diff)
	}
}

// Two books, their leaves interleaved in one table, own columns and language
// of one page.
func TestFeaturesOfTwoBooks(t *testing.T) {
	x := tables{books: "book\nhazel\nrowan\n",
		leaves:   "book,leaf\nrowan,1\nhazel,1\nrowan,2\nhazel,2\n",
		pages:    "book,page,language,ink,hand\nrowan,1v,French,iron,B\nhazel,2r,,,A\n",
		sections: "book,section,kind,extent,language\nrowan,Prayers,prayer,ff. 1–2,Latin\n"}
	f := codex.Features(x.load(t))
	for name, want := range map[string]string{
		"book":     "hazel hazel hazel hazel rowan rowan rowan rowan",
		"page":     "1r 1v 2r 2v 1r 1v 2r 2v",
		"language": "    Latin French Latin Latin",
		"ink":      "     iron  ",
		"hand":     "  A   B  ",
		"section":  "    Prayers Prayers Prayers Prayers",
	} {
		if got := strings.Join(f.Column(name).Text(), " "); got != want {
			t.Errorf("%s: %q, not %q", name, got, want)
		}
	}
}

func TestFeaturesOfNothing(t *testing.T) {
	f := codex.Features(nil)
	if f.Rows() != 0 || len(f.Names()) != len(codex.FeatureNames()) {
		t.Errorf("%d rows, columns %v", f.Rows(), f.Names())
	}
	allLost := tables{books: "book\nhazel\n", leaves: "book,leaf,state\nhazel,1,lost\n"}
	if f := codex.Features(allLost.load(t)); f.Rows() != 0 {
		t.Errorf("%d rows of a book that is lost", f.Rows())
	}
}

// The features written as a table read back as the same labels and numbers.
func TestFeaturesWritten(t *testing.T) {
	f := codex.Features(small.load(t))
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	back := table.Read("features.csv", out.Bytes(), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	for i := range f.Rows() {
		if diff := cmp.Diff(row(f, i), row(back, i)); diff != "" {
			t.Errorf("row %d: %s", i, diff)
		}
	}
}

// The schemas describe the tables that the tests read, and are well formed.
func TestSchemas(t *testing.T) {
	for name, test := range map[string]struct {
		schema table.Schema
		text   string
	}{
		"books": {codex.BooksSchema(), small.books}, "leaves": {codex.LeavesSchema(), small.leaves},
		"pages": {codex.PagesSchema(), small.pages}, "sections": {codex.SectionsSchema(), small.sections},
	} {
		var ps table.Problems
		read := table.Read(name, []byte(test.text), &ps)
		if !test.schema.Check(read, &ps) || ps.Len() != 0 {
			t.Errorf("%s: %v", name, ps.Err())
		}
		if _, err := test.schema.JSON(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, f := range test.schema.Fields {
			if f.Description == "" {
				t.Errorf("%s: %s is not described", name, f.Name)
			}
		}
	}
}
