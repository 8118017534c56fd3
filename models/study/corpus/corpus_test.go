package corpus_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"thumbed/models/codex"
	"thumbed/models/hypotheses"
	"thumbed/models/report"
	"thumbed/models/report/chapter/chaptertest"
	"thumbed/models/report/reporttest"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/corpus/corpustest"
	"thumbed/models/table"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// makeCorpus makes a corpus of small books and says what is asked of them.
func makeCorpus(t testing.TB, books int, file string) string {
	t.Helper()
	dir := t.TempDir()
	must(t, corpustest.Plan{Books: books, Leaves: 56, Early: 0.4, Seed: 3}.Make(dir))
	write(t, filepath.Join(dir, corpus.FileName), file)
	return dir
}

func write(t testing.TB, path, text string) {
	t.Helper()
	must(t, os.WriteFile(path, []byte(text), 0o644))
}

// edit changes a file of a book's folder.
func edit(t testing.TB, dir string, book int, name string, change func(string) string) {
	t.Helper()
	path := filepath.Join(dir, corpustest.Folder(book), name)
	text, err := os.ReadFile(path)
	must(t, err)
	write(t, path, change(string(text)))
}

// run runs the corpus in dir; incomplete is what it says is missing.
func run(t testing.TB, dir string) (results *report.Corpus, incomplete *study.Incomplete) {
	t.Helper()
	c, err := corpus.Open(dir)
	must(t, err)
	results, err = c.Run(nil)
	if err != nil && !errors.As(err, &incomplete) {
		t.Fatal(err)
	}
	return results, incomplete
}

func numbers(t testing.TB, results *report.Corpus) []byte {
	t.Helper()
	text, err := results.JSON()
	must(t, err)
	return text
}

// without is a table without the rows that hold a word.
func without(text, word string) string {
	var kept []string
	for _, line := range strings.SplitAfter(text, "\n") {
		if !strings.Contains(line, word) {
			kept = append(kept, line)
		}
	}
	return strings.Join(kept, "")
}

// broken is a corpus of thirty folders of which some are broken, each in its way.
func broken(t testing.TB) string {
	dir := makeCorpus(t, 30, corpustest.Head+corpustest.Pictures)
	edit(t, dir, 2, "readings.csv", func(s string) string {
		lines := strings.SplitAfter(s, "\n")
		lines[5] = strings.Replace(lines[5], "bench", "bensh", 1)
		lines[9] = strings.Replace(lines[9], ",2026-", ",2026/", 1)
		return strings.Join(lines, "")
	})
	must(t, os.Remove(filepath.Join(dir, corpustest.Folder(6), "leaves.csv")))
	edit(t, dir, 10, "readings.csv", func(s string) string { return without(s, ",tile,") })
	edit(t, dir, 14, "sections.csv", func(s string) string { return strings.Replace(s, "ff. 1r", "ff. 1x", 1) })
	edit(t, dir, 18, "readings.csv", func(s string) string { // only two pages are left
		return strings.Join(slices.Concat(strings.SplitAfter(s, "\n")[:12], strings.SplitAfter(s, "\n")[len(strings.SplitAfter(s, "\n"))-4:]), "")
	})
	folder := filepath.Join(dir, corpustest.Folder(22))
	must(t, os.RemoveAll(folder))
	must(t, os.Mkdir(folder, 0o755))
	for _, name := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "readings.csv"} {
		edit(t, dir, 26, name, func(s string) string {
			return strings.ReplaceAll(s, corpustest.Name(26), corpustest.Name(25))
		})
	}
	return dir
}

