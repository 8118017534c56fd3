package corpus

import (
	"errors"
	"fmt"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/outcome"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// A Corpus is a corpus file, read and checked, with the folders that it names.
type Corpus struct {
	Path string // of corpus.toml, as it was given
	File
	Folders []string // as paths from the folder of corpus.toml, in order

	text    []byte
	inputs  []study.FileSum // once run
	seal    *study.Seal     // nil where the corpus has none
	inquiry *study.Inquiry
	each    bool // some model is fitted book by book
}

// Open reads a corpus file and finds its folders; their tables are not read yet,
// but for the heads of pages.csv. path is corpus.toml or its folder. The error is
// a [*table.Fault] with every problem.
func Open(path string) (*Corpus, error) {
	if isFolder(path) {
		path = filepath.Join(path, FileName)
	}
	var ps table.Problems
	text, problem := study.ReadText(path, shape.What, FileName)
	if problem != nil {
		ps.Add(*problem)
		return nil, ps.Err()
	}
	file, where := parse(path, text, &ps)
	if file == nil {
		return nil, ps.Err()
	}
	c := &Corpus{Path: path, File: *file, text: text, inquiry: file.inquiry(path, where)}
	check := fileCheck{path: path, file: file, where: where, ps: &ps}
	c.Folders = check.findFolders(filepath.Dir(path))
	if c.Instruments != "" && !isFile(c.path(c.Instruments)) {
		check.problem(c.Instruments, "a table of instruments for all folders", "correct its path, or leave it out where each folder has its own", "instruments")
	}
	if ps.Len() == 0 {
		if err := c.checkColumns(&ps); err != nil {
			return nil, err
		}
	}
	c.each = slices.ContainsFunc(c.Models, func(m study.Model) bool { return m.Each != "" })
	if err := ps.Err(); err != nil {
		return nil, err
	}
	var err error
	c.seal, err = study.ReadSeal(filepath.Dir(path))
	return c, err
}

// Run computes everything that the corpus asks for. The results are the same on
// every run, with any number of processors and in whatever order folders are
// named. progress may be nil.
//
// Where a folder or a book failed, a model could not be fitted or a question not
// answered, the error is a [*study.Incomplete] that says so, and the results
// stand nonetheless.
func (c *Corpus) Run(progress study.Progress) (*report.Corpus, error) {
	return c.Finish(c.Pieces(0, len(c.Folders), progress), progress)
}

// Pieces computes those of the folders from one up to but not including another,
// on all processors.
func (c *Corpus) Pieces(from, to int, progress study.Progress) []Piece {
	return c.pieces(from, to, &pass{corpus: c}, progress.Of(parts(to-from)))
}

// pieces computes pieces by one kind of pass.
func (c *Corpus) pieces(from, to int, by *pass, progress study.Progress) []Piece {
	pieces := make([]Piece, to-from)
	var folders []study.Part
	for i, folder := range c.Folders[from:to] {
		folders = append(folders, study.Part{Name: folder, Do: func() { pieces[i] = by.do(folder) }})
	}
	study.RunAll(folders, progress)
	return pieces
}

// parts is the number of parts of a run over so many folders, models and readers
// one each.
func parts(folders int) int { return folders + 2 }

// leanGC is the garbage, in hundredths of what is in use, at which it is collected while
// models are fitted: their arrays are long, few, and quickly looked through.
const leanGC = 20

// Finish makes the results of the pieces of all folders, in any order.
func (c *Corpus) Finish(pieces []Piece, progress study.Progress) (*report.Corpus, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(leanGC))
	books, out := c.begin(pieces)
	c.inputs = c.allInputs(pieces)
	var fits []study.Fitted
	for i, b := range books {
		for _, r := range b.Readers {
			r.Book = i
			out.Readers = append(out.Readers, r)
		}
		fits = append(fits, b.Fits...)
	}
	pages, err := pagesOf(books, c.columns())
	if err != nil {
		return nil, fmt.Errorf("the pages of the books cannot be put together: %w", err)
	}
	out.Pages = pages
	tell(progress, parts(len(pieces))-1, parts(len(pieces)), "the models")
	fits = append(fits, c.inquiry.Once(pages, nil)...)
	settled := &report.Results{}
	ofTraces, err := c.traces(settled, books, pages)
	if err != nil {
		return nil, err
	}
	incomplete := c.inquiry.Settle(settled, fits, ofTraces)
	if err := c.foresee(settled, pieces); err != nil {
		return nil, err
	}
	out.Traces = settled.Traces
	out.Models, out.Answers, out.Notes, out.Seal = settled.Models, settled.Answers, settled.Notes, settled.Seal
	tell(progress, parts(len(pieces)), parts(len(pieces)), "the readers")
	c.compare(out)
	return out, c.incomplete(out, incomplete)
}

