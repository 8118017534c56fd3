package deposit_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thumbed/models/study"
	"thumbed/models/study/deposit"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// books tells of one of the small study's books where it is kept.
const books = `book,title,shelfmark,library,library_id
Ant,Ant's hours,MS 12,"Town Library, Veldermond",https://library.example/veldermond
Bee,Bee's hours,,,
`

// small runs the small invented study of the records, once.
var small = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "deposit-test-")
	if err == nil {
		err = os.CopyFS(dir, os.DirFS("../../../testdata/records/2"))
	}
	if err == nil {
		err = os.RemoveAll(filepath.Join(dir, "results"))
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "books.csv"), []byte(books), 0o644)
	}
	if err == nil {
		err = runIn(dir, filepath.Join(dir, "results"))
	}
	return dir, err
})

func runIn(dir, results string) error {
	s, err := study.Open(dir)
	if err != nil {
		return err
	}
	found, err := s.Run(nil)
	if err != nil {
		return err
	}
	return s.Write(found, results)
}

func TestMain(m *testing.M) {
	code := m.Run()
	if dir, err := small(); err == nil {
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

// studied is a copy of the small study with its results.
func studied(t testing.TB) string {
	t.Helper()
	dir, err := small()
	must(t, err)
	fresh := t.TempDir()
	must(t, os.CopyFS(fresh, os.DirFS(dir)))
	return fresh
}

func write(t testing.TB, text string, at ...string) {
	t.Helper()
	must(t, os.WriteFile(filepath.Join(at...), []byte(text), 0o644))
}

func read(t testing.TB, at ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(at...))
	must(t, err)
	return string(text)
}

// bundle packs a study and writes it.
func bundle(t testing.TB, dir, out string) *deposit.Bundle {
	t.Helper()
	b, err := deposit.Pack(dir, "", "")
	must(t, err)
	must(t, b.Write(out))
	return b
}

// statement is a deposit.toml with all that one may say.
const statement = `licence = "CC-BY-4.0"
description = "Two invented books."
keywords = ["wear", "books of hours"]
date = "2026-06-30"
language = "en"
version = "1.0"
publisher = "Repository of Veldermond"
doi = "10.1234/veldermond"
[[funding]]
funder = "Sarreland Fund"
award = "S-12"
[[related]]
doi = "10.1234/book"
relation = "IsSupplementTo"
[[creator]]
name = "Josiah Carberry"
orcid = "0000-0002-1825-0097"
affiliation = "University of Veldermond"
email = "j.carberry@example.org"
[[creator]]
name = "A. N. Example"
affiliation = "University of Veldermond"
`

// bundled is the folder of a bundle of the small study with a full statement.
func bundled(t testing.TB) string {
	t.Helper()
	dir := studied(t)
	write(t, statement, dir, deposit.StatementName)
	out := filepath.Join(t.TempDir(), "bundle")
	bundle(t, dir, out)
	return out
}

// filesUnder are all files of a folder by path.
func filesUnder(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	must(t, fs.WalkDir(os.DirFS(dir), ".", func(name string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			out[name] = read(t, dir, name)
		}
		return err
	}))
	return out
}

// filesOf are all files of a .zip by path.
func filesOf(t testing.TB, at string) map[string]string {
	t.Helper()
	archive, err := zip.OpenReader(at)
	must(t, err)
	defer archive.Close()
	out := map[string]string{}
	for _, f := range archive.File {
		in, err := f.Open()
		must(t, err)
		text, err := io.ReadAll(in)
		must(t, err)
		out[f.Name] = string(text)
	}
	return out
}

