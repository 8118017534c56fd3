package intake_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/study/intake"
	"thumbed/models/table"
)

const (
	record   = "../../codex/tei/testdata/alder.xml"
	manifest = "../../codex/iiif/testdata/version3.json"
)

// listing is what a folder holds, and nothing else.
func listing(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return strings.Join(names, " ")
}

// Catalogue records and manifests become folders of tables that load.
func TestWriteBooks(t *testing.T) {
	for name, read := range map[string]func() (*intake.Import, error){
		"TEI":  func() (*intake.Import, error) { return intake.TEI(record) },
		"IIIF": func() (*intake.Import, error) { return intake.IIIF(manifest) },
	} {
		t.Run(name, func(t *testing.T) {
			made, err := read()
			if err != nil {
				t.Fatal(err)
			}
			parent := t.TempDir()
			dir := filepath.Join(parent, "tables")
			if err := made.Write(dir); err != nil {
				t.Fatal(err)
			}
			const want = "books.csv books.schema.json import.txt imported instruments.csv instruments.schema.json leaves.csv leaves.schema.json pages.csv pages.schema.json readings.csv readings.schema.json sections.csv sections.schema.json study.toml"
			if got := listing(t, dir); got != want || listing(t, parent) != "tables" {
				t.Errorf("the folder holds %s, and the one around it %s", got, listing(t, parent))
			}
			var ps table.Problems
			at := func(file string) string { return filepath.Join(dir, file) }
			books := codex.Load(codex.Paths{Books: at("books.csv"), Leaves: at("leaves.csv"), Pages: at("pages.csv"), Sections: at("sections.csv")}, &ps)
			if err := ps.Err(); err != nil || len(books) != 1 || len(books[0].Sections) == 0 {
				t.Fatalf("%v: %d books", err, len(books))
			}
			account, err := os.ReadFile(at(intake.AccountFile))
			if err != nil || !strings.Contains(string(account), "Left, for you to look at") {
				t.Errorf("%v: %s", err, account)
			}
			if err := made.Write(dir); err == nil || !strings.Contains(err.Error(), "is there already") {
				t.Errorf("a second time: %v", err)
			}
		})
	}
}

