package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
)

// A PrintedSection is one section of the results as a chapter prints them: what
// the page shows under the same heading, without what only a screen can show.
type PrintedSection struct {
	ID      string // one word, for names of files
	Heading string
	Parts   []PrintedPart
}

// A PrintedPart is what belongs together in a section, such as all of one book.
type PrintedPart struct {
	ID      string // for names of files; empty in a section of one part
	Said    []Said
	Figures []PrintedFigure
	Tables  []PrintedTable
}

// Said is what is said under one heading, a paragraph each.
type Said struct {
	Head       string // empty where the section's heading is enough
	Paragraphs []string
}

// A PrintedFigure is a figure of [Results.Figures] with the caption that it has
// where no text stands around it: how to read it, and what it shows, in numbers.
type PrintedFigure struct {
	Name, Title, Caption string
}

// A PrintedTable is a table in panels that share their heads.
type PrintedTable struct {
	Name    string // of its file, without extension
	Title   string
	Caption string // the title, how to read the table, and what it counts
	Heads   []Head
	Panels  []Panel
}

// A Panel is a part of a table, mostly one book's.
type Panel struct {
	Heading string // empty where the table has one panel only
	Rows    [][]Cell
	Empty   string // what to say where there are no rows
}

// Printed is all that a chapter prints, in the order of the page. The wear of
// every single page is left to the files.
func (r *Results) Printed() []PrintedSection {
	p := printing{r, map[string]Figure{}}
	for _, s := range r.plainSketches() {
		p.drawn[s.Name] = s.Figure
	}
	var out []PrintedSection
	for _, s := range []PrintedSection{
		p.answers(), p.wear(), p.texts(), p.standouts(), p.stops(), p.habits(), p.robustness(), p.models(), p.measuring(),
	} {
		s.Parts = slices.DeleteFunc(s.Parts, func(p PrintedPart) bool { return len(p.Said)+len(p.Figures)+len(p.Tables) == 0 })
		if len(s.Parts) > 0 {
			out = append(out, s)
		}
	}
	return out
}

// Cautions are those of the page.
func (r *Results) Cautions() []Said {
	var out []Said
	for _, c := range cautions {
		out = append(out, Said{c.Head, []string{c.Body}})
	}
	return out
}

// Files lists the tables on disk, for an appendix that points to them.
func (r *Results) Files() PrintedTable {
	t := PrintedTable{Name: "files", Title: "Tables on disk", Heads: heads("File", "What it holds", "Rows#", "Columns#"),
		Caption: "The tables on disk, in the folder tables beside this chapter’s: CSV in UTF-8, each with a Table Schema that says what its columns mean."}
	var p Panel
	for _, s := range r.sheets() {
		p.Rows = append(p.Rows, []Cell{words(s.name + ".csv"), words(s.title), whole(s.table.Rows()), whole(len(s.schema.Fields))})
	}
	t.Panels = []Panel{p}
	return t
}

// print makes a table of one panel from one of the page's.
func (g Grid) print(name, more string) PrintedTable {
	return PrintedTable{Name: name, Title: g.Caption, Caption: captioned(g.Caption, more), Heads: g.Heads, Panels: []Panel{{Rows: g.Rows, Empty: g.Empty}}}
}

// captioned joins a caption's title and what is added to it.
func captioned(title, more string) string {
	return strings.TrimSpace(sentence(title) + " " + more)
}

// printing is results on their way into print, with the figures that are drawn
// of them, by name.
type printing struct {
	*Results
	drawn map[string]Figure
}

// figure is the one of that name with what it shows; none where it is not drawn.
func (p printing) figure(name, shows string) []PrintedFigure {
	f, ok := p.drawn[name]
	if !ok {
		return nil
	}
	return []PrintedFigure{{f.Name, f.Title, strings.TrimSpace(f.Caption + " " + shows)}}
}

