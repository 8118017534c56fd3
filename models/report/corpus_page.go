package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"thumbed/models/dropoff/readers"
	"thumbed/models/wording"
)

//go:embed corpus.html.tmpl
var corpusTemplate string

var corpusMaker = template.Must(template.Must(template.New("page").Parse(pageTemplate)).Parse(corpusTemplate))

// Write writes every face of the corpus into dir, a folder that exists and is
// empty: index.html, figures/, tables/ and results.json; see [Results.Write].
func (c *Corpus) Write(dir string) error { return writeFaces(dir, c) }

// WriteChecked writes the tables of books and of failures into dir, a folder that
// exists: all that is known of a corpus that was looked through and not run.
func (c *Corpus) WriteChecked(dir string) error {
	return fillWithSheets(dir, []sheet{c.bookSheet(), c.failureSheet()})
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
	Questions        []questionView
	Each             []eachView
	Readers, Sure    []string
	Verdict          string
	Side, Kinds, Gap *figureView
	KindGrid         Grid
	GapGrid          Grid
	ReaderGrid       Grid
	Models           []modelView
	EachGrid         Grid
	FailureCount     string
	Failures, Books  Grid
	Notes, Methods   []string
	References       []Reference
	Cautions         []caution

	ReadersLeft, FailuresLeft, BooksLeft string // what the page leaves to the tables
}

// An eachView is a question that is asked of each book.
type eachView struct{ Words, Counts, Foot string }

func (c *Corpus) view(figures []Figure) corpusView {
	once := c.once()
	v := corpusView{Meta: c.Meta, Style: template.CSS(inkStyle() + pageStyle), Cautions: cautions, Notes: wording.TypesetAll(c.Notes),
		Questions: once.questionViews(), FailureCount: c.FailureCount(), Readers: wording.TypesetAll(c.readerWords())}
	for _, e := range c.eachAnswers() {
		v.Each = append(v.Each, eachView{Words: e.question.Words, Counts: e.words(), Foot: fmt.Sprintf("Answered by the model “%s” in each book; the table answers has every one.", e.question.Model)})
	}
	for _, s := range c.Sentences() {
		if s.Topic == Sure {
			v.Sure = append(v.Sure, s.Text)
		}
	}
	if g := c.Compared.Grouping; g != nil {
		v.Verdict = verdictWord(g.Verdict)
	}
	shelf := newFigureShelf(figures)
	take := func(name, table string) *figureView {
		return shelf.find(func(f Figure) bool { return f.Name == name }, table)
	}
	v.ReaderGrid, v.ReadersLeft = c.readerGrid()
	v.KindGrid, v.GapGrid = c.kindGrid(), c.gapGrid()
	v.Side = take("readers", v.ReaderGrid.ID)
	if v.Kinds = take("reader-groups", v.ReaderGrid.ID); v.Kinds != nil && len(v.KindGrid.Rows) > 0 {
		v.Kinds.Table = v.KindGrid.ID
	}
	v.Gap = take("groups-gap", v.GapGrid.ID)
	for _, m := range once.Models {
		view := once.modelView(m)
		view.Figure = shelf.find(func(f Figure) bool { return f.model == m.Name }, "fixed-of-"+once.fitFile(m))
		v.Models = append(v.Models, view)
	}
	v.EachGrid = c.eachGrid()
	v.Failures, v.FailuresLeft = c.failureGrid()
	v.Books, v.BooksLeft = c.bookGrid()
	v.Methods, v.References = c.Methods()
	return v
}

// left says what of a long table the page leaves out.
func left(rows int, file string) string {
	if rows <= mostRows {
		return ""
	}
	return fmt.Sprintf("The first %s of %s are shown; tables/%s.csv has them all.", wording.Whole(mostRows), wording.Whole(rows), file)
}

func (c *Corpus) bookGrid() (Grid, string) {
	g := Grid{ID: "the-books", Caption: "The books, with the wear of their pages (density).", Long: true,
		Heads: heads("book", "folder", "pages measured#", "mean wear#", "scatter#", "a picture adds#", "stand out#", "most worn text"), Empty: "No book could be used."}
	for _, b := range c.Books[:min(len(c.Books), mostRows)] {
		row := []Cell{words(b.name()), words(b.Folder), whole(b.Measured), density(b.Wear), instead("–"), instead("–"), instead("–"), words("")}
		if b.Profiled {
			row[4], row[6] = density(b.Scatter), whole(b.Standouts)
			if b.PictureSE > 0 {
				row[5] = density(b.Picture)
			}
			row[7] = words(b.Most)
		}
		g.add(row...)
	}
	return g, left(len(c.Books), "books")
}