// traces fits the models of traces to the looks of all books; nil where the corpus has no
// coding book.
func (c *Corpus) traces(results *report.Results, books []bookPiece, pages *table.Table) (*study.TraceFits, error) {
	if len(c.Traces) == 0 {
		return nil, nil
	}
	results.Traces = &report.TraceResults{Coding: c.Traces, Models: []report.TraceModel{}}
	looks := make([]bookPiece, len(books))
	var ids []string
	var coded []traces.Coded
	for i, b := range books {
		for _, c := range b.Coded {
			c.Book = i
			coded = append(coded, c)
		}
		results.Traces.States = append(results.Traces.States, b.States...)
		looks[i] = bookPiece{Rows: b.Looks, Columns: b.LookColumns}
		ids = append(ids, b.Book.ID)
	}
	slices.SortStableFunc(results.Traces.States, func(a, b traces.State) int {
		place := func(s traces.State) int {
			return slices.IndexFunc(c.Traces, func(t traces.Trace) bool { return t.Name == s.Trace })
		}
		return place(a) - place(b)
	})
	results.Traces.Agreement = traces.AgreementsOf(c.Traces, coded)
	all, err := pagesOf(looks, c.inquiry.LookColumns())
	if err != nil {
		return nil, fmt.Errorf("the looks of the books cannot be put together: %w", err)
	}
	if all.Rows() == 0 {
		return nil, nil
	}
	return c.inquiry.FitTraces(results, ids, all, pages), nil
}

// allInputs are what the corpus and all its folders are read from.
func (c *Corpus) allInputs(pieces []Piece) []study.FileSum {
	inputs := c.ownInputs()
	for _, p := range pieces {
		inputs = append(inputs, p.Inputs...)
	}
	slices.SortStableFunc(inputs[1:], func(a, b study.FileSum) int { return strings.Compare(a.Path, b.Path) })
	return slices.Compact(inputs)
}

// ownInputs are what the corpus is read from beside its folders.
func (c *Corpus) ownInputs() []study.FileSum {
	inputs := []study.FileSum{study.SumOf(filepath.Base(c.Path), c.text)}
	if c.seal != nil {
		inputs = append(inputs, c.seal.Input())
	}
	return inputs
}

// begin puts pieces in order and makes results of what they say of folders and
// books alone.
func (c *Corpus) begin(pieces []Piece) ([]bookPiece, *report.Corpus) {
	byFolder(pieces)
	books, failures := booksOf(pieces)
	out := &report.Corpus{
		Meta:    report.Meta{Title: c.Title, Author: c.Author, Note: c.Note, Invented: c.Invented, Program: study.ThisBuild().Program},
		Folders: len(pieces), Failures: failures,
	}
	for _, b := range books {
		out.Books = append(out.Books, b.Book)
	}
	return books, out
}

// columns are those of pages that are kept of every book: what tells a page and its
// wear, and what the models fitted once need.
func (c *Corpus) columns() []string {
	names := []string{codex.ColumnBook, codex.ColumnPage, outcome.Wear, "wear_se", "limit"}
	for _, name := range c.inquiry.Columns() {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

func tell(progress study.Progress, done, total int, part string) {
	if progress != nil {
		progress(done, total, part)
	}
}

// incomplete says what is missing: of the folders, then of models and questions.
func (c *Corpus) incomplete(out *report.Corpus, models error) error {
	var missing []string
	if n := len(out.Failures); n > 0 {
		missing = append(missing, out.FailureCount()+" All else was computed without them; the table failures has them all.")
		missing = append(missing, out.FailureLines()...)
	}
	var unanswered *study.Incomplete
	if errors.As(models, &unanswered) {
		missing = append(missing, unanswered.Missing...)
	}
	if missing == nil {
		return nil
	}
	return &study.Incomplete{Missing: missing}
}