// A study's own tables, kept in a workbook, come in as they are.
func TestWorkbookOfAStudy(t *testing.T) {
	tables := map[string]string{
		"books":     "book,title,material\nalder,The Alderwick Hours,parchment\n",
		"Lagen":     "book,leaf,quire\nalder,1,1\nalder,2,1\n",
		"sections":  "book,section,kind,extent\nalder,Litany,litany,ff. 1r–2r\n",
		"Messungen": "book,page,date,time,instrument,target,density\nalder,1r,2026-03-09,14:05,one,page,0.31\n",
		"Zettel":    "Notiz,Wer\nmehr Licht,MT\n",
	}
	f := excelize.NewFile()
	for name, text := range tables {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
			row := strings.Split(line, ",")
			cell, err := excelize.CoordinatesToCellName(1, i+1)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.SetSheetRow(name, cell, &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	dir := t.TempDir()
	file, words := filepath.Join(dir, "study.xlsx"), filepath.Join(dir, "words.toml")
	if err := f.SaveAs(file); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(words, []byte("[sheets]\nLagen = \"leaves\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	made, err := intake.Told{}.Sheet(file, words)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, tb := range made.Tables {
		var b bytes.Buffer
		if err := tb.Table.Write(&b); err != nil {
			t.Fatal(err)
		}
		got[tb.Name] = b.String()
	}
	want := map[string]string{"books.csv": tables["books"], "leaves.csv": tables["Lagen"], "sections.csv": tables["sections"], "readings.csv": tables["Messungen"]}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if text := made.Account.String(); !strings.Contains(text, "sheet Zettel: it is not known which table of a study it is") {
		t.Error(text)
	}
}

func TestLogInTheScholarsWords(t *testing.T) {
	made, err := intake.Told{}.Sheet("testdata/log.csv", "testdata/words.toml")
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := made.Tables[0].Table.Write(&b); err != nil {
		t.Fatal(err)
	}
	want := "page,date,instrument,target,density,Bemerkung,book,time\n1r,2026-03-09,eins,page,0.31,ruhig,alder,14:05\n1r,2026-03-09,eins,zero,0.05,,alder,14:05\n"
	if made.Tables[0].Name != "readings.csv" || b.String() != want {
		t.Errorf("%s: %s", made.Tables[0].Name, cmp.Diff(want, b.String()))
	}
}

// A book that the mapping gives to all rows is not given to readings of the tile,
// which are of none.
func TestTilesAreOfNoBook(t *testing.T) {
	dir := t.TempDir()
	log, words := filepath.Join(dir, "log.csv"), filepath.Join(dir, "words.toml")
	for path, text := range map[string]string{
		log:   "page;date;time;target;density\n;2026-03-09;14:05;tile;0,16\n1r;2026-03-09;14:06;zero;0.05\n1r;2026-03-09;14:07;page;0,35\n",
		words: "[constant]\nbook = \"alder\"\ninstrument = \"one\"\nspot = \"fixed\"\nfloor = \"0\"\n",
	} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	made, err := intake.Told{}.Sheet(log, words)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := made.Tables[0].Table.Write(&b); err != nil {
		t.Fatal(err)
	}
	want := "page,date,time,target,density,book,instrument,spot\n,2026-03-09,14:05,tile,0.16,,one,\n1r,2026-03-09,14:06,zero,0.05,alder,one,\n1r,2026-03-09,14:07,page,0.35,alder,one,fixed\n"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Error(diff)
	}
}

// What cannot be imported, and what is said of it; nothing is written.
func TestBroken(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	sheet := func(text, words string) func() (*intake.Import, error) {
		return func() (*intake.Import, error) {
			mapping := ""
			if words != "" {
				mapping = put("words.toml", words)
			}
			return intake.Told{}.Sheet(put("log.csv", text), mapping)
		}
	}
	for _, test := range []struct {
		name string
		read func() (*intake.Import, error)
		want string
	}{
		{"no file", func() (*intake.Import, error) { return intake.TEI(filepath.Join(dir, "none.xml")) }, "expected a file that can be read; check its name and permissions"},
		{"a folder without any", func() (*intake.Import, error) { return intake.IIIF(dir) }, "expected a folder of records"},
		{"a device", func() (*intake.Import, error) { return intake.Told{}.Sheet("/dev/zero", "") }, "expected a file; name the file itself, not a folder or a device"},
		{"a book without leaves", func() (*intake.Import, error) { return intake.TEI(put("a.xml", "<msDesc><head>x</head></msDesc>")) }, `found "no leaf of any book"; expected a count of leaves, a collation, or the place of a text or picture`},
		{"no table", sheet("x,y\n1,2\n", ""), `found "no table of a study"; expected a sheet that is one of books, leaves, pages, sections, instruments, readings`},
		{"a table of no kind", sheet("x,y\n1,2\n", "[sheets]\nlog = \"leavs\"\n"), `words.toml, column sheets.log: found "leavs"; expected one of books, leaves, pages, sections, instruments, readings, traces; write leaves.`},
		{"a constant of no table", sheet("x,y\n1,2\n", "[constant]\nbok = \"a\"\n"), `words.toml, column constant.bok: found "bok"; expected a column that a table of a study has; write book, if that is meant.`},
		{"a mapping that is not there", func() (*intake.Import, error) {
			return intake.Told{}.Sheet(put("b.csv", "a,b\n1,2\n"), filepath.Join(dir, "no.toml"))
		}, "no.toml: found \"no.toml\"; expected a file that can be read"},
		{"a cell that is no number", sheet("book,page,date,time,instrument,target,density\na,1r,2026-03-09,14:05,one,page,dark\n", ""), `log.csv, line 2, column density: found "dark"; expected a number with a decimal point`},
		{"a day in another order", sheet("book,page,date,time,instrument,target,density\na,1r,9.3.2026,14:05,one,page,0.3\n", ""), `column date: found "9.3.2026"; expected a date such as 2026-03-09; write 2026-03-09, if the day stands first.`},
		{"a day in an order untold", sheet("book,page,date,time,instrument,target,density\na,1r,9.3.2026,14:05,one,page,0.3\n", ""), `dates=day-month-year, or month-day-year`},
	} {
		t.Run(test.name, func(t *testing.T) {
			if made, err := test.read(); err == nil || made != nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("%v", err)
			}
		})
	}
}

// Tables of a book that are changed at random either come in sound or are
// refused, and no import leaves a folder behind that it did not finish.
func TestCutShort(t *testing.T) {
	data, err := os.ReadFile(record)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		file := filepath.Join(dir, "record.xml")
		if err := os.WriteFile(file, data[:rapid.IntRange(0, len(data)-9).Draw(t, "cut")], 0o600); err != nil {
			t.Fatal(err)
		}
		if made, err := intake.TEI(file); err == nil || made != nil {
			t.Fatal("a record that is cut short is imported")
		}
	})
	if got := listing(t, dir); got != "record.xml" {
		t.Errorf("the folder holds %s", got)
	}
}