func TestFailuresAreToldAndTheRestStands(t *testing.T) {
	dir := broken(t)
	results, incomplete := run(t, dir)
	if incomplete == nil {
		t.Fatal("nothing is said to be missing")
	}
	told := map[string][]string{}
	for _, f := range results.Failures {
		told[f.Folder] = append(told[f.Folder], f.Stage+": "+f.Line())
		if f.Problem == "" || f.Stage != "profile" && f.Stage != "wear" && f.Remedy == "" {
			t.Errorf("no problem or no remedy: %+v", f)
		}
	}
	for book, want := range map[int][]string{
		2:  {"tables: ", "line 6, column instrument", "bensh", "line 10, column date"},
		6:  {"tables: ", "leaves.csv"},
		10: {"wear: ", "tile"},
		14: {"tables: ", "sections.csv, line 2, column extent", "1x"},
		18: {"profile: ", "at least 4"},
		22: {"tables: ", "books.csv", "leaves.csv", "a table of readings in the folder"},
		25: {"names: ", corpustest.Folder(26)},
		26: {"names: ", corpustest.Folder(25)},
	} {
		said := strings.Join(told[corpustest.Folder(book)], "\n")
		for _, w := range want {
			if !strings.Contains(said, w) {
				t.Errorf("%s: nothing is said of %q:\n%s", corpustest.Folder(book), w, said)
			}
		}
		delete(told, corpustest.Folder(book))
	}
	if len(told) > 0 {
		t.Errorf("sound folders are said to have failed: %v", told)
	}
	if said := incomplete.Error(); !strings.Contains(said, "5 of 30") || !strings.Contains(said, "of 3") {
		t.Errorf("said on standard error:\n%s", said)
	}
	if results.Folders != 30 || len(results.Books) != 30-5-2 {
		t.Errorf("%d books of %d folders", len(results.Books), results.Folders)
	}
	if len(results.Models) != 1 || results.Models[0].Fit == nil || len(results.Answers) != 1 || results.Answers[0].Verdict != "yes" {
		t.Errorf("the model and its answer: %+v", results.Models)
	}
	if results.Compared.Readers < 20 {
		t.Errorf("%d readers are compared: %s", results.Compared.Readers, results.Compared.Refused)
	}
}

// The model over the books of many folders is that of their pages together, to
// the last digit.
func TestModelIsThatOfAllPages(t *testing.T) {
	const books = 5
	dir := makeCorpus(t, books, corpustest.Head+corpustest.Pictures)
	results, incomplete := run(t, dir)
	if incomplete != nil {
		t.Fatal(incomplete)
	}
	tables := study.Tables{Books: "books.csv", Leaves: "leaves.csv", Pages: "pages.csv", Sections: "sections.csv", Instruments: "../../instruments.csv", Readings: []string{"readings.csv"}}
	text, number := map[string][]string{}, map[string][]float64{}
	for i := range books {
		s, err := study.OpenTables(filepath.Join(dir, corpustest.Folder(i)), tables, study.Measuring{Drift: "offset", Solid: 1.5}, nil)
		must(t, err)
		data, err := s.Data()
		must(t, err)
		for _, name := range []string{"book", "section", "quire", "kind", "picture"} {
			text[name] = append(text[name], data.Column(name).Text()...)
		}
		number["wear"] = append(number["wear"], data.Column("wear").Numbers...)
	}
	all := &table.Table{}
	for name, cells := range text {
		must(t, all.Add(table.Labels(name, cells)))
	}
	must(t, all.Add(table.Numbers("wear", number["wear"])))
	model := results.Models[0].Model
	want, err := model.Fit(all)
	must(t, err)
	hypotheses.LeftOut(model, want, all, nil)
	if got := results.Models[0].Fit; !reflect.DeepEqual(got.Fixed, want.Fixed) || !reflect.DeepEqual(got.Random, want.Random) || got.LogLik != want.LogLik {
		t.Errorf("the corpus has %+v; its pages together %+v", got.Fixed, want.Fixed)
	}
}

