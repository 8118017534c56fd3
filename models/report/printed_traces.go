package report

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// traces are the answers on traces as probabilities and rates, what was seen by part and
// book, and the coding book.
func (r printing) traces() PrintedSection {
	s := PrintedSection{ID: "traces", Heading: "Traces of use"}
	if !r.looked() {
		return s
	}
	t := r.Traces
	var part PrintedPart
	if g := r.printedTold(); g.Count() > 0 {
		part.Tables = append(part.Tables, g)
	}
	for k := range t.Coding {
		trace := &t.Coding[k]
		sum := t.total(func(s traces.State) bool { return s.Trace == trace.Name })
		part.Figures = append(part.Figures, r.figures(sharesName(k, trace.Name), wording.Typeset(wording.Capital(thingsOf(trace, sum.There+sum.Nothing))+" can be told."))...)
	}
	part.Tables = append(part.Tables, r.traceGrid(), r.codingGrid())
	s.Parts = []PrintedPart{part}
	return s
}

// printedTold holds the answers on traces under their questions. The verdicts stand with
// all answers.
func (r *Results) printedTold() grid.Grid {
	whole := r.toldGrid()
	t := grid.Grid{Name: whole.Name, Title: whole.Title, Note: whole.Note}
	for _, q := range r.asked() {
		g := grid.Grid{Heads: grid.Heads("Books", "Asked about", "How often#", "Against", "How often#")}
		what := ""
		for _, a := range q.answers {
			if told := a.Told; told != nil {
				what = told.Outcome + told.Per
				g.Add(grid.Words(r.answeredIn(a)), grid.Words(told.Level), sideCell(told, told.Asked), grid.Words(told.Other), sideCell(told, told.Against))
			}
		}
		if g.Count() > 0 {
			t.Join(wording.Sentence(q.words)+" ("+what+")", g)
		}
	}
	return t
}

// coding is every look along each book, how far observers agree, whether traces are
// prints of their neighbours, and the three states in full.
func (r printing) coding() PrintedSection {
	s := PrintedSection{ID: "coding", Heading: "Traces: agreement and states"}
	if !r.looked() {
		return s
	}
	t := r.Traces
	part := PrintedPart{Said: []Said{{Paragraphs: t.said()}}}
	kept := t.total(func(traces.State) bool { return true }).Looks
	for _, b := range r.Books {
		part.Figures = append(part.Figures, r.figures(lookStripName(r.bookFile(b.Book)), fmt.Sprintf("Of %s in all books.", wording.Count(kept, "look", "looks")))...)
	}
	for k, a := range t.Agreement {
		for p, pair := range a.Pairs {
			part.Figures = append(part.Figures, r.figures(confusionName(k, p, a.Trace), fmt.Sprintf("%s; on %s the values are the same.", wording.Capital(wording.Count(pair.Things, "thing", "things")), wording.Whole(pair.Same)))...)
		}
	}
	if len(t.Agreement) > 0 {
		part.Tables = append(part.Tables, r.agreedGrid())
		if g := r.gradeGrid(); g.Count() > 0 {
			part.Tables = append(part.Tables, g)
		}
	}
	part.Tables = append(part.Tables, r.stateGrid())
	s.Parts = []PrintedPart{part}
	return s
}