func TestABundleHoldsTheStudyAsItIs(t *testing.T) {
	dir := studied(t)
	write(t, statement, dir, deposit.StatementName)
	at := t.TempDir()
	bundle(t, dir, filepath.Join(at, "folder"))
	b := bundle(t, dir, filepath.Join(at, "file.zip"))
	folder, file := filesUnder(t, filepath.Join(at, "folder")), filesOf(t, filepath.Join(at, "file.zip"))
	if !maps.Equal(folder, file) {
		t.Error("the folder and the .zip hold different files")
	}
	if n, _ := b.Files(); n != len(file) {
		t.Errorf("%d files are told, %d are there", n, len(file))
	}
	made := map[string]bool{deposit.ReadmeName: true, deposit.CrateName: true, deposit.PackageName: true,
		deposit.CitationName: true, deposit.DataCiteName: true, deposit.SumsName: true}
	theirs := filesUnder(t, dir)
	for name, text := range file {
		if !made[name] && text != theirs[name] {
			t.Errorf("%s is not what the study has", name)
		}
		delete(theirs, name)
	}
	if len(theirs) > 0 {
		t.Errorf("left out: %v", slices.Sorted(maps.Keys(theirs)))
	}
	if b.Notes != nil {
		t.Errorf("notes where nothing is to be noted: %q", b.Notes)
	}
}

// TestTheSameStudyGivesTheSameBytes bundles copies of a study under other names,
// with other times of their files, in another time zone, and the unpacked bundle.
func TestTheSameStudyGivesTheSameBytes(t *testing.T) {
	dir := studied(t)
	at := t.TempDir()
	bundle(t, dir, filepath.Join(at, "one.zip"))
	other := filepath.Join(t.TempDir(), "a copy, elsewhere")
	must(t, os.CopyFS(other, os.DirFS(dir)))
	must(t, filepath.WalkDir(other, func(p string, _ fs.DirEntry, err error) error {
		must(t, err)
		return os.Chtimes(p, time.Time{}, time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC))
	}))
	t.Setenv("TZ", "Pacific/Auckland")
	t.Setenv("LC_ALL", "de_DE.UTF-8")
	bundle(t, other, filepath.Join(at, "two.zip"))
	if read(t, at, "one.zip") != read(t, at, "two.zip") {
		t.Error("a copy of the study gives other bytes")
	}
	unpacked := filepath.Join(at, "unpacked")
	must(t, os.Mkdir(unpacked, 0o755))
	unpack(t, filepath.Join(at, "one.zip"), unpacked)
	bundle(t, unpacked, filepath.Join(at, "three.zip"))
	if read(t, at, "one.zip") != read(t, at, "three.zip") {
		t.Error("the unpacked bundle gives other bytes")
	}
	archive, err := zip.OpenReader(filepath.Join(at, "one.zip"))
	must(t, err)
	defer archive.Close()
	for _, f := range archive.File { // the day of the only readings
		if day := f.Modified.UTC().Format(time.DateTime); day != "2026-03-09 00:00:00" {
			t.Fatalf("%s has the time %s", f.Name, day)
		}
	}
}

func unpack(t testing.TB, file, dir string) {
	t.Helper()
	for name, text := range filesOf(t, file) {
		must(t, os.MkdirAll(filepath.Join(dir, filepath.Dir(name)), 0o755))
		write(t, text, dir, name)
	}
}

func TestAnUnpackedBundleRunsAgain(t *testing.T) {
	file := filepath.Join(t.TempDir(), "b.zip")
	bundle(t, studied(t), file)
	elsewhere := t.TempDir()
	unpack(t, file, elsewhere)
	checkRerun(t, filepath.Join(elsewhere, "results"), "")
}

func checkRerun(t *testing.T, results, studyPath string) {
	t.Helper()
	again, err := study.Repeat(results, studyPath, nil)
	must(t, err)
	if !again.Agrees() || len(again.Inputs) > 0 || again.Comparison.Compared < 100 {
		t.Errorf("the run of the bundle does not come out again: %+v %+v", again.Inputs, again.Comparison)
	}
}

