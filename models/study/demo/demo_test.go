package demo

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// written is the study of the written truth and its own seed.
func written(t *testing.T) *Made {
	t.Helper()
	scenario, err := Written()
	if err != nil {
		t.Fatal(err)
	}
	made, err := scenario.Make(scenario.Seed)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// TestTheCommittedDemoIsWhatTheProgramMakes keeps testdata/demo, which people
// read, equal to what thumbed demo writes, byte for byte.
func TestTheCommittedDemoIsWhatTheProgramMakes(t *testing.T) {
	const dir = "../../../testdata/demo"
	const remedy = "; to renew it: rm -r testdata/demo && thumbed demo testdata/demo"
	made := written(t)
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if _, ours := made.Files[e.Name()]; !ours {
			t.Errorf("%s is committed but not made%s", e.Name(), remedy)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(made.Files)) {
		committed, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Errorf("%v%s", err, remedy)
		} else if !bytes.Equal(committed, made.Files[name]) {
			t.Errorf("%s is not what the program makes%s", name, remedy)
		}
	}
}

func TestTheSameSeedMakesTheSameBytes(t *testing.T) {
	first, second := written(t), written(t)
	if !maps.EqualFunc(first.Files, second.Files, bytes.Equal) {
		t.Error("two runs from one seed differ")
	}
	scenario, err := Written()
	if err != nil {
		t.Fatal(err)
	}
	other, err := scenario.Make(scenario.Seed + 1)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(first.Files["readings-2026-03.csv"], other.Files["readings-2026-03.csv"]) {
		t.Error("two seeds make the same readings")
	}
	if !bytes.Equal(first.Files["pages.csv"], other.Files["pages.csv"]) {
		t.Error("the books themselves depend on the seed")
	}
}

// TestTheBooksReadBackAsTheyWereLaid holds the generator's own idea of each
// page, made without the codex room, against what that room derives from the
// tables.
func TestTheBooksReadBackAsTheyWereLaid(t *testing.T) {
	made := written(t)
	dir := t.TempDir()
	if err := made.Fill(dir); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	at := func(name string) string { return filepath.Join(dir, name) }
	books := codex.Load(codex.Paths{Books: at("books.csv"), Leaves: at("leaves.csv"), Pages: at("pages.csv"), Sections: at("sections.csv")}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	features := codex.Features(books)
	row := 0
	for _, book := range made.Books {
		for _, p := range book.Pages {
			want := map[string]string{"book": book.ID, "page": p.Label, "section": p.Section, "kind": p.Kind, "set": p.Set,
				"office": p.Office, "picture": yes(p.Picture), "incipit": yes(p.Incipit), "blank": yes(p.Blank),
				"quire": p.quire, "half": p.Half, "subject": p.Subject}
			for column, label := range want {
				if got := features.Column(column).Label(row); got != label {
					t.Errorf("%s %s, %s: the book says %q, the truth %q", book.ID, p.Label, column, got, label)
				}
			}
			if got := features.Column("facing").Label(row); got != yes(p.Facing) && (got != "" || p.Facing) {
				t.Errorf("%s %s, facing: the book says %q, the truth %q", book.ID, p.Label, got, yes(p.Facing))
			}
			row++
		}
	}
	if row != features.Rows() {
		t.Errorf("the truth has %d pages, the books %d", row, features.Rows())
	}
}

// TestTheDemoHasWhatItIsToShow counts the oddities that the study is there to
// show.
func TestTheDemoHasWhatItIsToShow(t *testing.T) {
	made := written(t)
	var pages, worn, low int
	for _, book := range made.Books {
		pages += len(book.Pages)
		for _, p := range book.Pages {
			if p.Wear > 0.9 {
				worn++
			}
			if p.Wear <= 0.002 {
				low++
			}
		}
	}
	if pages < 580 || pages > 640 {
		t.Errorf("%d pages; the demonstration has about 600", pages)
	}
	if worn != 1 {
		t.Errorf("%d pages are worn beyond the pocket instrument's ceiling; want 1", worn)
	}
	if low > pages/100 {
		t.Errorf("%d pages lie at the least wear; the truth is not what it says", low)
	}
	log := string(made.Files["readings-2026-03.csv"]) + string(made.Files["readings-2026-05.csv"])
	for what, sign := range map[string]string{
		"a reading at the floor": ",0.00,", "a reading at the ceiling": ",0.90,", "a darkest spot": ",darkest,5,",
		"an excluded reading": "slipped off", "a bis leaf": "33bis", "a flyleaf": ",iiv,", "a supplied folio": "[1]r"} {
		if !bytes.Contains([]byte(log), []byte(sign)) {
			t.Errorf("the log has no %s (%q)", what, sign)
		}
	}
	if n := bytes.Count(made.Files["leaves.csv"], []byte(",lost,")); n < 5 {
		t.Errorf("%d leaves are lost", n)
	}
}
