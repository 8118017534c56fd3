package draft

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/traces"
)

// fewestLooks are how many looks at a part there must be for a question on
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
		w.line("name   = %q", t.Name)
		w.line("about  = %q", t.About)
		w.line("kind   = %q", t.Kind)
		if t.On != "" {
			w.line("on     = %q", t.On)
		}
		if len(t.Parts) > 0 {
			w.line("parts  = [%s]", quoted(t.Parts))
		}
		if t.One != "" {
			w.line("one    = %q", t.One)
		}
		if t.Per != "" {
			w.line("exposure = %q", t.Per)
		}
		if len(t.Grades) > 0 {
			w.line("grades = [")
			for _, g := range t.Grades {
				w.line("  { name = %q, about = %q },", g.Name, g.About)
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

// lookModel sets each part against the one that has most looks.
func (w *writer) lookModel(l *traces.Looks, trace int) {
	t := &l.Book[trace]
	count := map[string]int{}
	for _, look := range l.All {
		if look.Trace == trace && look.Kept() && look.Unclear == "" {
			count[look.Part]++
		}
	}
	levels := slices.DeleteFunc(slices.Clone(t.Parts), func(part string) bool { return count[part] < fewestLooks })
	if len(levels) < 2 {
		w.line("")
		w.line("# %s: once two parts have %d looks each, or pages.csv says more of the pages, a model can", t.Name, fewestLooks)
		w.line("# set them against each other. States, shares and agreement need none.")
		return
	}
	slices.SortFunc(levels, func(a, b string) int { return cmp.Or(count[b]-count[a], strings.Compare(a, b)) })
	w.line("")
	w.line("[[model]]")
	w.line("name    = %q", t.Name)
	w.line("about   = %q", "Which parts show "+t.Name+".")
	w.line("outcome = %q", t.Name)
	w.line("kind    = %q", t.Kind)
	if t.Kind == mixed.Counts {
		w.line("spread  = \"negative binomial\"")
		if t.Per != "" {
			w.line("exposure = \"exposure\"")
		}
	}
	w.line("fixed   = [\"part\"]")
	w.line("only    = { part = [%s] }", quoted(levels))
	w.line("[model.levels]")
	w.line("part = [%s]   # the first is what the others are held against", quoted(levels))
	for _, level := range levels[1:] {
		w.line("")
		w.line("[[question]]")
		w.line("words     = %q", fmt.Sprintf("Does %s differ between %s and %s?", t.Name, level, levels[0]))
		w.line("model     = %q", t.Name)
		w.line("contrast  = { %q = 1 }", "part="+level)
		w.line("direction = \"either\"")
		w.line("asked     = \"after\"")
	}
}
