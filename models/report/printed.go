package report

import (
	"slices"
	"strings"

	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// A PrintedSection is one section of the results as a chapter prints them: what
// the page shows under the same heading, without what only a screen can show.
type PrintedSection struct {
	ID      string // one word, for names of files
	Heading string
	Parts   []PrintedPart
	// Appendix says that it holds what the answers rest on, and not the answers.
	Appendix bool
}

// A PrintedPart is what belongs together in a section, such as all of one book.
type PrintedPart struct {
	ID      string // for names of files; empty in a section of one part
	Said    []Said
	Figures []PrintedFigure
	Tables  []grid.Grid
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
	Alt                  string // what a reader who cannot see it needs to know
}

// Printed is all that a chapter prints, in the order of the page. The wear of
// every single page is left to the files.
func (r *Results) Printed() []PrintedSection {
	p := printing{r, r.plainSketches()}
	return printedOnly(
		p.answers(), p.traces(), p.wear(), p.stops(),
		appendix(p.answersInFull()), appendix(p.texts()), appendix(p.standouts()), appendix(p.habits()), appendix(p.coding()), appendix(p.robustness()), appendix(p.models()), appendix(p.traceModels()), appendix(p.measuring()), appendix(p.notes()), appendix(p.quires()),
	)
}

func appendix(s PrintedSection) PrintedSection {
	s.Appendix = true
	return s
}

// printedOnly are the sections that hold something, with the parts of them that do.
func printedOnly(sections ...PrintedSection) []PrintedSection {
	var out []PrintedSection
	for _, s := range sections {
		s.Parts = slices.DeleteFunc(s.Parts, func(p PrintedPart) bool { return len(p.Said)+len(p.Figures)+len(p.Tables) == 0 })
		if len(s.Parts) > 0 {
			out = append(out, s)
		}
	}
	return out
}

// Files lists the tables on disk, for an appendix that points to them.
func (r *Results) Files() grid.Grid { return filesTable(r.sheets()) }

func filesTable(sheets []grid.Grid) grid.Grid {
	m := grid.Of("files", "Tables on disk", sheets)
	m.Note = "They stand in the folder tables beside this chapter’s: CSV in UTF-8, each with a Table Schema that says what its columns mean."
	m.Show("File", func(g grid.Grid) grid.Cell { return grid.Words(g.Name + ".csv") })
	m.Show("What it holds", func(g grid.Grid) grid.Cell { return grid.Words(g.Title) })
	m.Show("Rows#", func(g grid.Grid) grid.Cell { t, _ := g.Disk(); return grid.Whole(t.Rows()) })
	m.Show("Columns#", func(g grid.Grid) grid.Cell { _, schema := g.Disk(); return grid.Whole(len(schema.Fields)) })
	return m.Made()
}

// printing is results on their way into print, with the figures that are drawn
// of them.
type printing struct {
	*Results
	drawn []sketch
}

// figures are those that stand in a part, the first with what it shows; none where none
// is drawn.
func (p printing) figures(part, shows string) []PrintedFigure {
	var out []PrintedFigure
	for _, f := range p.drawn {
		if f.standsIn(part) {
			out, shows = append(out, PrintedFigure{f.Name, f.Title, strings.TrimSpace(f.Caption + " " + shows), f.Alt}), ""
		}
	}
	return out
}

// sentences makes each note a sentence.
func sentences(notes []string) []string {
	out := make([]string, len(notes))
	for i, note := range notes {
		out[i] = wording.Sentence(note)
	}
	return out
}
