package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

//go:embed page.html.tmpl
var pageTemplate string

//go:embed first.html.tmpl
var firstTemplate string

//go:embed traces.html.tmpl
var tracesTemplate string

//go:embed page.css
var pageStyle string

//go:embed page.js
var pageScript string

var pageMaker = template.Must(template.Must(template.Must(template.New("page").Parse(pageTemplate)).Parse(firstTemplate)).Parse(tracesTemplate))

// Page writes the report as one self-contained HTML file: no script, no
// network, all figures inside. It opens with the answers, then the wear charts,
// then everything else.
func (r *Results) Page(w io.Writer) error {
	figures, err := r.Figures()
	if err != nil {
		return err
	}
	return r.page(w, figures)
}

// page writes the report around figures already drawn.
func (r *Results) page(w io.Writer, figures []Figure) error {
	return writePage(w, pageMaker, "page", r.view(figures))
}

// facesHere is where the style sheet takes the typefaces.
const facesHere = "/* typefaces */"

// writePage writes a page of the view by the template so named, with the letters of
// the typefaces that it uses inside.
func writePage(w io.Writer, maker *template.Template, name string, view any) error {
	var page bytes.Buffer
	if err := maker.ExecuteTemplate(&page, name, view); err != nil {
		return err
	}
	faces, err := fontFaces(pageFaces, page.String())
	if err != nil {
		return err
	}
	_, err = w.Write(bytes.Replace(page.Bytes(), []byte(facesHere), []byte(faces), 1))
	return err
}

// A pageView is all that the template shows.
type pageView struct {
	Meta       Meta
	Style      template.CSS
	Script     template.JS
	First      firstView
	Questions  []questionView
	Books      []bookView
	Together   []string
	Shared     []sharedView
	Compared   []string // of the pairs that the study names
	Pairs      grid.Grid
	Quires     bool
	Habits     bool
	Sure       []string
	Traces     *tracesView
	Robust     []robustView
	Models     []modelView
	Measuring  measuringView
	Methods    []string
	References []Reference
	Cautions   []caution
	StudyNotes []string
}

// A questionView is one question with its answers: one, or one for each book
// where its model is fitted book by book.
type questionView struct {
	Words   string
	Foot    string
	Answers []answerView
}

// An answerView is an answer's sentence, and whether it settles the question.
type answerView struct {
	Book, Sentence string
	Mark           template.HTML // whether it settles the question, as a shape
	Again          []string      // the answer once more, in other ways that the question asks for
}

type bookView struct {
	ID, Name string
	Facts    string
	Formula  string
	Short    []string   // what is said beside the chart
	Said     []saidView // what is said for the referee
	Wear     []*figureView
	Sections []*figureView
	Quires   []*figureView
	Grid     grid.Grid
	Standout grid.Grid
	Texts    grid.Grid
	Pictures grid.Grid
	Sets     []setView
	Habits   *habitView
	Pages    grid.Grid
	Notes    []string
	Failed   []string
	Profiled bool
}

// A saidView is the sentences of one topic about one book.
type saidView struct {
	Head  string
	Texts []string
}

type setView struct {
	Name    string
	Said    string
	Figure  []*figureView
	Offices grid.Grid
	Shares  grid.Grid
	Changes grid.Grid
	Has     bool // any number at all to show
	Notes   []string
}

type modelView struct {
	ID, Title, About, Facts, Failed string
	Fixed, Random                   grid.Grid
	Inferences                      []grid.Grid // what the model asks for besides its effects
	Figure                          []*figureView
	Boundary                        []string
	Correlations                    []string
	Notes                           []string
	Fitted                          bool
}

type measuringView struct {
	Precision, Drift, Excluded grid.Grid
	Figure                     []*figureView
	Agreement                  []*figureView // of instruments that read the same pages or spots
	Notes                      []string
	Has                        bool
}

type figureView struct {
	ID, Caption, Label, Table string
	File                      string
	SVG                       template.HTML
	Number                    int
}

