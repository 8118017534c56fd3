package study_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"thumbed/models/study"
	"thumbed/models/study/demo"
)

const committed = "../../testdata/demo"

// tried is the line of the demonstration that has its answers tried under other
// choices, which takes as long as all the rest.
const tried = `models = ["pictures", "halves", "wax"]`

// copied is a copy of the committed demonstration with some files changed, and
// with nothing tried otherwise.
func copied(t testing.TB, change map[string]func([]byte) []byte) string {
	t.Helper()
	dir := copiedWhole(t, change)
	path := filepath.Join(dir, study.FileName)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, bytes.Replace(text, []byte(tried), []byte("models = []"), 1), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

var (
	blockOfModels = regexp.MustCompile(`(?m)^\[\[(?:model|question)\]\]\n(?:(?:[^\[\n]|\[{1,2}model\.).*\n|\n)*`)
	modelOfBlock  = regexp.MustCompile(`(?m)^(?:name|model) *= "(.*)"`)
)

// ofModels leaves some models of the demonstration's study file, with the questions that
// ask of them, for a test that looks at nothing else.
func ofModels(text []byte, models ...string) []byte {
	return blockOfModels.ReplaceAllFunc(text, func(block []byte) []byte {
		if slices.Contains(models, string(modelOfBlock.FindSubmatch(block)[1])) {
			return block
		}
		return nil
	})
}

// copiedWhole is a copy of the committed demonstration with some files changed.
func copiedWhole(t testing.TB, change map[string]func([]byte) []byte) string {
	t.Helper()
	dir := t.TempDir()
	entries, err := os.ReadDir(committed)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(committed, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if edit := change[e.Name()]; edit != nil {
			text = edit(text)
		}
		if err := os.WriteFile(filepath.Join(dir, e.Name()), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// halved leaves two books of a copy of the demonstration: enough, and half of the work,
// for a test that looks at files and wording and not at what the four books show.
func halved(t testing.TB, dir string) string { return ofBooks(t, dir, "Corvaes", "Hendemaar") }

// ofBooks leaves some books of a copy of the demonstration.
func ofBooks(t testing.TB, dir string, books ...string) string {
	t.Helper()
	for _, name := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "readings-2026-03.csv", "readings-2026-05.csv", "traces.csv"} {
		path := filepath.Join(dir, name)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var left []byte
		for i, line := range bytes.SplitAfter(text, []byte("\n")) {
			if book, _, _ := bytes.Cut(line, []byte(",")); i == 0 || len(book) == 0 || slices.Contains(books, string(book)) {
				left = append(left, line...)
			}
		}
		if err := os.WriteFile(path, left, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// folderOf is a new folder with files in it.
func folderOf(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

func TestDataHasAllPagesWithTheirWear(t *testing.T) {
	s, err := study.Open(committed)
	must(t, err)
	data, err := s.Data()
	must(t, err)
	pages := 0
	for _, b := range s.Books {
		pages += len(b.Present())
	}
	if data.Rows() != pages {
		t.Errorf("the data have %d rows for %d pages", data.Rows(), pages)
	}
	for _, name := range []string{"book", "page", "picture", "office_order", "half", "wear", "wear_se", "limit", "coverage"} {
		if data.Column(name) == nil {
			t.Errorf("the data have no column %s", name)
		}
	}
	wear, err := s.Wear()
	must(t, err)
	known := 0
	for i := range data.Rows() {
		if !data.Column("wear").Missing(i) {
			known++
		}
	}
	if known != len(wear.Wear) {
		t.Errorf("%d pages of the data have wear; %d were measured", known, len(wear.Wear))
	}
	evening, err := s.Rows("evening", "Corvaes")
	must(t, err)
	if evening.Rows() != 54 {
		t.Errorf("the hours of the Virgin of Corvaes have %d pages still there; want 54", evening.Rows())
	}
	for i := range evening.Rows() {
		if evening.Column("book").Label(i) != "Corvaes" || evening.Column("set").Label(i) != "of the Virgin" {
			t.Fatalf("row %d is %s, %s", i, evening.Column("book").Label(i), evening.Column("set").Label(i))
		}
	}
	if _, err := s.Rows("morning", ""); err == nil {
		t.Error("a model that is none gives no error")
	}
}

func TestBookIsFoundByItsName(t *testing.T) {
	s, err := study.Open(committed)
	must(t, err)
	b, err := s.Book("Tremele")
	if err != nil || b.ID != "Tremele" {
		t.Errorf("Tremele gives %v, %v", b, err)
	}
	if _, err := s.Book("Tremel"); err == nil || !strings.Contains(err.Error(), "Tremele") {
		t.Errorf("Tremel gives %v; want Tremele to be offered", err)
	}
}

func TestCheckCountsTheDemo(t *testing.T) {
	found, err := study.Check(committed)
	must(t, err)
	scenario, err := demo.Written()
	must(t, err)
	if len(found.Books) != len(scenario.Books) || found.Days != len(scenario.Days) || found.Instruments != len(scenario.Instruments) || found.Observers != 2 {
		t.Errorf("found %+v", found)
	}
	for i, b := range scenario.Books {
		leaves := b.FlyFront + b.FlyBack - len(b.Lost)
		for _, n := range b.Quires {
			leaves += n
		}
		if got := found.Books[i]; got.Leaves != leaves || got.Lost != len(b.Lost) || got.ID != b.ID {
			t.Errorf("of %s it found %+v; want %d leaves", b.ID, got, leaves)
		}
	}
}

// TestProgressCountsEveryPart wants the parts told one after another up to
// their number.
func TestProgressCountsEveryPart(t *testing.T) {
	s, err := study.Open(committed)
	must(t, err)
	last, all := 0, 0
	_, err = s.Run(func(done, total int, part string) {
		if done != last+1 || part == "" {
			t.Errorf("after part %d comes %d (%q)", last, done, part)
		}
		last, all = done, total
	})
	must(t, err)
	if last != all || all == 0 {
		t.Errorf("%d of %d parts were told", last, all)
	}
}

// TestTheRecordSealsWhatWentInAndCameOut reads back the record of a run.
func TestTheRecordSealsWhatWentInAndCameOut(t *testing.T) {
	_, out := recorded(t)
	record, err := study.ReadRecord(out)
	must(t, err)
	if record.Study != "../study.toml" || record.Answers != len(recordedResults.Answers) || record.Go != runtime.Version() {
		t.Errorf("the record says %+v", record)
	}
	if len(record.Inputs) != 9 {
		t.Errorf("%d inputs are sealed; want study.toml and its 8 tables: %+v", len(record.Inputs), record.Inputs)
	}
	files := 0
	must(t, filepath.WalkDir(out, func(_ string, e os.DirEntry, err error) error {
		if !e.IsDir() {
			files++
		}
		return err
	}))
	if len(record.Outputs) != files-1 {
		t.Errorf("%d outputs are sealed of %d files beside the record", len(record.Outputs), files-1)
	}
}

// TestAFailedWriteLeavesNothing writes to places that cannot take a folder.
func TestAFailedWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	s, err := study.Open(committed)
	must(t, err)
	results := demonstration(t)
	must(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o644))
	for _, place := range []string{"none/results", "file/results", "file"} {
		if err := s.Write(results, filepath.Join(dir, place)); err == nil {
			t.Errorf("%s gives no error", place)
		}
	}
	entries, err := os.ReadDir(dir)
	must(t, err)
	if len(entries) != 1 {
		t.Errorf("failed writes left %v", entries)
	}
}

func TestAnIncompleteRunStands(t *testing.T) {
	dir := halved(t, copied(t, map[string]func([]byte) []byte{"study.toml": func(text []byte) []byte {
		return bytes.Replace(text, []byte(`contrast  = { "half=second" = 1 }`), []byte(`contrast  = { "half=first" = 1 }`), 1)
	}}))
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	var incomplete *study.Incomplete
	if !errors.As(err, &incomplete) || len(incomplete.Missing) != 1 || !strings.Contains(incomplete.Missing[0], "half=first") {
		t.Errorf("the error is %v", err)
	}
	if results == nil || len(results.Answers) != 13 || len(results.Notes) == 0 {
		t.Errorf("the other answers do not stand: %+v", results)
	}
}

// A book of which too little was measured is told in the error; one that was
// not measured at all may be measured yet.
func TestABookMeasuredTooLittleIsTold(t *testing.T) {
	only := func(keep func(line []byte) bool) map[string]func([]byte) []byte {
		edit := func(text []byte) []byte {
			var out []byte
			for i, line := range bytes.SplitAfter(text, []byte("\n")) {
				if i == 0 || !bytes.HasPrefix(line, []byte("Delvaine,")) || keep(line) {
					out = append(out, line...)
				}
			}
			return out
		}
		return map[string]func([]byte) []byte{"readings-2026-03.csv": edit, "readings-2026-05.csv": edit}
	}
	for name, test := range map[string]struct {
		keep func(line []byte) bool
		told bool
	}{
		"two pages": {func(line []byte) bool {
			return bytes.HasPrefix(line, []byte("Delvaine,1r,")) || bytes.HasPrefix(line, []byte("Delvaine,2r,"))
		}, true},
		"none": {func([]byte) bool { return false }, false},
	} {
		s, err := study.Open(ofBooks(t, copied(t, only(test.keep)), "Delvaine", "Hendemaar"))
		must(t, err)
		_, err = s.Run(nil)
		if told := err != nil && strings.Contains(err.Error(), "Book Delvaine has wear for 2 of its pages"); told != test.told {
			t.Errorf("%s: the error is %v", name, err)
		}
	}
}

// large is a study of n books of 300 leaves, with about 2,400 readings each.
func large(b *testing.B, n int) string {
	b.Helper()
	var books, leaves, sections, log bytes.Buffer
	fmt.Fprintln(&books, "book,title")
	fmt.Fprintln(&leaves, "book,leaf,quire")
	fmt.Fprintln(&sections, "book,section,kind,extent")
	fmt.Fprintln(&log, "book,page,date,time,instrument,observer,target,spot,density")
	for k := range n {
		fmt.Fprintf(&books, "B%d,A book\n", k)
		fmt.Fprintf(&sections, "B%d,Psalter,psalter,ff. 1r–300v\n", k)
		day := fmt.Sprintf("2026-%02d-%02d", 1+k/28%12, 1+k%28)
		fmt.Fprintf(&log, ",,%s,08:00:00,lamp,X,tile,,0.20\n", day)
		second := 8*3600 + 60
		for leaf := 1; leaf <= 300; leaf++ {
			fmt.Fprintf(&leaves, "B%d,%d,%d\n", k, leaf, 1+(leaf-1)/8)
			for _, side := range []string{"r", "v"} {
				for i := range 4 {
					target, spot := "page", "fixed"
					if i == 0 {
						target, spot = "zero", ""
					}
					fmt.Fprintf(&log, "B%d,%d%s,%s,%02d:%02d:%02d,lamp,X,%s,%s,0.%02d\n", k, leaf, side, day, second/3600, second/60%60, second%60, target, spot, 15+i*(leaf%9))
					second += 15
				}
			}
		}
	}
	return folderOf(b, map[string]string{
		"books.csv": books.String(), "leaves.csv": leaves.String(), "sections.csv": sections.String(), "readings.csv": log.String(),
		"instruments.csv": "instrument,floor,ceiling,resolution,tile\nlamp,0,2,0.01,0.20\n",
		"study.toml":      "title = \"Large\"\n[tables]\nbooks = \"books.csv\"\nleaves = \"leaves.csv\"\nsections = \"sections.csv\"\ninstruments = \"instruments.csv\"\nreadings = [\"readings.csv\"]\n",
	})
}

// BenchmarkCheck reads and checks 100,000 readings of 42 books.
func BenchmarkCheck(b *testing.B) {
	dir := large(b, 42)
	for b.Loop() {
		found, err := study.Check(dir)
		if err != nil {
			b.Fatal(err)
		}
		if found.Readings < 100_000 {
			b.Fatalf("only %d readings", found.Readings)
		}
	}
}

// BenchmarkStudy runs the demonstration from its tables to the page.
func BenchmarkStudy(b *testing.B) {
	parent := b.TempDir()
	for b.Loop() {
		s, err := study.Open(committed)
		if err != nil {
			b.Fatal(err)
		}
		results, err := s.Run(nil)
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Write(results, filepath.Join(parent, "results")); err != nil {
			b.Fatal(err)
		}
	}
}
