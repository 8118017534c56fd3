package corpus

import (
	"errors"
	"fmt"
	"math"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
)

// The stages of a folder's way, as failures name them.
const (
	stageTables  = "tables"
	stageWear    = "wear"
	stageProfile = "profile"
	stageOffices = "offices"
	stageModels  = "models"
	stageNames   = "names"
	stageProgram = "program"
)

// A pass is the work on one folder.
type pass struct {
	corpus *Corpus
	ahead  bool // models are looked ahead at, and not fitted
	piece  Piece
	stage  string
}

// do computes the piece of one folder. A fault of the program itself is one more
// failure: it must not end the work on thousands of others.
func (by *pass) do(folder string) (piece Piece) {
	p := &pass{corpus: by.corpus, ahead: by.ahead, piece: Piece{Folder: folder}, stage: stageTables}
	defer func() {
		if fault := recover(); fault != nil {
			p.piece.Books = nil
			p.fail("", stageProgram, fmt.Errorf("a fault of the program itself in the stage “%s”: %v; please report it with the tables of this folder", p.stage, fault))
		}
		piece = p.piece
	}()
	if err := p.folder(); err != nil {
		p.piece.Books = nil
		p.fail("", p.stage, err)
	}
	return p.piece
}

// open reads and checks the tables of the folder, and notes what they held.
func (p *pass) open() (*study.Study, error) {
	c, dir := p.corpus, p.corpus.path(p.piece.Folder)
	var ps table.Problems
	tables, err := c.tablesIn(p.piece.Folder, &ps)
	if err != nil {
		return nil, err
	}
	s, err := study.OpenTables(dir, tables, c.Measuring, c.Traces)
	var fault *table.Fault
	switch {
	case errors.As(err, &fault):
		ps.Add(fault.Problems...)
	case err != nil:
		return nil, err
	}
	if err := ps.Err(); err != nil {
		p.seal(dir, tables)
		return nil, err
	}
	for _, input := range s.Inputs() {
		p.piece.Inputs = append(p.piece.Inputs, study.FileSum{Path: inFolder(p.piece.Folder, input.Path), SHA256: input.SHA256})
	}
	return s, nil
}

func (p *pass) folder() error {
	c := p.corpus
	s, err := p.open()
	if err != nil {
		return err
	}
	p.stage = stageWear
	wear, err := s.Wear()
	if err != nil {
		return err
	}
	data, err := s.Data()
	if err != nil {
		return err
	}
	if s.Log != nil { // else nothing was measured
		for _, r := range s.Log.Readings {
			if c.seal != nil && c.seal.Before(r.Day) {
				p.piece.Earlier++
			}
		}
	}
	looks, err := s.LookData()
	if err != nil {
		return err
	}
	rows := rowsByBook(data)
	for i, b := range s.Books {
		piece := p.book(s, i, wear, data, rows[b.ID])
		if looks != nil {
			p.looks(s, looks, &piece)
		}
		p.piece.Books = append(p.piece.Books, piece)
	}
	if looks != nil {
		for _, c := range s.Looks.Coded() {
			own := &p.piece.Books[len(p.piece.Books)-len(s.Books)+c.Book]
			own.Coded = append(own.Coded, c)
		}
	}
	return nil
}

// inFolder is the path of a table, seen from its folder, from that of corpus.toml.
func inFolder(folder, name string) string { return path.Join(folder, name) }

// seal notes what a folder held that could not be read.
func (p *pass) seal(dir string, t study.Tables) {
	for _, name := range slices.Concat([]string{t.Books, t.Leaves, t.Pages, t.Sections, t.Instruments}, t.Readings, t.Traces) {
		if name == "" {
			continue
		}
		if sealed, err := study.SealAt(inFolder(p.piece.Folder, name), filepath.Join(dir, filepath.FromSlash(name))); err == nil {
			p.piece.Inputs = append(p.piece.Inputs, sealed)
		}
	}
}

func rowsByBook(data *table.Table) map[string][]int {
	rows := map[string][]int{}
	book := data.Column(codex.ColumnBook)
	for i := range data.Rows() {
		rows[book.Label(i)] = append(rows[book.Label(i)], i)
	}
	return rows
}

// book is what is kept of one book; measured is what the whole folder's readings come to.
func (p *pass) book(s *study.Study, index int, measured *readings.Result, data *table.Table, rows []int) bookPiece {
	b, wear, precision := s.Books[index], measured.OfBook(index), measured.Precision
	out := bookPiece{Book: report.CorpusBook{Folder: p.piece.Folder, ID: strings.Clone(b.ID), Title: strings.Clone(b.Title), Short: strings.Clone(b.Short), Owner: strings.Clone(b.Owner), Leaves: len(b.Leaves), Measured: len(wear), Wear: math.NaN(), Repeatability: precision.Repeatability, RepeatabilityDF: precision.DF}, Rows: len(rows)}
	for _, leaf := range b.Leaves {
		if leaf.State == codex.Lost {
			out.Book.Lost++
		}
	}
	if s.Log != nil {
		for _, r := range s.Log.Readings {
			if r.Target != readings.OnTile && r.Book == index {
				out.Book.Readings++
				if s.Log.Instruments[r.Instrument].StatedSD > 0 {
					out.Book.Elsewhere++
				}
			}
		}
	}
	sum, numbers := 0.0, 0.0
	for _, w := range wear {
		if w.Limit != readings.Measured {
			out.Book.AtLimit++
			continue
		}
		sum += w.Density
		numbers++
	}
	if numbers > 0 {
		out.Book.Wear = sum / numbers
	}
	if len(wear) > 0 {
		p.stage = stageProfile
		p.profile(s, index, wear, measured.Shared, &out.Book)
		p.stage = stageOffices
		p.offices(s, index, wear, measured.Shared, &out)
	}
	for _, name := range p.corpus.columns() {
		if c := data.Column(name); c != nil {
			out.Columns = append(out.Columns, columnOf(c, rows))
		}
	}
	p.stage = stageModels
	switch own := []string{b.ID}; {
	case !p.corpus.each:
	case p.ahead:
		out.stumbles = p.corpus.inquiry.Ahead(own, data.Select(rows))
	default:
		out.Fits = p.corpus.inquiry.Each(own, data.Select(rows))
	}
	return out
}