func (r printing) traceModels() PrintedSection {
	s := PrintedSection{ID: "trace-models", Heading: "The models of traces"}
	if r.Traces == nil {
		return s
	}
	var names []string
	for _, first := range r.Traces.Models {
		if slices.Contains(names, first.Name) {
			continue
		}
		names = append(names, first.Name)
		part := PrintedPart{ID: distinct(names)}
		said := Said{Head: "The model “" + first.Name + "”"}
		effects := grid.Grid{Name: "trace-effects-" + part.ID, Title: "Effects in the model “" + first.Name + "”, on the scale of the link", Note: "Each with its own 95 % interval; p is two-sided."}
		means := grid.Grid{Name: "trace-means-" + part.ID, Title: "What the model “" + first.Name + "” expects", Note: "Averaged over the looks as they are otherwise and over books, pages and observers."}
		about := ""
		for k, m := range r.Traces.Models {
			if m.Name != first.Name {
				continue
			}
			v, book, in := r.traceModelView(k, m), "", ""
			if m.Book != "" {
				book = r.bookNameByID(m.Book)
				in = "In " + r.quotedNameByID(m.Book) + ": "
			}
			if v.About != about {
				about = v.About
				said.Paragraphs = append(said.Paragraphs, about)
			}
			if v.Failed != "" {
				said.Paragraphs = append(said.Paragraphs, in+"Not fitted. "+v.Failed)
				continue
			}
			said.Paragraphs = append(said.Paragraphs, in+strings.Join(append([]string{v.Facts}, sentences(v.Notes)...), " "))
			effects.Join(book, v.Effects)
			means.Join(book, r.printedMeans(m, v.Means))
			part.Figures = append(part.Figures, r.figures(expectedName(k), wording.Capital(wording.Count(m.Fit.N, "look", "looks"))+".")...)
		}
		part.Said = []Said{said}
		for _, g := range []grid.Grid{effects, means} {
			if g.Count() > 0 {
				part.Tables = append(part.Tables, g)
			}
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// mostAside is how many values may stand side by side in print.
const mostAside = 4

// printedMeans is a table of what a model expects with a column for each value, where
// there are few enough.
func (r *Results) printedMeans(m TraceModel, long grid.Grid) grid.Grid {
	levels := m.Model.Levels[m.Model.Outcome]
	if len(levels) < 2 || len(levels) > mostAside {
		return long
	}
	heads := []string{"Feature"}
	for _, level := range levels {
		heads = append(heads, wording.Capital(level)+"#")
	}
	g := grid.Grid{Heads: grid.Heads(heads...)}
	var row []grid.Cell
	at := ""
	for _, a := range m.Fit.Adjusted { // level by level, the values of each in their order
		if name := wording.Capital(r.Labels.Level(a.Column, a.Level)); name != at {
			at, row = name, []grid.Cell{grid.Words(name)}
		}
		if row = append(row, grid.Shown(a.Mean, wording.PercentEstimate(a.Mean, a.Low, a.High))); len(row) == len(heads) {
			g.Add(row...)
		}
	}
	return g
}

// tracesMethod says how traces were coded, held against each other and modelled.
func (r *Results) tracesMethod() string {
	if !r.looked() {
		return ""
	}
	t := r.Traces
	looks, excluded, unclear := 0, 0, 0
	observers, days := map[string]bool{}, map[string]bool{}
	for i := range t.Looks.All {
		look := &t.Looks.All[i]
		if !look.Kept() {
			excluded++
			continue
		}
		looks++
		observers[look.Observer], days[look.Day] = true, true
		if look.Unclear != "" {
			unclear++
		}
	}
	text := fmt.Sprintf("Traces were looked at by eye and told by the grades of a coding book: %s by %s on %s, %s left out with a reason; %s cannot tell and stand for nothing else. Shares have the interval of Wilson 1927, rates one from the spread of the things (Cochran 1977).",
		wording.Count(looks, "look", "looks"), wording.Count(len(observers), "observer", "observers"), wording.Count(len(days), "day", "days"), were(excluded), wording.Whole(unclear))
	if len(t.Agreement) > 0 {
		text += " How far looks at the same thing agree is Krippendorff’s alpha (Krippendorff 2004), its interval by drawing pages anew, and of two observers Cohen’s kappa, weighted by squared distances (Cohen 1968; Fleiss, Cohen and Everitt 1969)."
	}
	if len(t.Prints) > 0 {
		text += " Whether a trace is the print of the facing page was looked for by Fisher’s exact test, each book by itself (Cox and Snell 1989)."
	}
	text += r.traceModelsMethod("")
	allowed := func(a []traces.Allowance) bool { return len(a) > 0 }
	if slices.ContainsFunc(t.Models, func(m TraceModel) bool { return allowed(m.Allowed) }) || slices.ContainsFunc(r.Models, func(m ModelResult) bool { return allowed(m.Allowed) }) {
		text += " A feature measured with error was put by its expected true value, given what was measured and the other features (Fuller 1987; Carroll and others 2006)."
	}
	if slices.ContainsFunc(r.Robustness, func(b Robustness) bool {
		return slices.ContainsFunc(b.Rows, func(row RobustRow) bool { return strings.HasSuffix(row.Choice, Extrapolated) })
	}) {
		text += " Sensitivity allows for that error in another way too: error is added to the feature in several sizes, and the effect followed back by a parabola to where there is none (Cook and Stefanski 1994). Its limits: the error is taken as normal, of known size, and as free of the outcome; of a large error a parabola takes back too little, and the interval does not hold what is unknown of the error’s size."
	}
	return text
}

// traceModelsMethod says what the models of traces explain, and how each was fitted, to
// what where that is told; empty where none was.
func (r *Results) traceModelsMethod(to string) string {
	var told []string
	seen := map[string]bool{}
	for _, m := range r.Traces.Models {
		if m.Fit != nil && len(m.Added) == 0 && !seen[m.Name] {
			seen[m.Name] = true
			told = append(told, r.traceModelText(m))
		}
	}
	if len(told) == 0 {
		return ""
	}
	return " " + strings.Join(told, " ") + " Each was fitted" + to + " by maximum likelihood with random terms of books, pages and observers, and of how each observer drifts along a book, where there are several. Effects are told as probabilities and rates, averaged over the looks as they are otherwise and over books, pages and observers not seen before."
}

// traceModelText says what one model explains by what.
func (r *Results) traceModelText(m TraceModel) string {
	kind := "by a cumulative " + m.Model.Link + " model (McCullagh 1980)"
	switch m.Model.Kind {
	case mixed.YesNo:
		kind = "by a " + m.Model.Link + " model"
	case mixed.Counts:
		kind = "by a " + m.Model.Spread + " model"
	}
	text := fmt.Sprintf("The model “%s” explains %s %s, by %s", m.Name, r.Labels.Column(m.Model.Outcome), kind, r.termsText(m.Model))
	if m.Book != "" {
		text += ", in each book by itself"
	}
	return text + "."
}