func (r printing) answers() PrintedSection {
	var p PrintedPart
	for _, q := range r.questionViews() {
		said := Said{Head: q.Words}
		for _, a := range q.Answers {
			text := a.Sentence
			if a.Verdict != "" {
				text = a.Verdict + ": " + text
			}
			if a.Book != "" {
				text = "In “" + a.Book + "”: " + text
			}
			said.Paragraphs = append(said.Paragraphs, strings.Join(append([]string{text}, a.Again...), " "))
		}
		said.Paragraphs = append(said.Paragraphs, q.Foot)
		p.Said = append(p.Said, said)
	}
	if len(r.Answers) > 0 {
		p.Tables = append(p.Tables, r.answerTable())
	}
	return PrintedSection{"answers", "The answers", []PrintedPart{p}}
}

// answerTable holds the answers under their questions: one for all books, or one
// for each.
func (r *Results) answerTable() PrintedTable {
	t := PrintedTable{Name: "answers", Title: "The questions asked and their answers"}
	units := r.answerUnits()
	against := slices.ContainsFunc(r.Answers, func(a hypotheses.Answer) bool { return a.Against != nil })
	t.Heads = heads("Books", "Estimate#", "95"+narrow+"% interval#", "Degrees of freedom#", "p#", "p, adjusted#")
	if against {
		t.Heads = append(t.Heads, heads("p, against#")...)
	}
	t.Heads = append(t.Heads, heads("Answer")...)
	t.Caption = captioned(t.Title, fmt.Sprintf("Estimates are effects in %s; p is against no effect in the asked direction, alone and adjusted over the family.", List(units)))
	if against {
		t.Caption += " The p against is that against an effect as large as would matter, adjusted likewise: a small one speaks for no."
	}
	asked := ""
	for _, a := range r.Answers {
		if key := a.Question.Model + "\x00" + a.Question.Words; key != asked {
			asked = key
			t.Panels = append(t.Panels, Panel{Heading: sentence(a.Question.Words) + r.matters(a.Question)})
		}
		name := "all together"
		if a.Book != "" {
			name = r.bookNameByID(a.Book)
		}
		last := &t.Panels[len(t.Panels)-1]
		last.Rows = append(last.Rows, answerRow(name, a, against))
	}
	return t
}

func answerRow(name string, a hypotheses.Answer, against bool) []Cell {
	decimals := Decimals(a.Effect.SE)
	row := []Cell{words(name), number(a.Effect.Estimate, decimals), interval(a.Effect.Low, a.Effect.High, decimals),
		shown(a.Effect.DF, DF(a.Effect.DF)), shown(a.P, PValue(a.P)), shown(a.Adjusted, PValue(a.Adjusted))}
	if against {
		cell := instead("")
		if a.AgainstAdjusted != nil {
			cell = shown(*a.AgainstAdjusted, PValue(*a.AgainstAdjusted))
		}
		row = append(row, cell)
	}
	return append(row, words(a.Verdict))
}

// matters is the smallest effect that would matter to a question, with its unit.
func (r *Results) matters(q hypotheses.Question) string {
	unit := r.outcomeUnit(q.Model)
	if q.Smallest == 0 {
		return " (" + unit + ")"
	}
	return fmt.Sprintf(" (matters from %s %s)", strconv.FormatFloat(q.Smallest, 'f', -1, 64), unit)
}

// answerUnits are the units of the answers' effects, each once.
func (r *Results) answerUnits() []string {
	var out []string
	for _, a := range r.Answers {
		if unit := r.outcomeUnit(a.Question.Model); unit != "" && !slices.Contains(out, unit) {
			out = append(out, unit)
		}
	}
	return out
}

