package report

import (
	"thumbed/models/report/grid"
)

// A sharedView is what books say together of one set of hours.
type sharedView struct {
	Name, Said string
	Figure     []*figureView
	Grid       grid.Grid
}

func (r *Results) sharedViews(shelf *figureShelf) []sharedView {
	var out []sharedView
	for _, s := range r.Shared {
		v := sharedView{Name: "The " + setName(s.Set) + " in all books that have them", Said: r.sharedSentence(s).Text, Grid: r.sharedGrid(s)}
		v.Figure = shelf.take("shared-"+r.sharedFile(s), v.Grid.Name)
		out = append(out, v)
	}
	return out
}

// A habitView is what is said of changes along one book.
type habitView struct {
	Said   string
	Figure []*figureView
	Grid   grid.Grid
	Notes  []string
}

// placeHabits gives the books what is said of changes along them; false where
// there is nothing to say of any.
func (r *Results) placeHabits(books []bookView, shelf *figureShelf) bool {
	some := false
	for i, b := range r.Books {
		if b.Habits == nil {
			continue
		}
		some = true
		v := &habitView{Said: habitSentence(r.quotedName(b.Book), b).Text, Notes: seriesNotes(b.Habits.Changes, b.Habits.Notes)}
		if b.Habits.Changes != nil {
			v.Grid = r.habitGrid(b)
		}
		v.Figure = shelf.take("habits-"+r.bookFile(b.Book), v.Grid.Name)
		books[i].Habits = v
	}
	return some
}