// A corpus of one folder is a study of the same tables.
func TestOneFolderIsAStudy(t *testing.T) {
	const each = `
[[model]]
name    = "evening"
each    = "book"
outcome = "wear"
fixed   = ["office_order"]

[[question]]
words     = "Does reading fall away from each office to the next?"
model     = "evening"
contrast  = { "office_order" = 1 }
direction = "less"
`
	const books = 3
	dir := makeCorpus(t, books, strings.Replace(corpustest.Head, `"books/*"`, `"shelf"`, 1)+corpustest.Pictures+each)
	shelf := filepath.Join(dir, "shelf")
	must(t, os.Mkdir(shelf, 0o755))
	for _, name := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "readings.csv"} {
		var all string
		for i := range books {
			text, err := os.ReadFile(filepath.Join(dir, corpustest.Folder(i), name))
			must(t, err)
			head, body, _ := strings.Cut(string(text), "\n")
			if i == 0 {
				all = head + "\n"
			}
			if name == "readings.csv" { // each book on days of its own
				body = strings.ReplaceAll(body, "2026-03-", fmt.Sprintf("2026-%02d-", 3+i))
			}
			all += body
		}
		write(t, filepath.Join(shelf, name), all)
	}
	write(t, filepath.Join(shelf, study.FileName), `title = "a shelf"
[tables]
books = "books.csv"
leaves = "leaves.csv"
pages = "pages.csv"
sections = "sections.csv"
instruments = "../instruments.csv"
readings = ["readings.csv"]
[measuring]
drift = "offset"
`+corpustest.Pictures+each)
	got, incomplete := run(t, dir)
	if incomplete != nil {
		t.Fatal(incomplete)
	}
	s, err := study.Open(shelf)
	must(t, err)
	want, err := s.Run(nil)
	must(t, err)
	if !reflect.DeepEqual(got.Answers, want.Answers) {
		t.Errorf("answers %+v; in the study %+v", got.Answers, want.Answers)
	}
	if len(got.Models) != 1+2*books || len(want.Models) != len(got.Models) { // each book's with texts added too
		t.Fatalf("%d models", len(got.Models))
	}
	for i := range want.Models {
		a, b := got.Models[i], want.Models[i]
		if a.Name != b.Name || a.Book != b.Book || !reflect.DeepEqual(a.Fit.Fixed, b.Fit.Fixed) || !reflect.DeepEqual(a.Fit.Random, b.Fit.Random) {
			t.Errorf("model %s in %q: %+v; in the study %s in %q: %+v", a.Name, a.Book, a.Fit.Fixed, b.Name, b.Book, b.Fit.Fixed)
		}
	}
	for i, r := range got.Readers {
		if carried := want.Books[r.Book].Declines[0]; !reflect.DeepEqual(r.Offices, carried.Offices) {
			t.Errorf("reader %d: %+v; in the study %+v", i, r.Offices, carried.Offices)
		}
		if profile := want.Books[r.Book].Profile; got.Books[r.Book].Scatter != profile.Curve.Scatter || got.Books[r.Book].Picture != profile.Curve.Picture {
			t.Errorf("book %s: %+v", got.Books[r.Book].ID, got.Books[r.Book])
		}
	}
}

func TestResultsDependOnNeitherOrderNorProcessors(t *testing.T) {
	dir := makeCorpus(t, 14, corpustest.Head+corpustest.Pictures)
	first, _ := run(t, dir)
	var patterns []string
	for i := 13; i >= 0; i-- {
		patterns = append(patterns, fmt.Sprintf("%q", corpustest.Folder(i)))
	}
	write(t, filepath.Join(dir, corpus.FileName), strings.Replace(corpustest.Head, `"books/*"`, strings.Join(patterns, ", ")+`, "books/Veldermond-00*"`, 1)+corpustest.Pictures)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	second, _ := run(t, dir)
	if !bytes.Equal(numbers(t, first), numbers(t, second)) {
		t.Error("the numbers change with the order of folders or the number of processors")
	}
}