// looks keeps of a book what was seen of traces, and the looks with the columns that
// models of traces need.
func (p *pass) looks(s *study.Study, looks *table.Table, out *bookPiece) {
	for _, state := range s.Looks.States() {
		if state.Book == out.Book.ID {
			out.States = append(out.States, state)
		}
	}
	rows := rowsByBook(looks)[out.Book.ID]
	out.Looks = len(rows)
	for _, name := range p.corpus.inquiry.LookColumns() {
		if c := looks.Column(name); c != nil {
			out.LookColumns = append(out.LookColumns, columnOf(c, rows))
		}
	}
}

func (p *pass) profile(s *study.Study, index int, wear []readings.Wear, shared []readings.Source, out *report.CorpusBook) {
	curve, err := profile.Unranked(s.Books, index, wear, shared...)
	if err != nil {
		p.fail(out.ID, stageProfile, err)
		return
	}
	out.Profiled = true
	out.Scatter, out.Picture, out.PictureSE = curve.Curve.Scatter, curve.Curve.Picture, curve.Curve.PictureSE
	out.Standouts = len(curve.Standouts)
	for i, area := range curve.Areas {
		if i == 0 || area.PerPage > out.MostWear {
			out.Most, out.MostWear, out.MostSE = s.Books[index].Sections[area.Section].Name, area.PerPage, area.PerPageSE
		}
	}
	out.Most = strings.Clone(out.Most) // the tables are let go
	out.MostDivided = curve.Divided(s.Books[index], wear, shared)
}

func (p *pass) offices(s *study.Study, index int, wear []readings.Wear, shared []readings.Source, out *bookPiece) {
	for _, set := range study.Sets(s.Books[index]) {
		c, err := dropoff.SharesOf(s.Books, index, set, wear, dropoff.Among{Shared: shared})
		if err != nil {
			p.fail(out.Book.ID, stageOffices, err)
			continue
		}
		r := report.CorpusReader{Set: strings.Clone(set), Offices: c.Offices, Refused: c.Refused, Kept: math.NaN(), Place: math.NaN(), PlaceLow: math.NaN(), PlaceHigh: math.NaN()}
		if covariance := c.Covariance(); covariance != nil {
			k := covariance.SymmetricDim()
			for i := range k * k {
				r.Covariance = append(r.Covariance, covariance.At(i/k, i%k))
			}
		}
		out.Readers = append(out.Readers, r)
	}
}

// mostProblems is how many problems of one folder are kept, mostAlike how many of
// these of one kind in one table: the first stand for a mistake that recurs row
// after row.
const (
	mostProblems = 200
	mostAlike    = 10
)

// fail notes a failure; every problem of the scholar's files is one of its own.
func (p *pass) fail(book, stage string, err error) {
	failure := report.CorpusFailure{Folder: p.piece.Folder, Book: book, Stage: stage, Problem: err.Error()}
	var fault *table.Fault
	if !errors.As(err, &fault) {
		p.piece.Failures = append(p.piece.Failures, failure)
		return
	}
	type kind struct{ file, column, expected string }
	alike, last := map[kind]int{}, map[kind]int{}
	kept := 0
	for i, problem := range fault.Problems {
		if kept == mostProblems {
			failure.Problem, failure.Remedy = fmt.Sprintf("found up to %d more problems; so many mostly have one cause.", len(fault.Problems)-i), "mend the first ones, and run again"
			p.piece.Failures = append(p.piece.Failures, failure)
			break
		}
		k := kind{problem.File, problem.Column, problem.Expected}
		if alike[k]++; alike[k] <= mostAlike {
			last[k] = len(p.piece.Failures)
			p.piece.Failures = append(p.piece.Failures, p.failed(failure, problem))
			kept++
		}
	}
	for k, n := range alike {
		if n > mostAlike {
			p.piece.Failures[last[k]].Remedy += fmt.Sprintf(" (and so %d more times in this table)", n-mostAlike)
		}
	}
}

// failed is a failure that tells a problem of the scholar's files.
func (p *pass) failed(f report.CorpusFailure, problem table.Problem) report.CorpusFailure {
	if name, err := filepath.Rel(p.corpus.path("."), problem.File); err == nil {
		problem.File = filepath.ToSlash(name)
	}
	f.Place, f.Remedy, f.Column, f.Expected = problem.Place(), problem.Remedy, problem.Column, problem.Expected
	problem.File, problem.Line, problem.Column, problem.Remedy = "", 0, "", ""
	f.Problem = problem.String()
	return f
}
