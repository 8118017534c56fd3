//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"thumbed/models/study/corpus/corpustest"
)

// hardTests are the tests of kills, disks and hostile files, by package.
var hardTests = []struct{ dir, tests, what string }{
	{"models/study", "TestAKilledRunLeavesTheLastGoodResults", "runs killed while they write"},
	{"models/study", "TestAFileThatCannotGrow|TestAFullDisk", "full disks"},
	{"models/study", "TestAReadOnlyFolder", "a folder that cannot be written"},
	{"models/study/deposit", "TestAFullOrReadOnlyPlace", "a bundle on a full or closed disk"},
	{"models/study/folder", "Test", "folders: killed, two at once, on other systems"},
	{"cmd/thumbed", "TestKilledParts|TestAKilledRunStartsAgain", "parts of long work killed"},
	{"cmd/thumbed", "TestTablesOfAnyPath|TestFilesThatNeverEnd|TestNamesThatArePaths", "paths, pipes, devices, names that are paths"},
	{"cmd/thumbed", "TestBrokenStudies|TestClosedFiles|TestAClosedPlace", "broken studies, closed files"},
	{"cmd/thumbed", "TestDamaged", "studies and records damaged at random"},
	{"models/codex/tei", "TestBrokenFiles|TestHostileFiles|TestTruncation|TestDamagedRecords|FuzzRead", "hostile catalogue records"},
	{"models/codex/iiif", "TestBrokenFiles|TestManyCanvases|TestTruncation|FuzzRead", "hostile image manifests"},
	{"models/table/sheet", "TestBroken|TestBomb|TestTruncation|Fuzz", "hostile workbooks"},
	{"models/table/document", "Test", "hostile TOML"},
}

// hardLoads are large inputs, and what is done with them.
var hardLoads = []struct {
	what string
	make func(dir string) error
	args []string
}{
	{"1,000,000 readings on 60 days, with robustness", load{books: 4, leaves: 100, sections: 8, rounds: 313, days: 60, robust: true}.make, []string{"run"}},
	{"a book of 300 sections", load{books: 2, leaves: 300, sections: 300, rounds: 1, days: 2}.make, []string{"run"}},
	{"a book of 3,000 leaves", load{books: 1, leaves: 3000, sections: 40, rounds: 1, days: 6}.make, []string{"run"}},
	{"a corpus of 500 books", func(dir string) error {
		if err := (corpustest.Plan{Books: 500, Leaves: 60, Early: 0.4, Seed: 1}).Make(dir); err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, "corpus.toml"), []byte(corpustest.Head+corpustest.Pictures), 0o644)
	}, []string{"corpus"}},
}

// hardHead begins HARD.md.
const hardHead = `# What held

Written by TestHard of this folder (make hard): kills, full disks, hostile files and
large inputs, each with the time by the clock and of its process's processor, and the most
memory of it.

`

// TestHard runs what is hard in one go and writes HARD.md, a table of what held, with time
// and memory. THUMBED_HARD=loads or =tests runs one half, and a word of a load's name that load
// alone, and tells its table.
func TestHard(t *testing.T) {
	asked := os.Getenv("THUMBED_HARD")
	if asked == "" {
		t.Skip("kills, disks, hostile files and loads (many minutes); make hard runs it")
	}
	var table strings.Builder
	table.WriteString("| what | held | seconds | of processor | MiB |\n| --- | --- | ---: | ---: | ---: |\n")
	defer func() {
		t.Log("\n" + table.String())
		if asked == "all" {
			must(t, os.WriteFile("HARD.md", []byte(hardHead+table.String()), 0o644))
		}
	}()
	try := func(what string, cmd *exec.Cmd) {
		var out bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &out
		begun := time.Now()
		err := cmd.Run()
		held := "yes"
		if err != nil || strings.Contains(out.String(), "no tests to run") {
			held = "no"
			t.Errorf("%s: %v\n%.2000s", what, err, &out)
		}
		memory := int64(0)
		if used, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
			memory = int64(used.Maxrss) >> 10
		}
		fmt.Fprintf(&table, "| %s | %s | %.1f | %.1f | %d |\n", what, held, time.Since(begun).Seconds(),
			(cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), memory)
	}
	if asked == "all" || asked == "tests" {
		programs := map[string]string{}
		for _, h := range hardTests {
			if programs[h.dir] == "" {
				programs[h.dir] = filepath.Join(t.TempDir(), "tests")
				if out, err := exec.Command("go", "test", "-c", "-o", programs[h.dir], "./../../"+h.dir).CombinedOutput(); err != nil {
					t.Fatalf("%v\n%s", err, out)
				}
			}
			cmd := exec.Command(programs[h.dir], "-test.run", h.tests, "-test.timeout", "20m")
			cmd.Dir = filepath.Join("../..", h.dir)
			try(h.what, cmd)
		}
	}
	if asked == "tests" {
		return
	}
	c := built(t)
	for _, l := range hardLoads {
		if asked != "all" && asked != "loads" && !strings.Contains(l.what, asked) {
			continue
		}
		dir := t.TempDir()
		must(t, l.make(dir))
		try(l.what, exec.Command(c.path, append(l.args, dir)...))
	}
}