// Pieces that were written, and read again elsewhere, make the same results.
func TestPiecesSurviveTheFileOfAPart(t *testing.T) {
	dir := makeCorpus(t, 6, corpustest.Head+corpustest.Pictures+strings.ReplaceAll(strings.ReplaceAll(corpustest.Pictures, "pictures", "one by one"), "name  ", "each = \"book\"\nname  "))
	edit(t, dir, 3, "sections.csv", func(s string) string { return strings.Replace(s, "ff. 1r", "ff. 1x", 1) })
	text, err := os.ReadFile(filepath.Join(dir, corpus.FileName))
	must(t, err)
	write(t, filepath.Join(dir, corpus.FileName), strings.ReplaceAll(strings.ReplaceAll(string(text), "[[model.random]]\nby    = \"book\"\nterms = [\"intercept\"]\n", ""), `by    = ["book", "quire"]`, `by    = "quire"`))
	at, incomplete := run(t, dir)
	if incomplete == nil {
		t.Fatal("nothing is said to be missing")
	}
	c, err := corpus.Open(dir)
	must(t, err)
	var pieces []corpus.Piece
	for i := range 6 {
		part := c.Pieces(5-i, 6-i, nil)
		text, err := json.Marshal(part[0])
		must(t, err)
		var again corpus.Piece
		must(t, json.Unmarshal(text, &again))
		pieces = append(pieces, again)
	}
	apart, err := c.Finish(pieces, nil)
	if err == nil || err.Error() != incomplete.Error() {
		t.Errorf("missing apart: %v; at once: %v", err, incomplete)
	}
	if a, b := numbers(t, at), numbers(t, apart); !bytes.Equal(a, b) {
		t.Errorf("the numbers differ:\n%s\n%s", firstDifference(a, b), firstDifference(b, a))
	}
}

func firstDifference(a, b []byte) string {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return string(a[max(0, i-200):min(len(a), i+100)])
		}
	}
	return fmt.Sprintf("%d and %d bytes", len(a), len(b))
}

// A piece that does not hold together is refused.
func TestBrokenPiecesAreRefused(t *testing.T) {
	for name, spoil := range corpus.Spoils {
		text, err := json.Marshal(corpus.Spoilt(spoil))
		must(t, err)
		var p corpus.Piece
		if err := json.Unmarshal(text, &p); (err == nil) != (name == "nothing") {
			t.Errorf("%s spoilt: %v", name, err)
		}
	}
}

// A fault of the program in one folder is told like any other.
func TestPanicsAreTold(t *testing.T) {
	dir := makeCorpus(t, 2, corpustest.Head+corpustest.Pictures)
	c, err := corpus.Open(dir)
	must(t, err)
	corpus.BreakFor(c)
	pieces := c.Pieces(0, 2, nil)
	if f := pieces[1].Failures; len(f) != 1 || f[0].Stage != "program" || !strings.Contains(f[0].Problem, "please report it") {
		t.Errorf("told: %+v", f)
	}
}

