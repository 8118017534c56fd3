package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"thumbed/models/dropoff/readers"
	"thumbed/models/report/grid"
	"thumbed/models/student"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

//go:embed corpus.html.tmpl
var corpusTemplate string

var corpusMaker = template.Must(template.Must(pageMaker.Clone()).Parse(corpusTemplate))

// Write writes every face of the corpus into dir, a folder that exists and is
// empty: index.html, figures/, tables/ and results.json; see [Results.Write].
func (c *Corpus) Write(dir string) error { return writeFaces(dir, c) }

// WriteChecked writes the tables of books and of failures into dir, a folder that
// exists: all that is known of a corpus that was looked through and not run.
func (c *Corpus) WriteChecked(dir string) error {
	return fillWithSheets(dir, []grid.Grid{c.bookSheet(), c.failureSheet()})
}

// page writes the report around figures already drawn.
func (c *Corpus) page(w io.Writer, figures []Figure) error {
	return writePage(w, corpusMaker, "corpus", c.view(figures))
}

// mostRows is how many rows of a table of books or readers a page shows; the
// tables on disk have all.
const mostRows = 500

// A corpusView is all that the template shows.
type corpusView struct {
	Meta             Meta
	Style            template.CSS
	Script           template.JS
	Headline         string
	Asked            firstView // its questions, a line each
	Questions        []questionView
	Each             []eachView
	Readers, Sure    []string
	Measuring        []string // how sure the measuring and the models are
	Side, Kinds, Gap []*figureView
	KindGrid         grid.Grid
	GapGrid          grid.Grid
	ReaderGrid       grid.Grid
	Models           []modelView
	EachGrid         grid.Grid
	FailureCount     string
	Failures, Books  grid.Grid
	Traces           *corpusTraces // nil without a coding book
	Notes, Methods   []string
	References       []Reference
	Cautions         []caution
}

// corpusTraces are the traces as the page of a corpus shows them.
type corpusTraces struct {
	Answers, Traces, Seen, Coding, Pairs, Grades grid.Grid
	Said                                         []string // of agreement, in full
	Models                                       []traceModelView
}

func (c *Corpus) traces() *corpusTraces {
	if c.Traces == nil {
		return nil
	}
	once := c.once()
	v := &corpusTraces{Answers: once.toldGrid(), Traces: once.traceGrid(), Seen: c.seenGrid(), Coding: once.codingGrid(), Pairs: once.agreedGrid(), Grades: once.gradeGrid(), Said: once.Traces.said()}
	for k, m := range once.Traces.Models {
		v.Models = append(v.Models, once.traceModelView(k, m))
	}
	return v
}

// A seen is one trace in one book, over its parts.
type seen struct {
	of  *traces.Trace
	sum traces.State
	id  string
}

// seenGrid sets the books side by side by how much of each trace is there.
func (c *Corpus) seenGrid() grid.Grid {
	var all []seen
	for i := range c.Traces.Coding {
		t := &c.Traces.Coding[i]
		for _, b := range c.Books {
			sum := c.Traces.total(func(s traces.State) bool { return s.Trace == t.Name && s.Book == b.ID })
			if sum.Things > 0 {
				all = append(all, seen{t, sum, b.ID})
			}
		}
	}
	shown, rest := cut(all, "trace_states")
	m := grid.Of("traces-of-books", "What was seen in each book, over its parts: the share with the trace of those that can be told, with its 95 % interval (Wilson 1927)", shown)
	m.Long, m.Rest, m.Empty = true, rest, "Nobody looked at anything."
	m.Show("Trace", func(s seen) grid.Cell { return grid.Words(wording.Capital(s.of.Name)) })
	m.Show("Book", func(s seen) grid.Cell { return grid.Words(s.id) })
	m.Show("Looked at", func(s seen) grid.Cell { return grid.Words(thingsOf(s.of, s.sum.Things-s.sum.NotLooked)) })
	m.Show("With the trace#", func(s seen) grid.Cell {
		told := s.sum.There + s.sum.Nothing
		if told == 0 {
			return grid.Instead("not known")
		}
		share := float64(s.sum.There) / float64(told)
		low, high := student.Wilson(share, float64(told))
		return grid.Shown(share, wording.PercentEstimate(share, low, high))
	})
	m.Show("Cannot be told#", func(s seen) grid.Cell { return grid.Whole(s.sum.Unclear) })
	m.Show("Not looked at#", func(s seen) grid.Cell { return grid.Whole(s.sum.NotLooked) })
	return m.Made()
}