func (c *Corpus) failureGrid() (Grid, string) {
	g := Grid{ID: "the-failures", Caption: "What failed, while the rest went on.", Long: len(c.Failures) > 30,
		Heads: heads("folder", "book", "stage", "where", "what was found", "how to mend it"), Empty: "Nothing failed."}
	for _, f := range c.Failures[:min(len(c.Failures), mostRows)] {
		g.add(words(f.Folder), words(f.Book), words(f.Stage), words(f.inside()), words(wording.Typeset(wording.Sentence(f.Problem))), words(wording.Typeset(wording.Sentence(f.Remedy))))
	}
	return g, left(len(c.Failures), "failures")
}

func (c *Corpus) readerGrid() (Grid, string) {
	g := Grid{ID: "the-readers", Caption: "The readers: the share of readings carried on to the last office measured, and the group.", Long: true,
		Heads: heads("book", "hours", "carried on#", "95"+wording.Narrow+"% interval#", "group", "stays in it#", "place on the scale#", "95"+wording.Narrow+"% interval#", "remarks"), Empty: "No book has hours whose pages were measured."}
	for _, r := range c.Readers[:min(len(c.Readers), mostRows)] {
		last := len(r.Offices) - 1
		share, reach, kept, place, placed := instead("–"), instead("–"), instead("–"), instead("–"), instead("–")
		if last >= 0 && r.Refused == "" {
			o := r.Offices[last]
			share, reach = shown(o.Share, wording.Percent(o.Share)), percentInterval(o.Low, o.High)
		}
		if finite(r.Kept) {
			kept = shown(r.Kept, wording.Percent(r.Kept))
		}
		if r.Shape != nil && finite(r.Place) {
			place, placed = number(r.Place, 2), interval(r.PlaceLow, r.PlaceHigh, 2)
		}
		why := r.Why
		if why == "" {
			why = r.Refused
		}
		g.add(words(c.Books[r.Book].name()), words(setName(r.Set)), share, reach, words(r.Letter), kept, place, placed, words(wording.Typeset(wording.Sentence(why))))
	}
	return g, left(len(c.Readers), "readers")
}

func (c *Corpus) kindGrid() Grid {
	g := Grid{ID: "the-groups", Caption: "The groups tried. Similarities are of a group to the most similar one of a new draw, from 0 to 1 for the same.",
		Heads: heads("group", "readers#", "in its middle", "with other readers#", "measured again#", "comes out again")}
	for _, k := range c.kinds() {
		again := "no"
		if k.Holds {
			again = "yes"
		}
		g.add(words(k.Letter), whole(k.Readers), words(c.bookNamed(k.Medoid)), number(k.Sampling, 2), number(k.Measuring, 2), words(again))
	}
	return g
}

func (c *Corpus) gapGrid() Grid {
	g := Grid{ID: "the-gaps", Caption: "How many groups: the gap statistic.", Heads: heads("groups#", "log W#", "expected#", "gap#", "standard error#", "")}
	for _, gap := range c.gaps() {
		chosen := ""
		if gap.Groups == c.Compared.Grouping.Chosen {
			chosen = "chosen"
		}
		g.add(whole(gap.Groups), number(gap.LogW, 3), number(gap.Expected, 3), number(gap.Gap, 3), number(gap.SE, 3), words(chosen))
	}
	return g
}

func (c *Corpus) eachGrid() Grid {
	g := Grid{ID: "each-book", Caption: "Fixed effects over the books: half of the books have less than the median; a tenth have less than the lower and a tenth more than the upper end.", Long: true,
		Heads: heads("model", "effect", "books#", "median#", "from#", "to#", "interval above zero#", "below zero#")}
	for _, e := range c.eachTerms() {
		g.add(words(e.Model), words(e.Term), whole(e.Books), number(e.Median, 3), number(e.Low, 3), number(e.High, 3), whole(e.Above), whole(e.Below))
	}
	return g
}

// Methods says in paragraphs what was done, and lists the works cited.
func (c *Corpus) Methods() (paragraphs []string, cited []Reference) {
	whole := c.whole()
	return citing(c.passMethod(), c.readerMethod(), whole.modelMethod(), whole.questionMethod(), whole.softwareMethod())
}

func (c *Corpus) passMethod() string {
	return fmt.Sprintf("Reflection density (ISO 5-4) was read %s in %s. Each folder of tables is a campaign of its own: its repeatability (ISO 5725-2) and the drift of its instruments come from its own log. A page’s wear is the density of its thumbed corner above the untouched zero of the same page. "+
		"What a picture adds and the pages that stand out are told against a smooth curve along each book (Whittaker 1923; Ruppert, Wand and Carroll 2003, section 4.9), with levels of its sections.",
		wording.Count(c.readings(), "time", "times"), wording.Count(len(c.Books), "book", "books"))
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
	text := fmt.Sprintf("In each book the wear of every office of %s on a plain page comes from a mixed model that removes pictures, first pages of texts, the ends of the book and quires; shares carried on have Fieller’s intervals (Fieller 1954). %s compared by these means over %s, relative to each reader’s own mean, with the errors that this division leaves.",
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