func TestCorpusFileIsReadStrictly(t *testing.T) {
	const sound = corpustest.Head + corpustest.Pictures
	cases := []struct {
		name, file string
		line       int
		says       string
	}{
		{"unknown key", "colour = 3\n" + sound, 1, "expected one of the keys"},
		{"no folders", strings.Replace(sound, "folders     = [\"books/*\"]\n", "", 1), 0, `write folders = ["books/*"]`},
		{"folders that are not there", strings.Replace(sound, "books/*", "shelves/*", 1), 5, "a pattern that names folders with books"},
		{"a way out", strings.Replace(sound, "books/*", "../*", 1), 5, "has no .. in it"},
		{"a bad pattern", strings.Replace(sound, "books/*", "books/[", 1), 5, "close each ["},
		{"no such instruments", strings.Replace(sound, "instruments.csv", "tools.csv", 1), 6, "a table of instruments for all folders"},
		{"no such column", strings.Replace(sound, `["picture", "kind"]`, `["pictures"]`, 1), 12, "perhaps picture was meant"},
		{"no such model", strings.Replace(sound, "model     = \"pictures\"", "model     = \"picture\"", 1), 0, `perhaps "pictures" was meant`},
		{"no such office", sound + "[readers]\noffices = [\"Matins\", \"Dawn\"]\n", 0, "from Matins to Compline"},
		{"one office", sound + "[readers]\noffices = [\"Matins\"]\n", 0, "two offices or more"},
		{"too few draws", sound + "[readers]\ndraws = 2\n", 0, "20 draws or more"},
		{"no readings", sound + "[tables]\nreadings = []\n", 0, `readings = ["readings*.csv"]`},
	}
	dir := makeCorpus(t, 1, sound)
	for _, c := range cases {
		write(t, filepath.Join(dir, corpus.FileName), c.file)
		_, err := corpus.Open(dir)
		var fault *table.Fault
		if !errors.As(err, &fault) {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		p := fault.Problems[0]
		if len(fault.Problems) != 1 || !strings.Contains(p.String(), c.says) || c.line > 0 && p.Line != c.line || p.Line == 0 && c.name != "no folders" {
			t.Errorf("%s: told %v", c.name, err)
		}
	}
	for _, at := range []string{filepath.Join(dir, "nowhere"), t.TempDir()} {
		if _, err := corpus.Open(at); err == nil || !strings.Contains(err.Error(), "corpus") {
			t.Errorf("opened %s: %v", at, err)
		}
	}
}

// All problems of a file are told at once.
func TestProblemsOfAFileAreToldAtOnce(t *testing.T) {
	dir := makeCorpus(t, 1, strings.Replace(corpustest.Head, "books/*", "/books", 1)+"colour = 1\n"+strings.Replace(corpustest.Pictures, `direction = "more"`, `direction = "up"`, 1))
	_, err := corpus.Open(dir)
	var fault *table.Fault
	if !errors.As(err, &fault) || len(fault.Problems) != 3 {
		t.Errorf("told: %v", err)
	}
}

func TestReadersOfTheScholarsChoice(t *testing.T) {
	dir := makeCorpus(t, 14, corpustest.Head+"[readers]\nset = \"of the Virgin\"\noffices = [\"Compline\", \"Matins\", \"Ad laudes\"]\nseed = 5\n")
	results, incomplete := run(t, dir)
	if incomplete != nil {
		t.Fatal(incomplete)
	}
	if want := []codex.Office{codex.Matins, codex.Lauds, codex.Compline}; !slices.Equal(results.Compared.Offices, want) || results.Compared.Readers < 12 {
		t.Errorf("compared: %+v", results.Compared)
	}
	for _, r := range results.Readers { // a book too little worn has no shape, and is told of
		if len(r.Shape) != 3 && r.Why == "" {
			t.Errorf("reader %+v", r)
		}
	}
	if g := results.Compared.Grouping; g == nil || g.Options.Seed != 5 {
		t.Errorf("grouped: %+v", g)
	}
	edit(t, dir, 0, "../../"+corpus.FileName, func(s string) string { return strings.Replace(s, "of the Virgin", "of the Cross", 1) })
	if results, _ = run(t, dir); !strings.Contains(results.Compared.Refused, "there are of the Virgin") {
		t.Errorf("refused: %s", results.Compared.Refused)
	}
}

// ranBroken runs a corpus of which something is missing, and writes its results.
func ranBroken(t *testing.T, dir string) (c *corpus.Corpus, results *report.Corpus, out string) {
	t.Helper()
	c, err := corpus.Open(dir)
	must(t, err)
	results, err = c.Run(nil)
	if err == nil {
		t.Fatal("nothing is missing")
	}
	out = filepath.Join(dir, "results")
	must(t, c.Write(results, out))
	return c, results, out
}

func TestWrittenAndRepeated(t *testing.T) {
	dir := broken(t)
	c, results, out := ranBroken(t, dir)
	reporttest.Folder(t, out)
	page, err := os.ReadFile(filepath.Join(out, "index.html"))
	must(t, err)
	for _, want := range []string{"Invented data", "What failed and why", "bensh", "Kaufman", corpustest.Name(0)} {
		if !bytes.Contains(page, []byte(want)) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, file := range []string{"figures/readers.svg", "figures/reader-groups.pdf", "figures/groups-gap.png", "tables/failures.csv", "tables/readers.schema.json", "results.json", "record.json"} {
		if _, err := os.Stat(filepath.Join(out, file)); err != nil {
			t.Error(err)
		}
	}
	again, err := corpus.Repeat(out, "", nil)
	must(t, err)
	if !again.Agrees() || len(again.Inputs) > 0 {
		t.Errorf("the same run again: %+v, %+v", again.Inputs, again.Comparison)
	}
	if _, err := study.Repeat(out, "", nil); err == nil || !strings.Contains(err.Error(), "corpus") {
		t.Errorf("repeated as a study: %v", err)
	}
	edit(t, dir, 0, "readings.csv", func(s string) string { return strings.Replace(s, "page,fixed,1,0.2", "page,fixed,1,0.3", 1) })
	again, err = corpus.Repeat(out, "", nil)
	must(t, err)
	if again.Agrees() || len(again.Inputs) != 1 || again.Inputs[0].Path != corpustest.Folder(0)+"/readings.csv" {
		t.Errorf("after a change: %+v", again.Inputs)
	}
	must(t, c.Write(results, out)) // its own results may be replaced …
	write(t, filepath.Join(out, "notes.txt"), "mine")
	if err := c.Write(results, out); err == nil { // … but not what somebody added
		t.Error("a folder with the scholar's notes was written over")
	}
}

// What runs wrote beside the books is not taken for books.
func TestOwnResultsAreNoBooks(t *testing.T) {
	dir := makeCorpus(t, 2, strings.Replace(corpustest.Head, `"books/*"`, `"books/*", "*"`, 1))
	for path, text := range map[string]string{"results/record.json": "{}", "parts/part-1-of-2.json": "{}", "more/books.csv": "book\n"} {
		must(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, path)), 0o755))
		write(t, filepath.Join(dir, path), text)
	}
	c, err := corpus.Open(dir)
	must(t, err)
	if want := []string{"books", corpustest.Folder(0), corpustest.Folder(1), "more"}; !slices.Equal(c.Folders, want) {
		t.Errorf("folders %q; expected %q", c.Folders, want)
	}
}