// traceMethod says how traces were told and modelled.
func (c *Corpus) traceMethod() string {
	if c.Traces == nil {
		return ""
	}
	once := c.once()
	text := "Traces were looked at by eye and told by the grades of one coding book for all folders. Shares have the interval of Wilson 1927."
	if len(c.Traces.Agreement) > 0 {
		text += " How far observers agree is told over all books by Krippendorff’s alpha and by weighted kappa (Cohen 1968)."
	}
	return text + once.traceModelsMethod(" to the looks of all books")
}

// An eachView is a question that is asked of each book.
type eachView struct{ Words, Counts, Foot string }

func (c *Corpus) view(figures []Figure) corpusView {
	once := c.once()
	v := corpusView{Meta: c.Meta, Style: template.CSS(inkStyle() + pageStyle), Script: template.JS(pageScript), Cautions: cautions, Notes: wording.TypesetAll(c.Notes),
		Questions: once.questionViews(), FailureCount: c.FailureCount(), Readers: wording.TypesetAll(c.readerWords())}
	for _, q := range c.askedOfEach() {
		v.Each = append(v.Each, eachView{Words: q.words, Counts: eachWords(q), Foot: fmt.Sprintf("Answered by the model “%s” in each book; the table answers has every one.", q.answers[0].Question.Model)})
	}
	for _, s := range c.Sentences() {
		switch {
		case s.Topic == Sure && s.Aside:
			v.Measuring = append(v.Measuring, s.Text)
		case s.Topic == Sure:
			v.Sure = append(v.Sure, s.Text)
		}
	}
	v.Headline = c.headline()
	v.Asked.Questions, v.Asked.MoreQuestions = questionLineViews(c.lines())
	shelf := newFigureShelf(figures)
	v.ReaderGrid, v.KindGrid, v.GapGrid = c.readerGrid(), c.kindTable(), c.gapTable()
	v.Side = shelf.take("readers", v.ReaderGrid.Name)
	if v.Kinds = shelf.take("reader-groups", v.ReaderGrid.Name); v.Kinds != nil && v.KindGrid.Count() > 0 {
		v.Kinds[0].Table = v.KindGrid.Name
	}
	v.Gap = shelf.take("groups-gap", v.GapGrid.Name)
	for _, m := range once.Models {
		view := once.modelView(m)
		view.Figure = shelf.take("effects-"+once.modelFile(m.Name), "fixed-of-"+once.fitFile(m))
		v.Models = append(v.Models, view)
	}
	v.EachGrid = c.eachGrid()
	v.Failures = c.failureGrid()
	v.Books = c.bookGrid()
	if v.Traces = c.traces(); v.Traces != nil {
		v.Cautions = append(append([]caution{}, cautions...), traceCautions...)
	}
	v.Methods, v.References = c.Methods()
	return v
}

// lines are the questions with their answers in a line: those of all books, then those
// of each by itself.
func (c *Corpus) lines() []QuestionLine {
	out := c.once().questionLines()
	for _, q := range c.askedOfEach() {
		line := q.line()
		line.Answer = eachBrief(q)
		out = append(out, line)
	}
	return out
}

// cut shows the first rows of a long table, and says where the others are.
func cut[T any](rows []T, file string) (first []T, rest string) {
	if len(rows) <= mostRows {
		return rows, ""
	}
	return rows[:mostRows], fmt.Sprintf("The first %s of %s are shown; tables/%s.csv has them all.", wording.Whole(mostRows), wording.Whole(len(rows)), file)
}

// bookGrid, failureGrid and readerGrid are the tables of the page.
func (c *Corpus) bookGrid() grid.Grid {
	books, rest := cut(c.Books, "books")
	g := bookTable("the-books", "The books: mean wear, the scatter of pages about the wear curve, and what a picture adds (density); the section with the most wear a page", books)
	g.Rest, g.Long, g.Empty = rest, true, "No book could be used."
	return g
}

func (c *Corpus) failureGrid() grid.Grid {
	failures, rest := cut(c.Failures, "failures")
	g := failureTable("the-failures", "What failed, while the rest went on", failures)
	g.Rest, g.Long, g.Empty = rest, len(c.Failures) > 30, "Nothing failed."
	return g
}

func (c *Corpus) readerGrid() grid.Grid {
	shown, rest := cut(c.Readers, "readers")
	g := c.readerTable("the-readers", "The readers: the last office’s wear as a share of the first’s, and the group", shown)
	g.Rest, g.Long, g.Empty = rest, true, "No book has hours whose pages were measured."
	return g
}

