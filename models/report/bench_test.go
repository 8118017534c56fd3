package report

import (
	"io"
	"testing"
)

// The cost of the report's faces for the fixture: two books, eight figures.
func BenchmarkFigures(b *testing.B) {
	r := fixture(b)
	for b.Loop() {
		if _, err := r.Figures(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPage(b *testing.B) {
	r := fixture(b)
	figures, err := r.Figures()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := r.page(io.Discard, figures); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNumbers(b *testing.B) {
	r := fixture(b)
	for b.Loop() {
		if _, err := r.JSON(); err != nil {
			b.Fatal(err)
		}
	}
}