func FuzzOpen(f *testing.F) {
	f.Add(corpustest.Head + corpustest.Pictures)
	f.Add("folders = [\"[\"]\n[readers]\noffices = [\"Lauds\", \"Lauds\"]\n[[model]]\n")
	dir := f.TempDir()
	must(f, corpustest.Plan{Books: 1, Leaves: 56}.Make(dir))
	f.Fuzz(func(t *testing.T, text string) {
		write(t, filepath.Join(dir, corpus.FileName), text)
		if c, err := corpus.Open(dir); err == nil {
			for _, folder := range c.Folders {
				if !filepath.IsLocal(folder) {
					t.Errorf("the folder %s is not below the corpus", folder)
				}
			}
		}
	})
}

// A check tells of the folders what a run would, and of the models what it would
// stumble over, without a fit.
func TestCheckTellsWhatARunWould(t *testing.T) {
	dir := broken(t)
	results, _ := run(t, dir)
	c, err := corpus.Open(dir)
	must(t, err)
	found, err := c.Check(nil)
	must(t, err)
	if !reflect.DeepEqual(found.Failures, results.Failures) || len(found.Books) != len(results.Books) || found.Models != nil {
		t.Errorf("found %+v", found)
	}
	edit(t, dir, 0, "../../"+corpus.FileName, func(s string) string {
		return strings.Replace(s, `"prayer"]`, `"prayer", "suffrage"]`, 1) + `
[[model]]
name    = "evening"
each    = "book"
outcome = "wear"
fixed   = ["office_order", "language"]
only    = { set = ["of the Virgin"] }

[[question]]
words     = "Does reading fall away?"
model     = "evening"
contrast  = { "office_order" = 1 }
direction = "less"
`
	})
	c, err = corpus.Open(dir)
	must(t, err)
	_, err = c.Check(nil)
	var fault *table.Fault
	if !errors.As(err, &fault) {
		t.Fatalf("told: %v", err)
	}
	said := err.Error()
	for _, want := range []string{"suffrage", "column language", "line ", "and 14 more books", corpustest.Name(0)} {
		if !strings.Contains(said, want) {
			t.Errorf("nothing is said of %q:\n%s", want, said)
		}
	}
}

