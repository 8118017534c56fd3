package report

import (
	"fmt"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/traces"
)

// TestWhyDaysHaveNoTerm: the reason is the one that holds: one day each, a day a book, or
// too few days.
func TestWhyDaysHaveNoTerm(t *testing.T) {
	r := &Results{Traces: &TraceResults{Coding: []traces.Trace{{Name: "rubbing"}}}}
	for i := range 8 {
		r.Books = append(r.Books, BookResult{Book: &codex.Book{ID: fmt.Sprint(i)}})
	}
	m := TraceModel{Model: mixed.Model{Outcome: "rubbing"}}
	for _, c := range []struct {
		day   func(book int) int
		alone bool // one observer a book
		want  string
	}{
		{func(int) int { return 0 }, false, "Each observer looked on one day"},
		{func(book int) int { return book / 4 }, false, "so few days (4"},
		{func(book int) int { return book }, true, "Each book was looked at on a day of its own"},
	} {
		r.Traces.Looks = &traces.Looks{}
		for book := range 8 {
			for observer := range 2 {
				if !c.alone || observer == book%2 {
					r.Traces.Looks.All = append(r.Traces.Looks.All, traces.Look{Book: book, Observer: fmt.Sprint(observer), Day: fmt.Sprint(c.day(book))})
				}
			}
		}
		if said := r.daysUntold(m); !strings.Contains(said, c.want) {
			t.Errorf("said %q, want %q", said, c.want)
		}
	}
}
