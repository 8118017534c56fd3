package codex_test

import (
	"fmt"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// corpus are the tables of so many invented books of 300 pages each: 150
// leaves in quires of ten, a picture on every tenth leaf, twelve sections.
func corpus(books int) tables {
	var x struct{ books, leaves, pages, sections strings.Builder }
	x.books.WriteString("book,title,outer\n")
	x.leaves.WriteString("book,leaf,quire,state,conjugate\n")
	x.pages.WriteString("book,page,picture,subject\n")
	x.sections.WriteString("book,section,kind,set,office,extent\n")
	for b := range books {
		fmt.Fprintf(&x.books, "b%d,Book %d,hair\n", b, b)
		for leaf := range 150 {
			fmt.Fprintf(&x.leaves, "b%d,%d,%d,,\n", b, leaf+1, leaf/10+1)
			if leaf%10 == 0 {
				fmt.Fprintf(&x.pages, "b%d,%dr,yes,Saint\n", b, leaf+1)
			}
		}
		for i, office := range codex.Offices() {
			fmt.Fprintf(&x.sections, "b%d,%v,hours,of the Virgin,%v,ff. %dr–%dv\n", b, office, office, 12*i+1, 12*i+12)
		}
	}
	return tables{x.books.String(), x.leaves.String(), x.pages.String(), x.sections.String()}
}

// The cost a page must be the same for few books and many.
func BenchmarkLoad(b *testing.B) {
	for _, books := range []int{50, 500} {
		b.Run(fmt.Sprintf("books=%d", books), func(b *testing.B) {
			paths := corpus(books).write(b)
			b.ReportAllocs()
			for b.Loop() {
				var ps table.Problems
				if loaded := codex.Load(paths, &ps); len(loaded) != books || ps.Len() != 0 {
					b.Fatal(ps.Err())
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*books*300), "ns/page")
		})
	}
}

func BenchmarkFeatures(b *testing.B) {
	for _, books := range []int{50, 500} {
		b.Run(fmt.Sprintf("books=%d", books), func(b *testing.B) {
			loaded := corpus(books).load(b)
			b.ReportAllocs()
			for b.Loop() {
				if f := codex.Features(loaded); f.Rows() != books*300 {
					b.Fatal(f.Rows())
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*books*300), "ns/page")
		})
	}
}

func BenchmarkParsePage(b *testing.B) {
	labels := []string{"12r", "[13]v", "13bisr", "iiv", "f. 120 verso"}
	b.ReportAllocs()
	for b.Loop() {
		for _, label := range labels {
			if _, err := codex.ParsePage(label); err != nil {
				b.Fatal(err)
			}
		}
	}
}