// TestTablesAboveTheStudyComeAlong shares tables between studies, and has the
// results elsewhere.
func TestTablesAboveTheStudyComeAlong(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "thesis", "one")
	must(t, os.MkdirAll(filepath.Join(top, "shared"), 0o755))
	must(t, os.MkdirAll(dir, 0o755))
	must(t, os.CopyFS(dir, os.DirFS("../../../testdata/records/2")))
	must(t, os.RemoveAll(filepath.Join(dir, "results")))
	must(t, os.Rename(filepath.Join(dir, "books.csv"), filepath.Join(top, "shared", "books.csv")))
	must(t, os.Rename(filepath.Join(dir, "leaves.csv"), filepath.Join(top, "thesis", "leaves.csv")))
	text := strings.NewReplacer(`"books.csv"`, `"../../shared/books.csv"`, `"leaves.csv"`, `"../leaves.csv"`).Replace(read(t, dir, "study.toml"))
	write(t, text, dir, "study.toml")
	results := filepath.Join(top, "wear")
	must(t, runIn(dir, results))
	b, err := deposit.Pack(dir, results, "")
	must(t, err)
	file := filepath.Join(t.TempDir(), "b.zip")
	must(t, b.Write(file))
	held := filesOf(t, file)
	for _, name := range []string{"shared/books.csv", "above/leaves.csv", "above/study/study.toml", "above/study/results/record.json"} {
		if _, there := held[name]; !there {
			t.Errorf("the bundle has no %s", name)
		}
	}
	found, err := deposit.Check(file)
	must(t, err)
	if want := "thumbed rerun above/study/results --study above/study/study.toml"; found.Rerun != want || !strings.Contains(held[deposit.ReadmeName], want) {
		t.Errorf("how to run it again: %q", found.Rerun)
	}
	elsewhere := t.TempDir()
	unpack(t, file, elsewhere)
	checkRerun(t, filepath.Join(elsewhere, "above", "study", "results"), filepath.Join(elsewhere, "above", "study", "study.toml"))
}

// TestWhatIsNotTheRunIsRefused says so, and what to do.
func TestWhatIsNotTheRunIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(dir string)
		want  []string
	}{
		"no results":       {func(dir string) { must(t, os.RemoveAll(filepath.Join(dir, "results"))) }, []string{"holds no results of this study", "thumbed run"}},
		"a changed table":  {func(dir string) { write(t, read(t, dir, "books.csv")+"\n", dir, "books.csv") }, []string{"books.csv has changed", "Run it again"}},
		"a changed study":  {func(dir string) { write(t, read(t, dir, "study.toml")+"\n", dir, "study.toml") }, []string{"study.toml has changed", "Run it again"}},
		"a changed result": {func(dir string) { write(t, "\n", dir, "results", "index.html") }, []string{"index.html was changed"}},
		"a missing result": {func(dir string) { must(t, os.Remove(filepath.Join(dir, "results", "tables", "wear.csv"))) }, []string{"tables/wear.csv is missing"}},
		"a later seal": {func(dir string) {
			_, _, err := study.WriteSeal(dir, time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC))
			must(t, err)
		}, []string{"seal.json is new", "Run it again"}},
		"no study": {func(dir string) { must(t, os.Remove(filepath.Join(dir, "study.toml"))) }, []string{"study.toml"}},
		"another record": {func(dir string) {
			write(t, `{"kind":"record of a thumbed plan","version":2}`, dir, "results", "record.json")
		}, []string{"results of thumbed run"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := studied(t)
			c.spoil(dir)
			_, err := deposit.Pack(dir, "", "")
			if err == nil {
				t.Fatal("nothing is said")
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("no word of %q in: %v", want, err)
				}
			}
		})
	}
}

func TestATableByItsPlaceOnThisMachineIsRefused(t *testing.T) {
	dir := studied(t)
	at := filepath.Join(t.TempDir(), "books.csv")
	must(t, os.Rename(filepath.Join(dir, "books.csv"), at))
	write(t, strings.Replace(read(t, dir, "study.toml"), `"books.csv"`, fmt.Sprintf("%q", at), 1), dir, "study.toml")
	must(t, runIn(dir, filepath.Join(dir, "results")))
	if _, err := deposit.Pack(dir, "", ""); err == nil || !strings.Contains(err.Error(), "its place on this machine") {
		t.Errorf("the error is %v", err)
	}
}

