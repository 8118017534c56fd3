package study_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"thumbed/models/report"
	"thumbed/models/study"
)

// recorded is a copy of two books of the demonstration with its results, and their
// folder. It is run once for all tests.
func recorded(t *testing.T) (dir, out string) {
	t.Helper()
	dir = t.TempDir()
	must(t, os.CopyFS(dir, written(t, func(dir string) {
		from := halved(t, copied(t, nil))
		recordedResults = runTo(t, from, filepath.Join(from, "results"))
		must(t, os.CopyFS(dir, os.DirFS(from)))
	}, &demonstrated)))
	return dir, filepath.Join(dir, "results")
}

// kept is a folder that several tests copy, by its files' contents.
type kept struct {
	once  sync.Once
	files fstest.MapFS
}

var demonstrated, smallOld, smallFresh kept

// recordedResults are those that [recorded] wrote; tests only read them.
var recordedResults *report.Results

// written is a folder that fill fills the first time that a test asks for it.
func written(t *testing.T, fill func(dir string), k *kept) fs.FS {
	t.Helper()
	k.once.Do(func() {
		dir := filepath.Join(t.TempDir(), "kept")
		fill(dir)
		files := fstest.MapFS{}
		must(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			text, err := os.ReadFile(path)
			name, failed := filepath.Rel(dir, path)
			files[filepath.ToSlash(name)] = &fstest.MapFile{Data: text, Mode: 0o644}
			return errors.Join(err, failed)
		}))
		k.files = files
	})
	if k.files == nil {
		t.Fatal("another test failed to make what this one needs")
	}
	return k.files
}

func runTo(t *testing.T, dir, out string) *report.Results {
	t.Helper()
	s, results := run(t, dir)
	must(t, s.Write(results, out))
	return results
}

func edit(t *testing.T, path, old, new string) {
	t.Helper()
	text, err := os.ReadFile(path)
	must(t, err)
	if !bytes.Contains(text, []byte(old)) {
		t.Fatalf("%s holds no %q", path, old)
	}
	must(t, os.WriteFile(path, bytes.Replace(text, []byte(old), []byte(new), 1), 0o644))
}

func TestARerunOfTheSameAgrees(t *testing.T) {
	_, out := recorded(t)
	for _, path := range []string{out, filepath.Join(out, study.RecordName)} {
		r, err := study.Repeat(path, "", nil)
		must(t, err)
		if !r.Agrees() || r.Loosely || len(r.Inputs)+len(r.Made) > 0 || r.Comparison.Compared < 10_000 || len(r.Comparison.Words)+len(r.Comparison.New) > 0 {
			t.Errorf("a rerun from %s gives %+v", path, r)
		}
	}
}

// TestARerunSaysWhatChanged corrects one reading and one word, and wants the
// files named and the numbers moved.
func TestARerunSaysWhatChanged(t *testing.T) {
	dir, out := recorded(t)
	edit(t, filepath.Join(dir, "readings-2026-03.csv"), ",fixed,,0.", ",fixed,,1.")
	r, err := study.Repeat(out, "", nil)
	must(t, err)
	if r.Agrees() || len(r.Inputs) != 1 || r.Inputs[0] != (study.Changed{Path: "readings-2026-03.csv", How: "changed"}) || len(r.Comparison.Moved) == 0 {
		t.Errorf("a changed reading gives %+v", r)
	}
	edit(t, filepath.Join(dir, "readings-2026-03.csv"), ",fixed,,1.", ",fixed,,0.")
	edit(t, filepath.Join(dir, "study.toml"), `smallest  = 0.02`, `smallest  = 0.30`)
	r, err = study.Repeat(out, "", nil)
	must(t, err)
	if r.Agrees() || len(r.Inputs) != 1 || len(r.Comparison.Verdicts) != 1 || r.Comparison.Verdicts[0].From != "yes" || r.Comparison.Verdicts[0].To != "no" {
		t.Errorf("another smallest effect gives %+v", r)
	}
}

func TestARerunNeedsItsInputs(t *testing.T) {
	dir, out := recorded(t)
	must(t, os.Remove(filepath.Join(dir, "leaves.csv")))
	r, err := study.Repeat(out, "", nil)
	if err == nil || !strings.Contains(err.Error(), "leaves.csv") || r == nil || len(r.Inputs) != 1 || r.Inputs[0].How != "missing" {
		t.Errorf("a missing table gives %+v, %v", r, err)
	}
	moved := filepath.Join(t.TempDir(), "kept.json")
	text, err := os.ReadFile(filepath.Join(out, study.RecordName))
	must(t, err)
	must(t, os.WriteFile(moved, text, 0o644))
	if _, err := study.Repeat(moved, "", nil); err == nil || !strings.Contains(err.Error(), "--study") {
		t.Errorf("a record far from its study gives %v", err)
	}
	r, err = study.Repeat(moved, halved(t, copied(t, nil)), nil)
	must(t, err)
	if !r.Agrees() {
		t.Errorf("a record whose study is named gives %+v", r)
	}
}

func TestWhatIsNoRecordIsRefused(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"empty.json":   "",
		"concert.json": `{"kind":"record of a concert"}`,
		"later.json":   `{"kind":"record of a thumbed run","version":99,"program":"thumbed 9"}`,
	} {
		path := filepath.Join(dir, name)
		must(t, os.WriteFile(path, []byte(text), 0o644))
		if _, err := study.Repeat(path, "", nil); err == nil {
			t.Errorf("%s is taken for a record", name)
		}
	}
	if _, err := study.Repeat(dir, "", nil); err == nil {
		t.Error("a folder without a record is taken for results")
	}
}