// A load is a study of invented books that is large in one way or another.
type load struct {
	books, leaves, sections int // of each book
	rounds, days            int // every page is read four times a round; rounds are spread over the days
	robust                  bool
}

func (l load) make(dir string) error {
	var books, leaves, pages, sections, log strings.Builder
	books.WriteString("book,title\n")
	leaves.WriteString("book,leaf,quire\n")
	pages.WriteString("book,page,picture\n")
	sections.WriteString("book,section,kind,extent\n")
	log.WriteString("book,page,date,time,instrument,observer,target,spot,density\n")
	for b := range l.books {
		fmt.Fprintf(&books, "B%d,Invented book %d\n", b, b)
		for leaf := range l.leaves {
			fmt.Fprintf(&leaves, "B%d,%d,%d\n", b, leaf+1, leaf/8+1)
			for s, side := range "rv" {
				picture := "no"
				if (leaf*2+s+b)%9 == 0 {
					picture = "yes"
				}
				fmt.Fprintf(&pages, "B%d,%d%c,%s\n", b, leaf+1, side, picture)
			}
		}
		for s := range l.sections {
			fmt.Fprintf(&sections, "B%d,Text %d,prayer,ff. %dr–%dv\n", b, s+1, s*l.leaves/l.sections+1, (s+1)*l.leaves/l.sections)
		}
	}
	perDay := (l.rounds*l.books*l.leaves + l.days - 1) / l.days // leaves a day
	day, second := -1, 0
	add := func(book, page, target, spot string, density int) {
		fmt.Fprintf(&log, "%s,%s,%s,%02d:%02d:%02d,lamp,X,%s,%s,0.%02d\n", book, page, time.Date(2020, 1, 1+day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly),
			second/3600, second/60%60, second%60, target, spot, density)
		second++
	}
	for n := range l.rounds * l.books * l.leaves {
		if n/perDay != day {
			day, second = n/perDay, 8*3600
			add("", "", "tile", "", 20)
		}
		book, leaf := n/l.leaves%l.books, n%l.leaves
		for s, side := range "rv" {
			name, page := fmt.Sprintf("B%d", book), fmt.Sprintf("%d%c", leaf+1, side)
			add(name, page, "zero", "", 5)
			for k := range 3 {
				wear := 10 + (leaf*7+s*3+n*5+k)%13
				if (leaf*2+s+book)%9 == 0 {
					wear += 6
				}
				add(name, page, "page", "fixed", wear)
			}
		}
	}
	f := small()
	study := strings.Replace(f["study.toml"], "Two small books", "Many readings (invented)", 1)
	if l.robust {
		study = strings.Replace(study, "[[model]]", "[robustness]\nmodels = [\"pictures\"]\n[[model]]", 1)
	}
	for name, text := range map[string]string{"study.toml": study, "books.csv": books.String(), "leaves.csv": leaves.String(), "pages.csv": pages.String(),
		"sections.csv": sections.String(), "readings.csv": log.String(), "instruments.csv": f["instruments.csv"]} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// Five thousand books of three hundred pages: time and memory, to be read by a
// person on a quiet machine.
func TestSlowLargeCorpus(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("takes minutes and a gigabyte of disk; THUMBED_SLOW=1 runs it")
	}
	program := built(t).path
	dir := invented(t, corpustest.Plan{Books: 5000, Early: 0.4, Seed: 1})
	work := exec.Command(program, "corpus", dir)
	begun := time.Now()
	out, err := work.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	used := work.ProcessState.SysUsage().(*syscall.Rusage)
	t.Logf("5000 books of 300 pages: %.0f s by the clock, %.0f s of processor (%.0f user, %.0f system), %d MiB at most\n%s", time.Since(begun).Seconds(),
		(work.ProcessState.UserTime() + work.ProcessState.SystemTime()).Seconds(), work.ProcessState.UserTime().Seconds(), work.ProcessState.SystemTime().Seconds(), used.Maxrss/1024, out)
	if mib := used.Maxrss / 1024; mib > 2048 {
		t.Errorf("%d MiB of memory; 2048 were promised", mib)
	}
}
