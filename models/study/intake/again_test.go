package intake

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// library writes the record of an invented book as the library has it, with words
// exchanged.
func library(t *testing.T, dir, name string, exchanged ...string) string {
	t.Helper()
	text, err := os.ReadFile("../../codex/tei/testdata/alder.xml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, []byte(strings.NewReplacer(exchanged...).Replace(string(text))), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// edit exchanges words in a file of the study, as its scholar would.
func edit(t *testing.T, path, before, after string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil || !strings.Contains(string(text), before) {
		t.Fatalf("%q is not in %s: %v", before, path, err)
	}
	if err := os.WriteFile(path, []byte(strings.Replace(string(text), before, after, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// A record that the library has changed since: what the scholar edited stays, what
// the library changed is taken, and what both changed is told.
func TestAgain(t *testing.T) {
	records, mine := t.TempDir(), filepath.Join(t.TempDir(), "mine")
	made, err := TEI(library(t, records, "a.xml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := made.Write(mine); err != nil {
		t.Fatal(err)
	}
	edit(t, filepath.Join(mine, "sections.csv"), "Litany,litany", "Litany,litany of my own")
	edit(t, filepath.Join(mine, "sections.csv"), "ff. 7r–13v", "ff. 7r–12v")
	edit(t, filepath.Join(mine, "pages.csv"), "ms-alder-7,13v,yes,Visitation,\n", "ms-alder-7,13v,yes,Visitation,\nms-alder-7,20r,yes,a picture of mine,\n")
	again, err := TEI(library(t, records, "a.xml", `from="7r" to="13v">fols. 7r–13v`, `from="7r" to="13r">fols. 7r–13r`, "Nativity", "The Nativity",
		`<locus from="1r" to="6v">fols. 1r–6v</locus>`, `<locus from="1r" to="5v">fols. 1r–5v</locus>`, `<msItem n="6"`, `<msItem><locus>40r-40v</locus><title>Charm</title></msItem><msItem n="6"`,
		`<item><locus>fol. 13v</locus> Visitation</item>`, ``))
	if err != nil {
		t.Fatal(err)
	}
	update, err := Again(mine, again)
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, change := range update.Changes {
		told = append(told, change.String())
	}
	want := []string{
		"pages.csv, ms-alder-7 13v: no longer in the library's record; taken out",
		"pages.csv, ms-alder-7 21r, subject: “Nativity” is now “The Nativity”",
		"sections.csv, ms-alder-7 Calendar, extent: “ff. 1r–6v” is now “ff. 1r–5v”",
		"sections.csv, ms-alder-7 Matins of the Virgin, extent: you have “ff. 7r–12v”; the library had “ff. 7r–13v” and now has “ff. 7r–13r”: yours stays",
		"sections.csv, ms-alder-7 Charm: new in the library's record",
	}
	if diff := cmp.Diff(want, told); diff != "" {
		t.Fatal(diff)
	}
	former, err := update.Save(time.Date(2026, 3, 9, 14, 5, 0, 0, time.UTC))
	if err != nil || filepath.Base(former) != "2026-03-09-140500" {
		t.Fatal(former, err)
	}
	for _, held := range []struct{ file, words string }{
		{"sections.csv", "Litany,litany of my own"}, {"sections.csv", "ff. 7r–12v"}, {"sections.csv", "ff. 1r–5v"}, {"sections.csv", "Charm"}, {"pages.csv", "a picture of mine"}, {"pages.csv", "The Nativity"},
		{filepath.Join(former, "sections.csv"), "ff. 1r–6v"},
	} {
		path := held.file
		if !filepath.IsAbs(path) {
			path = filepath.Join(mine, path)
		}
		if text, err := os.ReadFile(path); err != nil || !strings.Contains(string(text), held.words) {
			t.Errorf("%s lacks %q: %v", held.file, held.words, err)
		}
	}
	// Once more without a change: nothing is to be taken.
	update, err = Again(mine, again)
	if err != nil || len(update.Changes) != 0 {
		t.Errorf("%v: %v", err, update.Changes)
	}
}

// A folder of records makes one study of all their books; what is no record is left.
func TestFolderOfRecords(t *testing.T) {
	dir := t.TempDir()
	library(t, dir, "a.xml")
	library(t, dir, "b.xml", "MS_Alder_7", "MS_Alder_8")
	library(t, dir, "same.xml")
	if err := os.WriteFile(filepath.Join(dir, "none.xml"), []byte("<TEI/>"), 0o644); err != nil {
		t.Fatal(err)
	}
	made, err := TEI(dir)
	if err != nil {
		t.Fatal(err)
	}
	var books []string
	for i := range made.Tables[0].Table.Rows() {
		books = append(books, made.Tables[0].Table.Column("book").Label(i))
	}
	if diff := cmp.Diff([]string{"ms-alder-7", "ms-alder-8", "ms-alder-7-2"}, books); diff != "" {
		t.Error(diff)
	}
	if told := made.Account.String(); !strings.Contains(told, "none.xml, line 1: the file: found") || !strings.Contains(told, "b.xml, line 18: the text “Calendar”") {
		t.Error(told)
	}
	if _, err := TEI(t.TempDir()); err == nil || !strings.Contains(err.Error(), "no .xml file") {
		t.Error(err)
	}
}