// A mistake in every row is told of the first rows, with how many more there are,
// and does not hide what is wrong in another table.
func TestOneMistakeDoesNotHideAnother(t *testing.T) {
	dir := makeCorpus(t, 1, corpustest.Head+corpustest.Pictures)
	edit(t, dir, 0, "readings.csv", func(s string) string { return strings.ReplaceAll(s, ",bench,", ",bensh,") })
	edit(t, dir, 0, "sections.csv", func(s string) string { return strings.Replace(s, "ff. 1r", "ff. 1x", 1) })
	results, _ := run(t, dir)
	n := len(results.Failures)
	if n < 3 || n > 15 || results.Failures[n-1].Place != corpustest.Folder(0)+"/sections.csv, line 2, column extent" || !strings.Contains(results.Failures[9].Remedy, "more times in this table") {
		t.Errorf("told: %+v", results.Failures)
	}
}

func TestStudiesAreNoCorpora(t *testing.T) {
	dir := makeCorpus(t, 1, corpustest.Head)
	for name, text := range map[string]string{"other.toml": corpustest.Head, "study.toml": "title = \"a study\"\n"} {
		write(t, filepath.Join(dir, name), text)
	}
	for path, want := range map[string]bool{"corpus.toml": true, "other.toml": true, "study.toml": false, "instruments.csv": false, "books": false, "none": false} {
		if is, err := corpus.Is(filepath.Join(dir, path)); is != want || err != nil {
			t.Errorf("%s: %v, %v", path, is, err)
		}
	}
	if _, err := corpus.Is(dir); err == nil || !strings.Contains(err.Error(), "give the path of the one") {
		t.Errorf("both in one folder: %v", err)
	}
	must(t, os.Remove(filepath.Join(dir, "study.toml")))
	if is, err := corpus.Is(dir); !is || err != nil {
		t.Errorf("the folder of a corpus: %v, %v", is, err)
	}
}

// What was sealed before the first reading is said to have been foreseen; what was
// read or changed before is not.
func TestSealedBeforeTheReadings(t *testing.T) {
	const books = 2
	dir := makeCorpus(t, books, corpustest.Head+corpustest.Pictures)
	move := func(from, to string) {
		for i := range books {
			folder := filepath.Join(dir, corpustest.Folder(i))
			must(t, os.Rename(filepath.Join(folder, from), filepath.Join(folder, to)))
		}
	}
	seal := filepath.Join(dir, study.SealName)
	for _, c := range []struct{ day, there, change, why string }{
		{"2026-02-01", "", "", ""},
		{"2026-02-01", "readings.csv", "", "in the log already"},
		{"2026-03-02", "", "", "before the day of the seal"},
		{"2026-02-01", "", "Do pictures", "not among those sealed"},
	} {
		move("readings.csv", "later.csv")
		if c.there != "" {
			move("later.csv", "readings.csv")
		}
		day, err := time.Parse(time.DateOnly, c.day)
		must(t, err)
		_, _, err = corpus.WriteSeal(dir, day)
		must(t, err)
		if c.there == "" {
			move("later.csv", "readings.csv")
		}
		edit(t, dir, 0, "../../"+corpus.FileName, func(s string) string { return strings.Replace(s, "Do pictures", "Did pictures", len(c.change)) })
		results, _ := run(t, dir)
		if a := results.Answers[0]; results.Seal == nil || a.Preregistration == nil || a.Preregistration.Preregistered != (c.why == "") || !strings.Contains(a.Preregistration.Why, c.why) {
			t.Errorf("%+v: %+v", c, a.Preregistration)
		}
		if methods, _ := results.Methods(); !strings.Contains(strings.Join(methods, " "), "were sealed on") {
			t.Error("the methods do not speak of the seal")
		}
		must(t, os.Remove(seal))
	}
}

