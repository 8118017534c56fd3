package table_test

import (
	"bufio"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"thumbed/models/table"
)

// logSchema is of a readings log as [logText] writes it.
var logSchema = table.Schema{
	PrimaryKey: []string{"book", "page", "own"},
	Fields: []table.Field{
		{Name: "book", Kind: table.String, Constraints: &table.Limits{Required: true}},
		{Name: "date", Kind: table.Date, Constraints: &table.Limits{Required: true}},
		{Name: "time", Kind: table.Time},
		{Name: "target", Kind: table.String, Constraints: &table.Limits{Enum: []string{"zero", "tile", "page"}}},
		{Name: "tried", Kind: table.Integer, Constraints: &table.Limits{Minimum: bound(1)}},
		{Name: "density", Kind: table.Number, Constraints: &table.Limits{Required: true}},
		{Name: "own", Kind: table.String, Constraints: &table.Limits{Unique: true}},
	},
}

// A log of ten million readings is read and checked in 60 bytes a row, where
// its file has 79, and the heap never asks for more than 1 GiB for reading.
func TestTenMillionRows(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("writes and reads a file of 790 MB: set THUMBED_SLOW=1")
	}
	const rows = 10_000_000
	path := filepath.Join(t.TempDir(), "readings.csv")
	writeLog(t, path, rows)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var ps table.Problems
	start := time.Now()
	read := table.ReadFile(path, &ps)
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	asked := after.HeapSys
	runtime.GC()
	runtime.ReadMemStats(&after)
	if read.Rows() != rows || ps.Len() != 0 {
		t.Fatal(read.Rows(), ps.Err())
	}
	held := float64(after.HeapAlloc-before.HeapAlloc) / rows
	t.Logf("%d rows read in %.1f s: %.0f rows a second; %.1f bytes a row are held; the heap grew to %d MiB", rows, took.Seconds(), rows/took.Seconds(), held, asked>>20)
	if held > 60 {
		t.Errorf("%.1f bytes a row are held", held)
	}
	if asked > 1<<30 {
		t.Errorf("the heap grew to %d MiB while reading", asked>>20)
	}
	start = time.Now()
	if !logSchema.Check(read, &ps) || ps.Len() != 0 {
		t.Fatal(ps.Err())
	}
	took = time.Since(start)
	runtime.ReadMemStats(&after)
	t.Logf("checked in %.1f s; the heap grew to %d MiB", took.Seconds(), after.HeapSys>>20)
	if own := read.Column("own"); own.Label(rows-1) != "9999999" || own.Number(rows-1) != rows-1 || read.Line(rows-1) != rows+1 {
		t.Errorf("the last row is %q in line %d", own.Label(rows-1), read.Line(rows-1))
	}
}

// writeLog writes the log in pieces.
func writeLog(t *testing.T, path string, rows int) {
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	out := bufio.NewWriterSize(file, 1<<20)
	writeLogRows(out, rows)
	if err := out.Flush(); err != nil {
		t.Fatal(err)
	}
}
