package intake_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"thumbed/models/study"
	"thumbed/models/study/intake"
)

// A workbook as it grew on a desk: a title above, parts over two observers each in merged
// cells, notes of what cannot be told, an empty row, a cell with a dash.
func messy(t *testing.T) string {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	f := excelize.NewFile()
	must(f.SetSheetName("Sheet1", "Durchsicht"))
	for k, row := range [][]any{
		{"Gebetbuch der Schwestern, Mai"},
		{},
		{"Seite", "Tag", "Gesicht", nil, "Hände", nil, "Wachstropfen", "Fingerabdruck (HB)", "Bemerkung"},
		{nil, nil, "HB", "SV", "HB", "SV"},
		{"1r", "12.5.2026", "stark", "mittel", "mittel", "mittel", 0, "x", "am Fenster"},
		{"2v", "12.5.2026", "leicht", "leicht", "? übermalt", "keine", 3},
		{},
		{"4r", "13.5.2026", "keine", nil, "leicht", "–", 12},
		{"7r", "13.5.2026", "keine", "keine", "?", nil, nil, "x"},
	} {
		must(f.SetSheetRow("Durchsicht", fmt.Sprintf("A%d", k+1), &row))
	}
	for _, area := range []string{"A3:A4", "B3:B4", "C3:D3", "E3:F3", "G3:G4", "H3:H4", "I3:I4"} {
		from, to, _ := strings.Cut(area, ":")
		must(f.MergeCell("Durchsicht", from, to))
	}
	file := filepath.Join(t.TempDir(), "durchsicht.xlsx")
	must(f.SaveAs(file))
	return file
}