func (r *Results) view(figures []Figure) pageView {
	v := pageView{Meta: r.Meta, Style: template.CSS(inkStyle() + pageStyle), Script: template.JS(pageScript), Cautions: r.cautions(), StudyNotes: wording.TypesetAll(r.Notes)}
	v.First = r.firstView()
	v.Questions = r.questionViews()
	shelf := newFigureShelf(figures)
	sentences := r.Sentences()
	for i, b := range r.Books {
		view := r.bookView(i)
		view.Said = said(sentences, b.Book.ID)
		for _, s := range sentences {
			if s.Book == b.Book.ID && !s.Aside && s.Topic != Asked {
				view.Short = append(view.Short, s.Text)
			}
		}
		v.Books = append(v.Books, view)
	}
	r.placeFigures(v.Books, shelf)
	v.Quires = slices.ContainsFunc(v.Books, func(b bookView) bool { return len(b.Quires) > 0 })
	v.Shared, v.Pairs = r.sharedViews(shelf), r.pairTable()
	v.Habits = r.placeHabits(v.Books, shelf)
	for _, s := range sentences {
		switch {
		case s.Book != "":
		case s.Topic == Sure:
			v.Sure = append(v.Sure, s.Text)
		case s.Topic == Stopped && !s.Aside:
			v.Together = append(v.Together, s.Text)
		}
	}
	for _, p := range r.Pairs {
		if p.Asked {
			v.Compared = append(v.Compared, r.pairSentence(p).Text)
		}
	}
	v.Traces = r.tracesView(shelf)
	v.Robust = r.robustViews(shelf)
	shown := map[string]bool{}
	for _, m := range r.Models {
		view := r.modelView(m)
		if !shown[m.Name] {
			view.Figure = shelf.take("effects-"+r.modelFile(m.Name), "fixed-of-"+r.fitFile(m))
			shown[m.Name] = true
		} else {
			view.About = ""
		}
		v.Models = append(v.Models, view)
	}
	v.Measuring = r.measuringView(shelf)
	v.Methods, v.References = r.Methods()
	return v
}

// A figureShelf hands out figures and numbers them in the order taken.
type figureShelf struct {
	figures []Figure
	taken   int
}

func newFigureShelf(figures []Figure) *figureShelf { return &figureShelf{figures: figures} }

// take takes the figures that stand in a part of the page; none where none is drawn.
// The table holds their numbers.
func (s *figureShelf) take(part, table string) (out []*figureView) {
	for _, f := range s.figures {
		if f.standsIn(part) {
			s.taken++
			out = append(out, &figureView{ID: "figure-" + f.Name, File: f.Name, Caption: f.onPage(), Label: f.Title, Table: table, SVG: template.HTML(f.inline), Number: s.taken})
		}
	}
	return out
}

// questionViews are the questions with their answers.
func (r *Results) questionViews() []questionView {
	var out []questionView
	for _, q := range r.asked() {
		shown := questionView{Words: q.words, Foot: questionFoot(q.answers[0])}
		for _, a := range q.answers {
			mark, _ := sureOf(a.Verdict != hypotheses.Open)
			view := answerView{Mark: mark, Sentence: wording.Typeset(wording.Sentence(a.Sentence))}
			for _, again := range a.Again() {
				view.Again = append(view.Again, wording.Typeset(again))
			}
			if a.Book != "" {
				view.Book = r.bookNameByID(a.Book)
			}
			shown.Answers = append(shown.Answers, view)
		}
		out = append(out, shown)
	}
	return out
}

// questionFoot says when a question was asked, and of which model.
func questionFoot(a hypotheses.Answer) string {
	q := a.Question
	var foot []string
	if when := a.When(); when != "" {
		foot = append(foot, when)
	}
	foot = append(foot, "answered by the model “"+q.Model+"”")
	if q.Family != "" {
		foot = append(foot, "adjusted within the family “"+q.Family+"”")
	}
	return wording.Sentence(strings.Join(foot, "; "))
}

func (r *Results) bookView(i int) bookView {
	b := r.Books[i]
	id := r.bookFile(b.Book)
	v := bookView{ID: id, Name: r.bookName(b.Book), Facts: bookFacts(b.Book), Formula: b.Book.Collation(), Failed: wording.TypesetAll(b.Failed), Notes: b.notes(), Profiled: b.Profile != nil}
	if b.Profile != nil {
		v.Grid, v.Standout, v.Pages = r.sectionGrid(i), r.standoutGrid(i), r.wearGrid(i)
		v.Texts, v.Pictures = r.textGrid(i), r.pictureGrid(i)
	}
	for _, c := range b.Declines {
		v.Sets = append(v.Sets, r.setView(b.Book, c))
	}
	return v
}

// notes are those on a book's wear along its pages.
func (b BookResult) notes() []string {
	var notes []string
	if b.Profile != nil {
		notes = wording.TypesetAll(b.Profile.Notes)
	}
	return append(notes, wording.TypesetAll(b.Book.Notes())...)
}

// placeFigures gives the books their figures in the order in which the page
// shows them: all wear charts, then the texts, the quires, then the drop-offs.
func (r *Results) placeFigures(books []bookView, shelf *figureShelf) {
	for i := range books {
		books[i].Wear = shelf.take("wear-"+books[i].ID, books[i].Pages.Name)
	}
	first := 0
	for i := range books {
		switch wear := books[i].Wear; {
		case wear == nil:
		case first == 0:
			first = wear[0].Number
		default:
			wear[0].Caption = fmt.Sprintf("As Figure%s%d.", wording.NoBreak, first)
		}
	}
	for i := range books {
		books[i].Sections = shelf.take("sections-"+books[i].ID, books[i].Grid.Name)
	}
	for i := range books {
		books[i].Quires = shelf.take("quires-"+books[i].ID, books[i].Pages.Name)
	}
	for i := range books {
		for k, c := range r.Books[i].Declines {
			set := &books[i].Sets[k]
			set.Figure = shelf.take("dropoff-"+r.setFile(r.Books[i].Book, c), set.Offices.Name)
		}
	}
}