func (r printing) wear() PrintedSection {
	s := PrintedSection{ID: "wear", Heading: "The wear, page by page"}
	for i, b := range r.Books {
		part := PrintedPart{ID: r.bookFile(b.Book)}
		said := Said{Head: r.bookName(b.Book), Paragraphs: append([]string{bookFacts(b.Book)}, sentences(typesetAll(b.Failed))...)}
		if p := b.Profile; p != nil {
			said.Paragraphs = append(said.Paragraphs, sentences(r.bookView(i).Notes)...)
			shows := fmt.Sprintf("%s measured; of %s tested, %s with pictures, %s out at a false-discovery rate of %s.",
				capital(Count(len(r.wearOf(i)), "page", "pages")), Whole(p.Tested), Whole(p.Pictures), standing(len(p.Standouts)), Percent(p.Rate))
			part.Figures = r.figure("wear-"+part.ID, shows)
		}
		part.Said = []Said{said}
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (r printing) texts() PrintedSection {
	s := PrintedSection{ID: "texts", Heading: "The texts"}
	for i, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		part := PrintedPart{ID: r.bookFile(b.Book)}
		part.Figures = r.figure("sections-"+part.ID, readSentence(r.quotedName(b.Book), b).Text)
		if g := r.sectionGrid(i); len(g.Rows) > 0 {
			part.Tables = []PrintedTable{g.print("sections-"+part.ID, fmt.Sprintf("%s; an interval stands for each of them alone.", capital(Count(len(g.Rows), "text", "texts"))))}
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (r printing) standouts() PrintedSection {
	var part PrintedPart
	t := PrintedTable{Name: "standouts", Title: "Pages that stand above the text pages of their own section"}
	count := 0
	for i, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		part.Said = append(part.Said, Said{Paragraphs: []string{pictureSentence(r.quotedName(b.Book), b).Text}})
		g := r.standoutGrid(i)
		t.Heads = g.Heads
		t.Panels = append(t.Panels, Panel{r.bookName(b.Book), g.Rows, g.Empty})
		count += len(g.Rows)
	}
	if count > 0 {
		t.Caption = captioned(t.Title, fmt.Sprintf("%s in all, with the density by which each stands above the level of its section; p is adjusted over all pages of its book that were tested.", capital(Count(count, "page", "pages"))))
		part.Tables = append(part.Tables, t)
	}
	return PrintedSection{"standouts", "Pages that stand out", []PrintedPart{part}}
}

func (r printing) stops() PrintedSection {
	s := PrintedSection{ID: "stops", Heading: Stopped.Heading()}
	offices := PrintedTable{Name: "offices", Title: "How far the day’s offices were carried on"}
	changes := PrintedTable{Name: "changes", Title: "Changes of level along the day’s offices"}
	pages, found := 0, 0
	for _, b := range r.Books {
		for _, c := range b.Carried {
			part := PrintedPart{ID: r.setFile(b.Book, c)}
			part.Figures = r.figure("dropoff-"+part.ID, stopSentence(r.quotedName(b.Book), c).Text)
			heading := r.bookName(b.Book) + ": " + setName(c.Set)
			o, g := r.officeGrid(b.Book, c), r.changeGrid(b.Book, c)
			offices.Heads, changes.Heads = o.Heads, g.Heads
			offices.Panels = append(offices.Panels, Panel{heading, o.Rows, uncompared(c)})
			changes.Panels = append(changes.Panels, Panel{heading, g.Rows, g.Empty})
			for _, office := range c.Offices {
				pages += office.Pages
			}
			if notes := r.setView(b.Book, c).Notes; len(notes) > 0 {
				part.Said = []Said{{heading, sentences(notes)}}
			}
			found += len(g.Rows)
			s.Parts = append(s.Parts, part)
		}
	}
	if len(offices.Panels) > 0 {
		offices.Caption = captioned(offices.Title, fmt.Sprintf("%s, %s measured; shares are of the wear of the first office.", capital(Count(len(offices.Panels), "set of hours", "sets of hours")), Count(pages, "page", "pages")))
		changes.Caption = captioned(changes.Title, fmt.Sprintf("%s in %s; the place of a change and its size each have an interval.", capital(Count(found, "change", "changes")), Count(len(offices.Panels), "set of hours", "sets of hours")))
		s.Parts = append(s.Parts, PrintedPart{ID: "all", Tables: []PrintedTable{offices, changes}})
	}
	s.Parts = append(s.Parts, r.sharedParts()...)
	return s
}

// sharedParts are what books say together of where their readers stopped.
func (r printing) sharedParts() []PrintedPart {
	var out []PrintedPart
	for _, shared := range r.Shared {
		part := PrintedPart{ID: "shared-" + r.sharedFile(shared)}
		said := r.sharedSentence(shared).Text
		if part.Figures = r.figure(part.ID, said); part.Figures == nil {
			part.Said = []Said{{Paragraphs: []string{said}}}
		}
		if g := r.sharedGrid(shared); len(g.Rows) > 0 {
			part.Tables = []PrintedTable{g.print(part.ID, fmt.Sprintf("%s, one a row.", capital(Count(len(g.Rows), "book", "books"))))}
		}
		out = append(out, part)
	}
	if len(r.Pairs) > 0 {
		part := PrintedPart{ID: "pairs", Said: []Said{{Head: "The readers side by side"}}}
		for _, s := range r.togetherSentences()[len(r.Shared):] {
			part.Said[0].Paragraphs = append(part.Said[0].Paragraphs, s.Text)
		}
		part.Tables = []PrintedTable{r.pairGrid().print("reader-pairs", fmt.Sprintf("%s; p is adjusted over them.", capital(Count(len(r.Pairs), "pair", "pairs"))))}
		out = append(out, part)
	}
	return out
}

func (r printing) habits() PrintedSection {
	s := PrintedSection{ID: "habits", Heading: "Where a different habit begins"}
	t := PrintedTable{Name: "habits", Title: "Changes of level along whole books"}
	found := 0
	for _, b := range r.Books {
		if b.Habits == nil {
			continue
		}
		part := PrintedPart{ID: r.bookFile(b.Book)}
		said, notes := habitSentence(r.quotedName(b.Book), b).Text, typesetAll(b.Habits.Notes)
		if b.Habits.Changes != nil {
			g := r.habitGrid(b)
			t.Heads = g.Heads
			t.Panels = append(t.Panels, Panel{r.bookName(b.Book), g.Rows, g.Empty})
			found += len(g.Rows)
			notes = append(typesetAll(b.Habits.Changes.Notes), notes...)
		}
		if part.Figures = r.figure("habits-"+part.ID, said); part.Figures == nil {
			notes = append([]string{said}, notes...)
		}
		if len(notes) > 0 {
			part.Said = []Said{{r.bookName(b.Book), sentences(notes)}}
		}
		s.Parts = append(s.Parts, part)
	}
	if len(t.Panels) > 0 {
		t.Caption = captioned(t.Title, fmt.Sprintf("%s in %s, found without a look at the sections; the place of a change and its size each have an interval.", capital(Count(found, "change", "changes")), Count(len(t.Panels), "book", "books")))
		s.Parts = append(s.Parts, PrintedPart{ID: "all", Tables: []PrintedTable{t}})
	}
	return s
}

// uncompared says why a set of hours has no offices to show.
func uncompared(c *dropoff.Carried) string {
	if c.Refused == "" {
		return "No office of this set could be compared."
	}
	return typeset(sentence(c.Refused))
}

func (r printing) robustness() PrintedSection {
	s := PrintedSection{ID: "robustness", Heading: "The answers under other choices"}
	for _, b := range r.Robustness {
		shows := ""
		if stated := b.stated(); stated != nil {
			shows = fmt.Sprintf("The study’s own answer rests on %s.", Count(stated.N, "page", "pages"))
		}
		part := PrintedPart{ID: b.file(r.Results)}
		part.Figures = r.figure("robustness-"+part.ID, shows)
		part.Tables = append(part.Tables, r.robustGrid(b).print("robustness-"+part.ID, "Each row answers the question anew, with one choice made otherwise than the study file has it; p stands alone, in the asked direction, without adjustment."))
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (r printing) models() PrintedSection {
	s := PrintedSection{ID: "models", Heading: "The models"}
	var names []string
	for _, m := range r.Models {
		if slices.Contains(names, m.Name) {
			continue
		}
		names = append(names, m.Name)
		part := PrintedPart{ID: r.modelFile(m.Name), Figures: r.figure("effects-"+r.modelFile(m.Name), r.answersOf(m.Name))}
		if said := r.modelSaid(m); len(said.Paragraphs) > 0 {
			part.Said = []Said{said}
		}
		if fits := r.fitsOf(m.Name); len(fits) > 0 {
			part.Tables = []PrintedTable{r.fixedTable(m.Name, fits), r.randomTable(m.Name, fits)}
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// modelSaid is what a model's numbers need said beside them; what holds for several
// books is said once.
func (r *Results) modelSaid(first ModelResult) Said {
	said := Said{Head: "The model “" + first.Name + "”"}
	books := map[string][]string{}
	for _, m := range r.Models {
		if m.Name != first.Name {
			continue
		}
		for _, text := range r.fitSaid(m) {
			if _, known := books[text]; !known {
				said.Paragraphs = append(said.Paragraphs, text)
			}
			books[text] = append(books[text], m.Book)
		}
	}
	for i, text := range said.Paragraphs {
		if of := books[text]; of[0] != "" {
			names := make([]string, len(of))
			for k, id := range of {
				names[k] = r.quotedNameByID(id)
			}
			said.Paragraphs[i] = "In " + List(names) + ": " + text
		}
	}
	if first.About != "" {
		said.Paragraphs = append([]string{sentence(first.About)}, said.Paragraphs...)
	}
	return said
}

// fitSaid is what one fit's numbers need said beside them.
func (r *Results) fitSaid(m ModelResult) []string {
	v := r.modelView(m)
	var out []string
	if v.Failed != "" {
		out = append(out, "Not fitted. "+v.Failed)
	}
	if len(v.Boundary) > 0 {
		out = append(out, "On the boundary: "+strings.Join(v.Boundary, "; ")+".")
	}
	return append(out, sentences(v.Notes)...)
}

func (r *Results) fitsOf(name string) []ModelResult {
	var out []ModelResult
	for _, m := range r.Models {
		if m.Name == name && m.Fit != nil {
			out = append(out, m)
		}
	}
	return out
}

// fitPanel is a panel of one fit: under the book where the model is fitted book
// by book, with what it rests on.
func (r *Results) fitPanel(m ModelResult, rows [][]Cell) Panel {
	if m.Book == "" {
		return Panel{Rows: rows}
	}
	return Panel{Heading: fmt.Sprintf("%s (%s)", r.bookNameByID(m.Book), fitFacts(m)), Rows: rows}
}

func fitFacts(m ModelResult) string {
	return fmt.Sprintf("%s, −2 log likelihood %s", Count(m.Fit.N, "page", "pages"), Fixed(m.Fit.Criterion, 3))
}

// fitsCaption says of a table of fits what it rests on.
func fitsCaption(title string, fits []ModelResult) string {
	if fits[0].Book == "" {
		return captioned(title, sentence(fitFacts(fits[0])))
	}
	return captioned(title, fmt.Sprintf("Fitted in each of %s by itself.", Count(len(fits), "book", "books")))
}

func (r *Results) fixedTable(name string, fits []ModelResult) PrintedTable {
	title := fmt.Sprintf("Fixed effects of the model “%s” on %s (%s)", name, fits[0].Model.Outcome, r.outcomeUnit(name))
	t := PrintedTable{Name: "fixed-" + r.modelFile(name), Title: title}
	t.Caption = fitsCaption(title, fits) + " p is two-sided."
	for _, m := range fits {
		g := r.fixedGrid(m)
		g.dropLast() // drawn on the page only
		t.Heads = g.Heads
		t.Panels = append(t.Panels, r.fitPanel(m, g.Rows))
	}
	return t
}

func (r *Results) randomTable(name string, fits []ModelResult) PrintedTable {
	title := fmt.Sprintf("Random effects and residual of the model “%s” (%s)", name, r.outcomeUnit(name))
	t := PrintedTable{Name: "random-" + r.modelFile(name), Title: title, Caption: fitsCaption(title, fits)}
	correlated := false
	var grids []Grid
	for _, m := range fits {
		g, has := r.wholeRandomGrid(m)
		grids = append(grids, g)
		correlated = correlated || has
	}
	for i, m := range fits {
		if !correlated {
			grids[i].dropLast()
		}
		t.Heads = grids[i].Heads
		t.Panels = append(t.Panels, Panel{Heading: r.bookNameByID(m.Book), Rows: grids[i].Rows})
	}
	return t
}

// answersOf tells in brief what a model answered.
func (r *Results) answersOf(model string) string {
	var told []string
	words := ""
	for _, a := range r.Answers {
		if a.Question.Model != model {
			continue
		}
		effect := fmt.Sprintf("%s: %s, adjusted %s", a.Verdict, Estimate(a.Effect.Estimate, a.Effect.Low, a.Effect.High, Decimals(a.Effect.SE)), P(a.Adjusted))
		if a.Book != "" {
			effect = r.quotedNameByID(a.Book) + " " + effect
		}
		if a.Question.Words == words {
			told[len(told)-1] += "; " + effect
			continue
		}
		words = a.Question.Words
		told = append(told, sentence(words)+" "+capital(effect))
	}
	if len(told) == 0 {
		return ""
	}
	return strings.Join(told, ". ") + "."
}

func (r printing) measuring() PrintedSection {
	var part PrintedPart
	section := func() PrintedSection { return PrintedSection{"measuring", "The measuring", []PrintedPart{part}} }
	var sure []string
	for _, said := range []Sentence{r.precisionSentence(), r.limitSentence(), cautionSentence()} {
		if said.Text != "" {
			sure = append(sure, said.Text)
		}
	}
	if r.Readings == nil {
		part.Said = []Said{{Paragraphs: sure}}
		return section()
	}
	part.Said = []Said{{Paragraphs: append(sure, sentences(typesetAll(r.Readings.Notes))...)}}
	if len(r.Notes) > 0 {
		part.Said = append(part.Said, Said{Head: "On the study", Paragraphs: sentences(typesetAll(r.Notes))})
	}
	c := r.Readings.Counted
	part.Tables = append(part.Tables, r.precisionGrid().print("precision", fmt.Sprintf("%s on %s.", capital(Count(c.Readings, "reading", "readings")), Count(c.Days, "day", "days"))))
	if g := r.driftGrid(); len(g.Rows) > 0 {
		part.Figures = r.figure("drift", fmt.Sprintf("%s on %s.", capital(Count(c.Tile, "reading of a tile", "readings of a tile")), Count(c.Days, "day", "days")))
		part.Tables = append(part.Tables, g.print("drift", "In density, with the standard error of the correction at mid-day."))
	}
	if g := r.excludedGrid(); len(g.Rows) > 0 {
		part.Tables = append(part.Tables, g.print("excluded", fmt.Sprintf("%s of %s.", Whole(c.Excluded), Count(c.Readings, "reading", "readings"))))
	}
	return section()
}

// sentences makes each note a sentence.
func sentences(notes []string) []string {
	out := make([]string, len(notes))
	for i, note := range notes {
		out[i] = sentence(note)
	}
	return out
}
