package study

import (
	"fmt"
	"slices"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// TestDaysOfObservers: a model of looks has a term for how severity differs from day to
// day where there are enough days, but not where each book has its own day, so that the
// two cannot be told apart.
func TestDaysOfObservers(t *testing.T) {
	for _, c := range []struct {
		name        string
		days, books int // pages in turn are of each book, and looked at on each day
		want        bool
	}{{"few days", 4, 2, false}, {"enough days", 6, 4, true}, {"each book on its day", 6, 6, false}} {
		var book, page, thing, observer, day, rubbing []string
		for i := range 120 {
			book, day = append(book, fmt.Sprint("b", i%c.books)), append(day, fmt.Sprintf("2026-05-%02d", 1+i%c.days))
			page, thing = append(page, fmt.Sprint(i)), append(thing, fmt.Sprint(i))
			observer, rubbing = append(observer, "HB"), append(rubbing, []string{"no", "yes"}[i%7/4])
		}
		rows, err := table.New(table.Labels("book", book), table.Labels("page", page), table.Labels("thing", thing), table.Labels("observer", observer), table.Labels("day", day), table.Labels("rubbing", rubbing))
		if err != nil {
			t.Fatal(err)
		}
		m, usual, _ := completed(mixed.Model{Outcome: "rubbing", Kind: mixed.YesNo}, &traces.Trace{Name: "rubbing", Kind: mixed.YesNo}, rows)
		has := slices.ContainsFunc(m.Random, func(r mixed.Random) bool { return slices.Equal(r.By, []string{"observer", "day"}) })
		if has != c.want || slices.Contains(usual, "day") != c.want {
			t.Errorf("%s: random terms %v, usual %v", c.name, m.Random, usual)
		}
	}
}