// said gathers the sentences about one book by topic. Answers stand with their
// questions, not here.
func said(sentences []Sentence, book string) []saidView {
	var out []saidView
	for _, s := range sentences {
		if s.Book != book || !s.Aside || s.Topic == Asked {
			continue
		}
		head := s.Topic.Heading()
		if n := len(out); n > 0 && out[n-1].Head == head {
			out[n-1].Texts = append(out[n-1].Texts, s.Text)
			continue
		}
		out = append(out, saidView{head, []string{s.Text}})
	}
	return out
}

func (r *Results) setView(b *codex.Book, c *dropoff.Decline) setView {
	v := setView{Name: "The " + setName(c.Set) + " in " + r.quotedName(b), Said: stopSentence(r.quotedName(b), c).Text, Offices: r.officeGrid(b, c), Shares: r.shareGrid(b, c), Changes: r.changeGrid(b, c), Notes: seriesNotes(c.Changes, c.Notes)}
	v.Has = len(c.Offices) > 0
	return v
}

// seriesNotes are those on a series: on the changes along it (nil where none were
// looked for), then its own.
func seriesNotes(changes *dropoff.Changes, own []string) []string {
	if changes == nil {
		return wording.TypesetAll(own)
	}
	return append(wording.TypesetAll(changes.Notes), wording.TypesetAll(own)...)
}

func (r *Results) modelView(m ModelResult) modelView {
	v := modelView{ID: "model-" + r.fitFile(m), Title: wording.Capital(m.title(r)), About: wording.Sentence(m.About), Failed: wording.Typeset(wording.Sentence(m.Failed))}
	if m.Fit == nil {
		return v
	}
	v.Fitted = true
	v.Facts = r.modelText(m)
	v.Facts += fmt.Sprintf(" Rows used: %s; −2 log likelihood: %s.", wording.Whole(m.Fit.N), wording.Fixed(m.Fit.MinusTwiceLogLik, 3))
	v.Fixed, v.Random, v.Correlations = r.fixedGrid(m), r.randomGrid(m), r.variationSentences(m, "page", "pages")
	v.Inferences = InferenceTables("inference-of-"+r.fitFile(m), &m.Fit.Inferences, r.Labels, m.Model.Levels)
	v.Boundary, v.Notes = m.Fit.Boundary, fitNotes(&m.Fit.Inferences)
	if said := r.leftOutNote(m.Fit); said != "" {
		v.Notes = append([]string{said}, v.Notes...)
	}
	if !m.Fit.Converged {
		v.Notes = append([]string{"The search for the best fit did not converge: do not use these numbers until the notes below have been followed."}, v.Notes...)
	}
	return v
}

func (r *Results) measuringView(shelf *figureShelf) measuringView {
	if r.Readings == nil {
		return measuringView{}
	}
	v := measuringView{Precision: r.precisionGrid(), Drift: r.driftTable(), Excluded: r.excludedTable(), Notes: wording.TypesetAll(r.Readings.Notes), Has: true}
	v.Figure = shelf.take("drift", v.Drift.Name)
	v.Agreement = shelf.take("agreement", v.Precision.Name)
	return v
}

// bookFacts is what the catalogue says of a book, in one line.
func bookFacts(b *codex.Book) string {
	var facts []string
	if mark, ok := strings.CutPrefix(b.Title, shortTitle(b)+" ("); ok {
		facts = append(facts, strings.TrimSuffix(mark, ")"))
	}
	if b.Owner != "" {
		facts = append(facts, "owner: "+b.Owner)
	}
	for _, fact := range []string{b.Place, b.Date, b.Material} {
		if fact != "" {
			facts = append(facts, fact)
		}
	}
	leaves := wording.Count(len(b.Leaves), "leaf", "leaves")
	if n := lostLeaves(b); n > 0 {
		leaves += ", " + wording.Whole(n) + " of them lost"
	}
	return wording.Sentence(strings.Join(append(facts, leaves), "; "))
}

// inkStyle gives the palette to the style sheet: light, and dark on screens set
// so. Paper is always light.
func inkStyle() string {
	var light, dark strings.Builder
	for _, c := range palette {
		fmt.Fprintf(&light, "--%s:%s;", c.name, hexOf(c.light))
		fmt.Fprintf(&dark, "--%s:%s;", c.name, hexOf(c.dark))
	}
	return ":root{color-scheme:light dark;" + light.String() + "}\n@media screen and (prefers-color-scheme:dark){:root{" + dark.String() + "}}\n"
}