// TestWideSheetOfLooks: a mapping proposed from such a workbook knows its columns, what it
// does not tell is asked for, and with that each cell is a look in one of its states.
func TestWideSheetOfLooks(t *testing.T) {
	file := messy(t)
	text, err := intake.Propose(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{`"Gesicht: HB" = { part = "gesicht", observer = "HB" }`, `"Hände: SV" = { part = "hände", observer = "SV" }`,
		`"Wachstropfen" = { trace = "wachstropfen", kind = "counts" }`, `"Fingerabdruck (HB)" = { trace = "fingerabdruck", observer = "HB" }`, `# book = "…"`, `# trace = "…"`} {
		if !strings.Contains(text, line) {
			t.Errorf("not proposed: %s\n%s", line, text)
		}
	}
	_, err = intake.Told{Set: map[string]string{"book": "Schwestern"}}.Sheet(file, "")
	for _, asked := range []string{"column Gesicht: HB, Gesicht: SV, Hände: HB, Hände: SV", "--set trace=rubbing"} {
		if err == nil || !strings.Contains(err.Error(), asked) {
			t.Errorf("not asked: %s\n%v", asked, err)
		}
	}
	words := filepath.Join(t.TempDir(), "words.toml")
	write := func(more string) {
		t.Helper()
		filled := strings.NewReplacer(`# book = "…"`, `book = "Schwestern"`, `# trace = "…"`, `trace = "Abrieb"`, `"Wachstropfen" = {`, `"Wachstropfen" = { observer = "HB",`,
			`"fingerabdruck", observer = "HB"`, `"fingerabdruck", observer = "HB", empty = "no"`).Replace(text) + more
		if err := os.WriteFile(words, []byte(filled), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("")
	if _, err := (intake.Told{}).Sheet(file, words); err == nil || !strings.Contains(err.Error(), `line 8, column Hände: SV: found "–"`) || !strings.Contains(err.Error(), "below [words.grade]") {
		t.Errorf("a dash is none of the three states: %v", err)
	}
	write("[words.grade]\n\"–\" = \"\"\n")
	made, err := intake.Told{}.Sheet(file, words)
	if err != nil {
		t.Fatal(err)
	}
	var looks bytes.Buffer
	if err := made.Tables[0].Table.Write(&looks); err != nil {
		t.Fatal(err)
	}
	const want = `trace,part,grade,count,present,unclear,observer,date,page,note,book
Abrieb,gesicht,stark,,,,HB,2026-05-12,1r,am Fenster,Schwestern
Abrieb,gesicht,mittel,,,,SV,2026-05-12,1r,am Fenster,Schwestern
Abrieb,hände,mittel,,,,HB,2026-05-12,1r,am Fenster,Schwestern
Abrieb,hände,mittel,,,,SV,2026-05-12,1r,am Fenster,Schwestern
wachstropfen,,,0,,,HB,2026-05-12,1r,am Fenster,Schwestern
fingerabdruck,,,,yes,,HB,2026-05-12,1r,am Fenster,Schwestern
Abrieb,gesicht,leicht,,,,HB,2026-05-12,2v,,Schwestern
Abrieb,gesicht,leicht,,,,SV,2026-05-12,2v,,Schwestern
Abrieb,hände,,,,übermalt,HB,2026-05-12,2v,,Schwestern
Abrieb,hände,keine,,,,SV,2026-05-12,2v,,Schwestern
wachstropfen,,,3,,,HB,2026-05-12,2v,,Schwestern
fingerabdruck,,,,no,,HB,2026-05-12,2v,,Schwestern
Abrieb,gesicht,keine,,,,HB,2026-05-13,4r,,Schwestern
Abrieb,hände,leicht,,,,HB,2026-05-13,4r,,Schwestern
wachstropfen,,,12,,,HB,2026-05-13,4r,,Schwestern
fingerabdruck,,,,no,,HB,2026-05-13,4r,,Schwestern
Abrieb,gesicht,keine,,,,HB,2026-05-13,7r,,Schwestern
Abrieb,gesicht,keine,,,,SV,2026-05-13,7r,,Schwestern
Abrieb,hände,,,,no reason in the spreadsheet,HB,2026-05-13,7r,,Schwestern
fingerabdruck,,,,yes,,HB,2026-05-13,7r,,Schwestern
`
	if diff := cmp.Diff(want, looks.String()); diff != "" {
		t.Error(diff)
	}
	if said := made.Account.String(); !strings.Contains(said, "4 rows, as 20 looks, 2 of which cannot tell") || !strings.Contains(said, "4 empty cells: nobody looked") {
		t.Error(said)
	}
}

// TestObserversSideBySide: the reliability data of four observers and twelve units, some
// missing, of Krippendorff (2011, Computing Krippendorff's alpha-reliability, example C),
// laid out as published, a row a unit and a column an observer: alpha of grades is 0.815
// (from memory; see traces/agreement_test.go).
func TestObserversSideBySide(t *testing.T) {
	const sheet = "Folio,A,B,C,D\n1r,1,1,,1\n1v,2,2,3,2\n2r,3,3,3,3\n2v,3,3,3,3\n3r,2,2,2,2\n3v,1,2,3,4\n4r,4,4,4,4\n4v,1,1,2,1\n5r,2,2,2,2\n5v,,5,5,5\n6r,,,1,1\n6v,,,3,\n"
	file, dir := filepath.Join(t.TempDir(), "units.csv"), filepath.Join(t.TempDir(), "mine")
	if err := os.WriteFile(file, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	made, err := intake.Told{Set: map[string]string{"book": "Codex", "trace": "rubbing", "date": "2026-05-01"}}.Sheet(file, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := made.Write(dir); err != nil {
		t.Fatal(err)
	}
	seen := seenIn(t, dir)
	if a := seen.Agreement[0]; math.Abs(a.Alpha.Value-0.815) > 0.0005 || len(a.Pairs) != 6 {
		t.Errorf("alpha %v of %d pairs", a.Alpha.Value, len(a.Pairs))
	}
}

// TestLooksIntoAStudy: a sheet of looks goes into a study that has a coding book, whose
// names of traces, parts and grades its own words become, and a look that is there already
// is told.
func TestLooksIntoAStudy(t *testing.T) {
	dir, file := t.TempDir(), filepath.Join(t.TempDir(), "looks.csv")
	for name, text := range map[string]string{
		"study.toml": "title = \"Looks\"\n[tables]\nbooks = \"books.csv\"\nleaves = \"leaves.csv\"\npages = \"pages.csv\"\nsections = \"sections.csv\"\ntraces = [\"traces.csv\"]\n" +
			"[[trace]]\nname = \"rubbing\"\nabout = \"paint gone\"\nkind = \"grades\"\nparts = [\"face\", \"hands\"]\ngrades = [{ name = \"intact\", about = \"none\" }, { name = \"bare\", about = \"all\" }]\n" +
			"[[trace]]\nname = \"wax\"\nabout = \"candle wax\"\nkind = \"counts\"\none = \"a drop\"\n",
		"books.csv": "book\nArdel\n", "leaves.csv": "book,leaf\nArdel,1\nArdel,2\n", "pages.csv": "book,page,picture\nArdel,1r,yes\n", "sections.csv": "book,section,kind,extent\n",
		"traces.csv": "book,page,part,trace,grade,count,unclear,observer,date\nArdel,1r,face,rubbing,bare,,,HB,2026-05-11\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put := func(text string) (*intake.Addition, error) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return intake.Into{Study: dir, File: file, Set: map[string]string{"trace": "rubbing"}}.Prepare()
	}
	if _, err := put("Page,Date,Coder,Face,Hands\n1r,2026-05-11,HB,Bare,\n"); err == nil || !strings.Contains(err.Error(), "one look of an observer at a thing on a day") {
		t.Errorf("a look that is there already: %v", err)
	}
	added, err := put("Page,Date,Coder,Face,Hands,Wax\n1r,2026-06-01,MT,Bare,? repainted,2\n2v,2026-06-01,MT,INTACT,intact,0\n")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := added.Save(time.Date(2026, 6, 2, 0, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	s, err := study.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Looks.All) != 7 || added.Looked != 6 {
		t.Errorf("%d looks, of which %d were added", len(s.Looks.All), added.Looked)
	}
	var said []string
	for _, st := range s.Looks.States() {
		said = append(said, fmt.Sprintf("%s %s: %d there, %d nothing, %d unclear", st.Trace, st.Part, st.There, st.Nothing, st.Unclear))
	}
	if diff := cmp.Diff([]string{"rubbing face: 1 there, 1 nothing, 0 unclear", "rubbing hands: 0 there, 1 nothing, 1 unclear", "wax : 1 there, 1 nothing, 0 unclear"}, said); diff != "" {
		t.Error(diff)
	}
}
