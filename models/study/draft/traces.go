package draft

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/traces"
)

// fewestLooks are how many looks at a part or in a book there must be for a question on
// it to be in force (common practice, no source).
const fewestLooks = 10

// looks writes the coding book, and for each trace the model that its looks allow.
func (w *writer) looks(l *traces.Looks) {
	w.line("")
	w.line("# The coding book. Write for each trace what counts as it and for each grade what must")
	w.line("# be seen, so that another observer can code by it; it is printed with the results.")
	for i := range l.Book {
		t := &l.Book[i]
		w.line("")
		w.line("[[trace]]")
		w.line("name   = %s", strconv.Quote(t.Name))
		w.line("about  = %s", strconv.Quote(t.About))
		w.line("kind   = %s", strconv.Quote(t.Kind))
		if t.On != "" {
			w.line("on     = %s", strconv.Quote(t.On))
		}
		if len(t.Parts) > 0 {
			w.line("parts  = [%s]", quoted(t.Parts))
		}
		if t.One != "" {
			w.line("one    = %s", strconv.Quote(t.One))
		}
		if t.Per != "" {
			w.line("exposure = %s", strconv.Quote(t.Per))
		}
		if len(t.Grades) > 0 {
			w.line("grades = [")
			for _, g := range t.Grades {
				w.line("  { name = %s, about = %s },", strconv.Quote(g.Name), strconv.Quote(g.About))
			}
			w.line("]")
		}
	}
	w.line("")
	w.line("# The models and questions below were chosen by what was looked at. They count as asked")
	w.line("# afterwards until you have gone through them and sealed them (thumbed seal). Books,")
	w.line("# pages and observers are random terms of every model of traces.")
	for i := range l.Book {
		w.lookModel(l, i)
	}
}

// lookModel asks of the part, or where there are no two of the book, that has most looks
// after the first against that.
func (w *writer) lookModel(l *traces.Looks, trace int) {
	t := &l.Book[trace]
	count := map[string]map[string]int{"part": {}, "book": {}}
	for _, look := range l.All {
		if look.Trace == trace && look.Kept() && look.Unclear == "" {
			count["part"][look.Part]++
			count["book"][l.Books[look.Book].ID]++
		}
	}
	column, levels := "", []string(nil)
	for _, name := range []string{"part", "book"} {
		for level, n := range count[name] {
			if n >= fewestLooks && level != "" {
				levels = append(levels, level)
			}
		}
		if len(levels) > 1 {
			column = name
			break
		}
		levels = nil
	}
	if column == "" {
		w.line("")
		w.line("# %s: once two parts or two books have %d looks each, a model can set them against each other.", t.Name, fewestLooks)
		return
	}
	slices.SortFunc(levels, func(a, b string) int {
		if d := count[column][b] - count[column][a]; d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	w.line("")
	w.line("[[model]]")
	w.line("name    = %s", strconv.Quote(t.Name))
	w.line("about   = %s", strconv.Quote(fmt.Sprintf("Which %s show %s.", map[string]string{"part": "parts", "book": "books"}[column], t.Name)))
	w.line("outcome = %s", strconv.Quote(t.Name))
	w.line("kind    = %s", strconv.Quote(t.Kind))
	if t.Kind == mixed.Counts {
		w.line("spread  = \"negative binomial\"")
		if t.Per != "" {
			w.line("exposure = \"exposure\"")
		}
	}
	w.line("fixed   = [%q]", column)
	w.line("only    = { %s = [%s] }", column, quoted(levels))
	w.line("[model.levels]")
	w.line("%s = [%s]   # the first is what the others are held against", column, quoted(levels))
	for _, level := range levels[1:] {
		w.line("")
		w.line("[[question]]")
		w.line("words     = %s", strconv.Quote(fmt.Sprintf("Does %s differ between %s and %s?", t.Name, level, levels[0])))
		w.line("model     = %s", strconv.Quote(t.Name))
		w.line("contrast  = { %s = 1 }", strconv.Quote(column+"="+level))
		w.line("direction = \"either\"")
		w.line("asked     = \"after\"")
	}
}