// Folders as people leave them lying about fail in words, each by itself: nothing is
// followed round in circles, no device or pipe is read, and no name can play with a
// terminal.
func TestStrangeFolders(t *testing.T) {
	dir := makeCorpus(t, 5, corpustest.Head+corpustest.Pictures)
	books := filepath.Join(dir, "books")
	at := func(i int, name string) string { return filepath.Join(dir, corpustest.Folder(i), name) }
	for name, to := range map[string]string{"round": ".", "nowhere": "nowhere", "outside": "/proc"} {
		must(t, os.Symlink(to, filepath.Join(books, name)))
	}
	must(t, os.CopyFS(filepath.Join(books, "with\n\x1b[31mnewline"), os.DirFS(at(0, ""))))
	must(t, os.Symlink("/dev/zero", at(1, "readings-endless.csv")))
	must(t, os.Mkdir(at(2, "readings-folder.csv"), 0o755))
	must(t, os.Remove(at(3, "leaves.csv")))
	must(t, os.Symlink("leaves.csv", at(3, "leaves.csv")))
	results, incomplete := run(t, dir)
	if incomplete == nil || strings.ContainsAny(incomplete.Error(), "\x1b") || len(results.Books) != 1 || results.Books[0].ID != corpustest.Name(4) {
		t.Fatalf("%d books; told: %v", len(results.Books), incomplete)
	}
	failed := map[string]bool{}
	for _, f := range results.Failures {
		failed[f.Folder] = true
	}
	for _, want := range []string{"books/round", "books/outside", corpustest.Folder(0), corpustest.Folder(1), corpustest.Folder(2), corpustest.Folder(3)} {
		if !failed[want] {
			t.Errorf("nothing is said of %s", want)
		}
	}
	if results.Folders != 8 || failed["books/nowhere"] {
		t.Errorf("%d folders", results.Folders)
	}
}

// The chapter of a corpus is set by LaTeX without an error, a missing citation or a
// line in the margin, with the strangest names that a folder may have.
func TestTheChapterOfACorpus(t *testing.T) {
	chaptertest.Need(t)
	dir := makeCorpus(t, 13, corpustest.Head+corpustest.Pictures)
	must(t, os.Rename(filepath.Join(dir, corpustest.Folder(2)), filepath.Join(dir, "books", "a_b #1 {50 %} & ~^")))
	must(t, os.Remove(filepath.Join(dir, "books", "a_b #1 {50 %} & ~^", "leaves.csv")))
	c, results, out := ranBroken(t, dir)
	chapter := filepath.Join(out, study.ChapterName)
	chaptertest.LaTeX(t, chapter, "chapter")
	if said := chaptertest.Run(t, chapter, "bibtex", "chapter"); strings.Contains(said, "Warning") {
		t.Errorf("BibTeX warns:\n%s", said)
	}
	chaptertest.LaTeX(t, chapter, "chapter")
	chaptertest.LaTeX(t, chapter, "chapter")
	for line := range strings.Lines(chaptertest.Log(t, chapter, "chapter")) {
		if strings.Contains(line, "undefined") || strings.Contains(line, "Overfull \\hbox") {
			t.Errorf("LaTeX says: %s", line)
		}
	}
	read := strings.Join(strings.Fields(chaptertest.Text(t, chapter, "chapter")), " ")
	for _, want := range []string{"The readers side by side", "{50 %} & ~^", "What failed and why", "Fieller"} {
		if !strings.Contains(read, want) {
			t.Errorf("the chapter does not say %q", want)
		}
	}
	must(t, c.Write(results, out)) // a compiled chapter gives way to the next run
}
