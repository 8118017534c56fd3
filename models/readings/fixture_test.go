package readings

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// testBooks are two invented books: ardel of 40 leaves, of which 7 is lost,
// and brin of 12.
func testBooks(t testing.TB) []*codex.Book {
	t.Helper()
	dir := t.TempDir()
	var leaves strings.Builder
	leaves.WriteString("book,leaf,state\n")
	for i := 1; i <= 40; i++ {
		state := "present"
		if i == 7 {
			state = "lost"
		}
		fmt.Fprintf(&leaves, "ardel,%d,%s\n", i, state)
	}
	for i := 1; i <= 12; i++ {
		fmt.Fprintf(&leaves, "brin,%d,present\n", i)
	}
	write(t, filepath.Join(dir, "books.csv"), "book,title\nardel,Invented hours\nbrin,Invented prayers\n")
	write(t, filepath.Join(dir, "leaves.csv"), leaves.String())
	var ps table.Problems
	books := codex.Load(codex.Paths{Books: filepath.Join(dir, "books.csv"), Leaves: filepath.Join(dir, "leaves.csv")}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return books
}

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

const testInstruments = `instrument,floor,ceiling,resolution,tile
D1,0.00,2.00,0.01,0.80
D2,0.05,1.80,0.01,
`

const header = "book,page,date,time,instrument,observer,target,spot,tried,density,excluded,note\n"

// load loads rows (below the header) with the test instruments.
func load(t testing.TB, rows string) (*Log, *table.Problems) {
	t.Helper()
	return loadFiles(t, testInstruments, header+rows)
}

func loadFiles(t testing.TB, instruments string, files ...string) (*Log, *table.Problems) {
	t.Helper()
	return loadTexts(t, testBooks(t), instruments, files...)
}

func loadTexts(t testing.TB, books []*codex.Book, instruments string, files ...string) (*Log, *table.Problems) {
	t.Helper()
	dir := t.TempDir()
	paths := Paths{Instruments: filepath.Join(dir, "instruments.csv")}
	write(t, paths.Instruments, instruments)
	for i, text := range files {
		path := filepath.Join(dir, fmt.Sprintf("readings-%d.csv", i+1))
		write(t, path, text)
		paths.Readings = append(paths.Readings, path)
	}
	var ps table.Problems
	return Load(paths, books, &ps), &ps
}

// mustLoad loads rows that have no problem.
func mustLoad(t testing.TB, rows string) *Log {
	t.Helper()
	log, ps := load(t, rows)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return log
}

func mustWear(t testing.TB, log *Log, options Options) *Result {
	t.Helper()
	r, err := log.Wear(options)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
