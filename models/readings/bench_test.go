package readings

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// benchStudy writes n readings of one thick book: each page with five placings
// and three zeros, by two observers in turn, with tile readings twice an hour.
func benchStudy(b *testing.B, n int) (Paths, []*codex.Book) {
	b.Helper()
	dir := b.TempDir()
	pages := n / 8
	var leaves, log strings.Builder
	leaves.WriteString("book,leaf\n")
	for i := range pages/2 + 1 {
		fmt.Fprintf(&leaves, "thick,%d\n", i+1)
	}
	write(b, filepath.Join(dir, "books.csv"), "book\nthick\n")
	write(b, filepath.Join(dir, "leaves.csv"), leaves.String())
	write(b, filepath.Join(dir, "instruments.csv"), testInstruments)
	rng := rand.New(rand.NewPCG(1, 2))
	log.WriteString(header)
	for page := range pages {
		day, minute := 1+page/400, page%400
		when := fmt.Sprintf("2026-%02d-%02d,%02d:%02d,D1,%s", 1+day/28, 1+day%28, 9+minute/60, minute%60, []string{"ann", "bob"}[page%2])
		if minute%30 == 0 {
			fmt.Fprintf(&log, ",,%s,tile,,,%.2f,,\n", when, 0.8+0.01*rng.NormFloat64())
		}
		for k := range 8 {
			target := "page,fixed,1"
			if k > 4 {
				target = "zero,,"
			}
			fmt.Fprintf(&log, "thick,%d%c,%s,%s,%.2f,,\n", page/2+1, "rv"[page%2], when, target, 0.5+0.01*rng.NormFloat64())
		}
	}
	write(b, filepath.Join(dir, "readings.csv"), log.String())
	var ps table.Problems
	books := codex.Load(codex.Paths{Books: filepath.Join(dir, "books.csv"), Leaves: filepath.Join(dir, "leaves.csv")}, &ps)
	if err := ps.Err(); err != nil {
		b.Fatal(err)
	}
	return Paths{Instruments: filepath.Join(dir, "instruments.csv"), Readings: []string{filepath.Join(dir, "readings.csv")}}, books
}

// BenchmarkReadings100k is a log of 100,000 readings from file to wear.
func BenchmarkReadings100k(b *testing.B) {
	paths, books := benchStudy(b, 100_000)
	load := func() *Log {
		var ps table.Problems
		log := Load(paths, books, &ps)
		if err := ps.Err(); err != nil {
			b.Fatal(err)
		}
		return log
	}
	wear := func(log *Log) {
		if _, err := log.Wear(Options{Drift: DriftOffset}); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("load", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			load()
		}
	})
	b.Run("wear", func(b *testing.B) {
		log := load()
		b.ReportAllocs()
		for b.Loop() {
			wear(log)
		}
	})
	b.Run("both", func(b *testing.B) {
		for b.Loop() {
			wear(load())
		}
	})
}