func TestNoNameIsTakenThatSomeSystemsRefuse(t *testing.T) {
	for _, name := range []string{"wh:at.csv", "readme.txt", "books?.csv"} {
		dir := studied(t)
		must(t, os.Rename(filepath.Join(dir, "books.csv"), filepath.Join(dir, name)))
		write(t, strings.Replace(read(t, dir, "study.toml"), `"books.csv"`, `"`+name+`"`, 1), dir, "study.toml")
		must(t, runIn(dir, filepath.Join(dir, "results")))
		if _, err := deposit.Pack(dir, "", ""); err == nil || !strings.Contains(err.Error(), "another name") {
			t.Errorf("%s: the error is %v", name, err)
		}
	}
}

func TestABundleNeverReplacesAnything(t *testing.T) {
	dir := studied(t)
	b, err := deposit.Pack(dir, "", "")
	must(t, err)
	at := t.TempDir()
	write(t, "mine", at, "b.zip")
	must(t, os.Mkdir(filepath.Join(at, "b"), 0o755))
	for _, out := range []string{"b.zip", "b", filepath.Join("none", "b.zip"), filepath.Join("none", "b")} {
		if err := b.Write(filepath.Join(at, out)); err == nil {
			t.Errorf("%s is written", out)
		}
	}
	if err := b.Write(filepath.Join(dir, "results", "b.zip")); err == nil || !strings.Contains(err.Error(), "inside the folder of results") {
		t.Errorf("inside the results: %v", err)
	}
	if got := filesUnder(t, at); len(got) != 1 || got["b.zip"] != "mine" {
		t.Errorf("the folder holds %v", slices.Sorted(maps.Keys(got)))
	}
	// A file that changes between packing and writing leaves nothing behind.
	write(t, "book\n", dir, "books.csv")
	for _, out := range []string{"c.zip", "c"} {
		if err := b.Write(filepath.Join(at, out)); err == nil || !strings.Contains(err.Error(), "changed while it was bundled") {
			t.Errorf("%s: the error is %v", out, err)
		}
	}
	if names, err := filepath.Glob(filepath.Join(at, "*c*")); err != nil || names != nil {
		t.Errorf("left behind: %v, error %v", names, err)
	}
}

func TestWhatTheScholarAddedIsLeftOut(t *testing.T) {
	dir := studied(t)
	write(t, "notes", dir, "results", "notes.txt")
	b, err := deposit.Pack(dir, "", "")
	must(t, err)
	said := strings.Join(b.Notes, "\n")
	for _, want := range []string{"notes.txt", "No licence is stated", "2026-03-09", "No author is named"} {
		if !strings.Contains(said, want) {
			t.Errorf("no word of %q in the notes: %s", want, said)
		}
	}
	out := filepath.Join(t.TempDir(), "b")
	must(t, b.Write(out))
	if _, there := filesUnder(t, out)["results/notes.txt"]; there {
		t.Error("the notes were bundled")
	}
	_, err = deposit.Check(out)
	must(t, err)
}

// TestCheckFindsEveryHarm changes, shortens, removes and adds each file in turn.
func TestCheckFindsEveryHarm(t *testing.T) {
	dir := bundled(t)
	_, err := deposit.Check(dir)
	must(t, err)
	harmed := func(name, how string) {
		t.Helper()
		if _, err := deposit.Check(dir); err == nil {
			t.Errorf("%s %s, and nothing is said", name, how)
		} else if name != deposit.PackageName && !strings.Contains(err.Error(), name) {
			t.Errorf("%s %s, and what is said does not name it: %v", name, how, err)
		}
	}
	harmedIn := map[string]bool{}
	for name, text := range filesUnder(t, dir) {
		if top := filepath.Dir(name); strings.HasPrefix(top, "results/") && harmedIn[top] {
			continue // one stands for all of its folder
		} else {
			harmedIn[top] = true
		}
		write(t, strings.Replace(text, text[len(text)/2:len(text)/2+1], "~", 1), dir, name)
		harmed(name, "was changed")
		write(t, text[:len(text)/2], dir, name)
		harmed(name, "was broken off")
		must(t, os.Remove(filepath.Join(dir, name)))
		harmed(name, "is gone")
		write(t, text, dir, name)
	}
	write(t, "", dir, "results", "stranger.txt")
	harmed("results/stranger.txt", "was added")
	must(t, os.Remove(filepath.Join(dir, "results", "stranger.txt")))
	must(t, os.Symlink("/etc", filepath.Join(dir, "link")))
	harmed("link", "is a link")
}