func (c *Corpus) eachGrid() grid.Grid {
	m := grid.Of("each-book", "Fixed effects over the books: half of the books have less than the median; a tenth have less than the lower and a tenth more than the upper end", c.eachTerms())
	m.Long = true
	m.Show("Model", func(e eachTerm) grid.Cell { return grid.Words(e.Model) })
	m.Show("Effect", func(e eachTerm) grid.Cell { return grid.Words(wording.Capital(c.term(e))) })
	m.Show("Books#", func(e eachTerm) grid.Cell { return grid.Whole(e.Books) })
	m.Show("Median#", func(e eachTerm) grid.Cell { return grid.Number(e.Median, 3) })
	m.Show("A tenth below#", func(e eachTerm) grid.Cell { return grid.Number(e.Low, 3) })
	m.Show("A tenth above#", func(e eachTerm) grid.Cell { return grid.Number(e.High, 3) })
	m.Show("Interval above zero#", func(e eachTerm) grid.Cell { return grid.Whole(e.Above) })
	m.Show("Below zero#", func(e eachTerm) grid.Cell { return grid.Whole(e.Below) })
	return m.Made()
}

// Methods says in paragraphs what was done, and lists the works cited.
func (c *Corpus) Methods() (paragraphs []string, cited []Reference) {
	whole := c.whole()
	return citing(c.passMethod(), c.readerMethod(), whole.modelMethod(), c.traceMethod(), whole.questionMethod(), whole.softwareMethod())
}

func (c *Corpus) passMethod() string {
	elsewhere := 0
	for _, b := range c.Books {
		elsewhere += b.Elsewhere
	}
	read := fmt.Sprintf("Reflection density (ISO 5-4) was read %s in %s", wording.Count(c.readings()-elsewhere, "time", "times"), wording.Count(len(c.Books), "book", "books"))
	if elsewhere > 0 {
		read += fmt.Sprintf(", and %s come from elsewhere, with an error that their source states", wording.Count(elsewhere, "density", "densities"))
	}
	return read + ". Each folder of tables is a campaign of its own: its repeatability (ISO 5725-2) and the drift of its instruments come from its own log; the page gives the repeatability pooled over them by degrees of freedom. A page’s wear is the density of its thumbed corner above the untouched zero of the same page. " +
		"What a picture adds and the pages that stand out are told against a smooth curve along each book (Whittaker 1923; Ruppert, Wand and Carroll 2003, section 4.9), with levels of its sections."
}

func (c *Corpus) readerMethod() string {
	x := &c.Compared
	if x.Readers == 0 {
		return ""
	}
	var offices []string
	for _, office := range x.Offices {
		offices = append(offices, office.String())
	}
	text := fmt.Sprintf("In each book the wear of every office of %s on a plain page comes from a mixed model that removes pictures, first pages of texts, the ends of the book and quires; shares have Fieller’s intervals (Fieller 1954). %s compared by these means over %s, relative to each reader’s own mean, with the errors that this division leaves.",
		x.of(), were(x.Readers), wording.List(offices))
	g := x.Grouping
	if g == nil || len(g.Gaps) == 0 {
		return text
	}
	text += fmt.Sprintf(" They were parted around medoids (Kaufman and Rousseeuw 1990) into 1 to %s groups and the number taken by the gap statistic (Tibshirani, Walther and Hastie 2001), against %s without groups along the principal axes.",
		wording.Whole(len(g.Gaps)), wording.Count(g.Options.References, "cloud", "clouds"))
	if g.Chosen > 1 {
		text += fmt.Sprintf(" The parting was set against that of readers of one kind, normal about one mean curve and measured with the same errors (after Liu and others 2008); and each group against those of %s of other readers from these, and of as many in which the curves were drawn again with their errors, by its mean Jaccard similarity (Hennig 2007), of which %s or more counts as coming out again. Groups must have a gap between them, where the density of readers is below half of the smaller peak: that more than chance was asked by Silverman 1981, along the axes on which readers differ most. Where this failed, or not all groups came out again, fewer were tried.",
			wording.Count(g.Options.Draws, "draw", "draws"), wording.Fixed(readers.Stable, 2))
	}
	return text
}

// Figures draws the figures of the corpus; see [Results.Figures].
func (c *Corpus) Figures() ([]Figure, error) { return renderAll(c.sketches()) }