// TestOldRecordsStayReadable repeats the run of a record of each version that
// there has been. Their numbers may move with the program; that they can be read
// and compared must not end.
func TestOldRecordsStayReadable(t *testing.T) {
	dirs, err := filepath.Glob("../../testdata/records/[0-9]*")
	must(t, err)
	versions := map[int]bool{}
	for _, dir := range dirs {
		out := filepath.Join(dir, "results")
		record, err := study.ReadRecord(out)
		must(t, err)
		versions[record.Version] = true
		r, err := study.Repeat(out, "", nil)
		must(t, err)
		if len(r.Inputs) > 0 || r.Comparison.Compared < 300 || len(r.Comparison.Gone) > 0 || len(r.Comparison.Verdicts) > 0 {
			t.Errorf("%s: inputs %v, %d numbers compared, gone %v, answers %v", dir, r.Inputs, r.Comparison.Compared, r.Comparison.Gone, r.Comparison.Verdicts)
		}
	}
	for v := 1; v <= 2; v++ {
		if !versions[v] {
			t.Errorf("there is no record of version %d to read", v)
		}
	}
}

// shuffled gives the rows of a table in another order; short tables turned
// round, leaves, whose order is that of the book, with the books mixed.
func shuffled(t *testing.T, name string) func([]byte) []byte {
	rng := rand.New(rand.NewPCG(5, 0))
	return func(text []byte) []byte {
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		must(t, err)
		body := rows[1:]
		switch name {
		case "books.csv", "instruments.csv":
			slices.Reverse(body)
		case "leaves.csv":
			slices.SortStableFunc(body, func(a, b []string) int { return -strings.Compare(a[0], b[0]) })
		default:
			rng.Shuffle(len(body), func(i, j int) { body[i], body[j] = body[j], body[i] })
		}
		var out bytes.Buffer
		must(t, csv.NewWriter(&out).WriteAll(rows))
		return out.Bytes()
	}
}

// TestNumbersDoNotDependOnTheOrderOfRows puts the rows of every table in another
// order, and the study in another folder.
func TestNumbersDoNotDependOnTheOrderOfRows(t *testing.T) {
	_, out := recorded(t)
	change := map[string]func([]byte) []byte{}
	for _, name := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "instruments.csv", "readings-2026-03.csv", "readings-2026-05.csv"} {
		change[name] = shuffled(t, name)
	}
	r, err := study.Repeat(out, halved(t, copied(t, change)), nil)
	must(t, err)
	if len(r.Inputs) != len(change) {
		t.Errorf("%d inputs are told to have changed; %d did", len(r.Inputs), len(change))
	}
	if !r.Agrees() || len(r.Comparison.New) > 0 {
		t.Errorf("another order of rows moves %d numbers: %+v", len(r.Comparison.Moved), r.Comparison.Moved[:min(3, len(r.Comparison.Moved))])
	}
}

// Where this test runs itself again in another environment, these name the study
// to run and where its results go.
const (
	childStudy = "THUMBED_TEST_STUDY"
	childOut   = "THUMBED_TEST_OUT"
)

// TestChildRun is the run of another process.
func TestChildRun(t *testing.T) {
	dir := os.Getenv(childStudy)
	if dir == "" {
		t.Skip("only run by other tests, as a process of its own")
	}
	runTo(t, dir, os.Getenv(childOut))
}

// child makes the command of another process that runs a study.
func child(t *testing.T, dir, out string, environment ...string) *exec.Cmd {
	t.Helper()
	program, err := os.Executable()
	must(t, err)
	cmd := exec.Command(program, "-test.run=^TestChildRun$", "-test.v")
	cmd.Env = append(append(os.Environ(), childStudy+"="+dir, childOut+"="+out), environment...)
	return cmd
}

// TestResultsDoNotDependOnTheSurroundings runs the study with other numbers of
// processors, locales, time zones and output folders, and wants the same bytes
// in every file but the record's path to the study.
func TestResultsDoNotDependOnTheSurroundings(t *testing.T) {
	dir := halved(t, copiedWhole(t, nil))
	out := filepath.Join(dir, "results")
	runTo(t, dir, out)
	want := bytesUnder(t, out)
	for _, environment := range [][]string{
		{"GOMAXPROCS=1", "LC_ALL=de_DE.UTF-8", "LANG=de_DE.UTF-8", "TZ=Pacific/Kiritimati"},
		{"GOMAXPROCS=5", "LC_ALL=tr_TR.UTF-8", "TZ=America/St_Johns"},
	} {
		elsewhere := filepath.Join(t.TempDir(), "Ergebnisse, zweiter Gang")
		if said, err := child(t, dir, elsewhere, environment...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", environment, err, said)
		}
		got := bytesUnder(t, elsewhere)
		if len(got) != len(want) {
			t.Errorf("%v: %d files; want %d", environment, len(got), len(want))
		}
		for name := range want {
			if got[name] != want[name] {
				t.Errorf("%v: %s differs", environment, name)
			}
		}
	}
}

// bytesUnder is every file under a folder, the record without the study's path.
func bytesUnder(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	must(t, filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		name, failed := filepath.Rel(dir, path)
		if failed != nil {
			return failed
		}
		out[name] = string(regexp.MustCompile(`"study": ".*"`).ReplaceAll(text, nil))
		return err
	}))
	if len(out) < 10 {
		t.Fatal(fmt.Errorf("%s holds only %d files", dir, len(out)))
	}
	return out
}