// TestCheckTrustsNoSumAlone changes a table and its sums together.
func TestCheckTrustsNoSumAlone(t *testing.T) {
	dir := bundled(t)
	packed := read(t, dir, deposit.PackageName)
	text := read(t, dir, "books.csv")
	other := strings.Replace(text, "Ant's", "Bee's", 1)
	write(t, other, dir, "books.csv")
	old, fresh := study.SumOf("", []byte(text)).SHA256, study.SumOf("", []byte(other)).SHA256
	write(t, strings.Replace(packed, old, fresh, 1), dir, deposit.PackageName)
	if _, err := deposit.Check(dir); err == nil || !strings.Contains(err.Error(), "the record sealed") {
		t.Errorf("the error is %v", err)
	}
}

// TestHostileFilesAreNotOpened tries paths that lead out of the bundle, names
// twice, links, and text that is far larger than it says.
func TestHostileFilesAreNotOpened(t *testing.T) {
	for name, fill := range map[string]func(w *zip.Writer) error{
		"out of it":    func(w *zip.Writer) error { _, err := w.Create("../evil.txt"); return err },
		"from the top": func(w *zip.Writer) error { _, err := w.Create("/etc/evil.txt"); return err },
		"backslashes":  func(w *zip.Writer) error { _, err := w.Create(`..\evil.txt`); return err },
		"twice": func(w *zip.Writer) error {
			if _, err := w.Create("a.txt"); err != nil {
				return err
			}
			_, err := w.Create("a.txt")
			return err
		},
		"a link": func(w *zip.Writer) error {
			h := &zip.FileHeader{Name: "a.txt"}
			h.SetMode(fs.ModeSymlink | 0o777)
			_, err := w.CreateHeader(h)
			return err
		},
	} {
		at := filepath.Join(t.TempDir(), "b.zip")
		out, err := os.Create(at)
		must(t, err)
		w := zip.NewWriter(out)
		must(t, fill(w))
		must(t, w.Close())
		must(t, out.Close())
		if _, err := deposit.Check(at); err == nil || !strings.Contains(err.Error(), "not made by thumbed bundle") {
			t.Errorf("%s: the error is %v", name, err)
		}
	}
	dir := bundled(t)
	write(t, read(t, dir, "books.csv")+strings.Repeat("x,x\n", 1<<20), dir, "books.csv")
	if _, err := deposit.Check(dir); err == nil || !strings.Contains(err.Error(), "books.csv") {
		t.Errorf("a larger file: %v", err)
	}
}

// FuzzCheck breaks a .zip at any byte: it is refused or whole, and nothing crashes.
func FuzzCheck(f *testing.F) {
	file := filepath.Join(f.TempDir(), "b.zip")
	bundle(f, studied(f), file)
	whole, err := os.ReadFile(file)
	must(f, err)
	f.Add(len(whole)/2, byte(1))
	f.Add(len(whole)-30, byte(255))
	f.Add(0, byte(0))
	f.Fuzz(func(t *testing.T, at int, to byte) {
		text := bytes.Clone(whole)
		text[(at%len(text)+len(text))%len(text)] ^= to
		broken := filepath.Join(t.TempDir(), "b.zip")
		must(t, os.WriteFile(broken, text, 0o644))
		_, err := deposit.Check(broken)
		if err == nil && to != 0 {
			held := filesOf(t, broken)
			for name, said := range filesOf(t, file) {
				if held[name] != said {
					t.Errorf("%s differs, and nothing is said", name)
				}
			}
		}
	})
}
