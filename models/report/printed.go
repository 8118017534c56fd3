package report

import (
	"slices"
	"strings"
	"thumbed/models/wording"
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
	p := printing{r, drawnBy(r.plainSketches())}
	return printedOnly(
		p.answers(), p.wear(), p.texts(), p.quires(), p.standouts(), p.stops(), p.habits(), p.robustness(), p.models(), p.measuring(),
	)
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
func (r *Results) Files() PrintedTable { return filesTable(r.sheets()) }

func filesTable(sheets []sheet) PrintedTable {
	t := PrintedTable{Name: "files", Title: "Tables on disk", Heads: heads("File", "What it holds", "Rows#", "Columns#"),
		Caption: "The tables on disk, in the folder tables beside this chapter’s: CSV in UTF-8, each with a Table Schema that says what its columns mean."}
	var p Panel
	for _, s := range sheets {
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
	return strings.TrimSpace(wording.Sentence(title) + " " + more)
}

// printing is results on their way into print, with the figures that are drawn
// of them, by name.
type printing struct {
	*Results
	drawn map[string]Figure
}

// drawnBy are the figures of sketches by name.
func drawnBy(sketches []sketch) map[string]Figure {
	out := map[string]Figure{}
	for _, s := range sketches {
		out[s.Name] = s.Figure
	}
	return out
}

// figure is the one of that name with what it shows; none where it is not drawn.
func (p printing) figure(name, shows string) []PrintedFigure {
	f, ok := p.drawn[name]
	if !ok {
		return nil
	}
	return []PrintedFigure{{f.Name, f.Title, strings.TrimSpace(f.Caption + " " + shows)}}
}

// sentences makes each note a sentence.
func sentences(notes []string) []string {
	out := make([]string, len(notes))
	for i, note := range notes {
		out[i] = wording.Sentence(note)
	}
	return out
}
