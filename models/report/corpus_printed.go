package report

import (
	"strings"

	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// mostPrinted is how many books a chapter prints in a table; more are left to the
// table on disk.
const mostPrinted = 60

// Heading is what stands above a chapter of the results.
func (r *Results) Heading() Meta { return r.Meta }

// Heading is what stands above a chapter of the corpus.
func (c *Corpus) Heading() Meta { return c.Meta }

// Files lists the tables on disk; see [Results.Files].
func (c *Corpus) Files() grid.Grid { return filesTable(c.sheets()) }

// Printed is all that a chapter prints of the corpus; see [Results.Printed].
func (c *Corpus) Printed() []PrintedSection {
	p := printing{c.once(), c.plainSketches()}
	answers := p.answers()
	for _, q := range c.askedOfEach() {
		answers.Parts[0].Said = append(answers.Parts[0].Said, Said{Head: q.words, Paragraphs: []string{eachWords(q)}})
	}
	models := p.models()
	if each := c.eachGrid(); each.Count() > 0 {
		models.Parts = append(models.Parts, PrintedPart{ID: "each-book", Tables: []grid.Grid{each}})
	}
	return printedOnly(answers, c.printedReaders(p), c.printedTraces(p), c.printedBooks(), c.printedFailures(), appendix(p.answersInFull()), appendix(c.printedCoding()), appendix(models), appendix(p.traceModels()))
}

func (c *Corpus) printedReaders(p printing) PrintedSection {
	part := PrintedPart{Said: []Said{{Paragraphs: wording.TypesetAll(c.readerWords())}}}
	for _, name := range []string{"readers", "reader-groups", "groups-gap"} {
		part.Figures = append(part.Figures, p.figures(name, "")...)
	}
	for _, t := range []grid.Grid{c.kindTable(), c.gapTable()} {
		if t.Count() > 0 {
			part.Tables = append(part.Tables, t)
		}
	}
	return PrintedSection{ID: "readers", Heading: "The readers side by side", Parts: []PrintedPart{part}}
}

// printedTraces prints the answers on traces, what was looked at, and what was seen of
// each book where these are few.
func (c *Corpus) printedTraces(p printing) PrintedSection {
	s := PrintedSection{ID: "traces", Heading: "Traces of use"}
	if c.Traces == nil {
		return s
	}
	var part PrintedPart
	for _, g := range []grid.Grid{p.printedTold(), p.traceGrid()} {
		if g.Count() > 0 {
			part.Tables = append(part.Tables, g)
		}
	}
	if seen := c.seenGrid(); seen.Count() <= mostPrinted {
		part.Tables = append(part.Tables, seen)
	} else {
		part.Said = []Said{{Paragraphs: []string{"What was seen in each book stands in tables/trace_states.csv."}}}
	}
	part.Tables = append(part.Tables, p.codingGrid())
	s.Parts = []PrintedPart{part}
	return s
}

// printedCoding prints how far observers agree over all books.
func (c *Corpus) printedCoding() PrintedSection {
	s := PrintedSection{ID: "coding", Heading: "Traces: agreement"}
	if c.Traces == nil || len(c.Traces.Agreement) == 0 {
		return s
	}
	once := c.once()
	part := PrintedPart{Said: []Said{{Paragraphs: once.Traces.said()}}, Tables: []grid.Grid{once.agreedGrid()}}
	if g := once.gradeGrid(); g.Count() > 0 {
		part.Tables = append(part.Tables, g)
	}
	s.Parts = []PrintedPart{part}
	return s
}

// printedBooks prints the table of books where these are few, and else says where
// it stands.
func (c *Corpus) printedBooks() PrintedSection {
	part := PrintedPart{Said: []Said{{Paragraphs: []string{c.held() + " were used. The table of all stands in tables/books.csv."}}}}
	if t := c.bookGrid(); t.Count() > 0 && t.Count() <= mostPrinted {
		part.Tables = []grid.Grid{t.Named("books", "")}
	}
	return PrintedSection{ID: "books", Heading: "The books", Parts: []PrintedPart{part}}
}

// printedFailures tells of failures in words, which can be broken into lines
// whatever names the folders have.
func (c *Corpus) printedFailures() PrintedSection {
	told := []string{c.FailureCount()}
	if len(c.Failures) > 0 {
		told[0] += " Each failure stands in tables/failures.csv."
		for _, line := range c.FailureLines() {
			told = append(told, wording.Typeset(strings.TrimSpace(line)))
		}
	}
	return PrintedSection{ID: "failures", Heading: "What failed and why", Parts: []PrintedPart{{Said: []Said{{Paragraphs: told}}}}}
}
