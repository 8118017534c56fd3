package study

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/traces"
)

// FileName is what a study file is called in a study's folder.
const FileName = "study.toml"

// A Study is a study file with all its tables, read and checked.
type Study struct {
	Path string // of study.toml, as it was given
	File
	Books []*codex.Book
	Log   *readings.Log
	Looks *traces.Looks // nil where no trace is looked for

	text   []byte // of study.toml
	inputs []FileSum
	images []report.Images
	seal   *Seal // nil where the study has none
	where  document.Where
	wear   func() (*readings.Result, error)
	data   func() (*table.Table, error)
	looks  func() (*table.Table, error)

	processors []string // that drew what was gathered from parts

	misread []table.Problem // of the study file, where only its books were asked for
}

// Open reads a study and all its tables. path is study.toml or its folder. The
// error is a [*table.Fault] with every problem of every file.
func Open(path string) (*Study, error) {
	path = inFolder(path, FileName)
	var ps table.Problems
	text, problem := ReadText(path, shape.What, FileName)
	if problem != nil {
		ps.Add(*problem)
		return nil, ps.Err()
	}
	file, where := parse(path, text, &ps)
	if file == nil {
		return nil, ps.Err()
	}
	s := &Study{Path: path, File: *file, text: text, where: where}
	before := ps.Len()
	s.load(&ps)
	if ps.Len() == before { // else the columns of the data are not known
		s.checkModels(&ps)
		s.checkReaders(&ps)
		s.placeKnown(&ps)
	}
	s.loadImages(&ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if err := s.sealInputs(); err != nil {
		return nil, err
	}
	var err error
	if s.seal, err = s.readSeal(); err != nil {
		return nil, err
	}
	s.compute()
	return s, nil
}

// OpenTables reads the tables of a folder that has no study file. Models and
// questions there are none; the paths of tables are from the folder, coding is the
// coding book of its looks. The error is as that of [Open].
func OpenTables(dir string, tables Tables, measuring Measuring, coding []traces.Trace) (*Study, error) {
	s := &Study{Path: filepath.Join(dir, FileName), File: File{Tables: tables, Measuring: measuring, Traces: coding}}
	var ps table.Problems
	s.load(&ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if err := s.sealTables(); err != nil {
		return nil, err
	}
	s.compute()
	return s, nil
}

// compute has wear and data computed once, when they are asked for.
func (s *Study) compute() {
	s.wear = sync.OnceValues(s.measure)
	s.data = sync.OnceValues(s.join)
	s.looks = sync.OnceValues(s.joinLooks)
}

// Inputs are what the study was read from, sealed: the study file where there is
// one, and its tables.
func (s *Study) Inputs() []FileSum { return s.inputs }

// largest is the size of a study file, in bytes, beyond which it is surely
// something else.
const largest = 16 << 20

// ReadText reads a file such as study.toml; what is the kind of file in words,
// name how it is usually called.
func ReadText(path, what, name string) ([]byte, *table.Problem) {
	text, err := table.Content(path, largest)
	if err == nil {
		return text, nil
	}
	p := table.Unreadable(path, err)
	if errors.Is(err, table.ErrNoFile) || errors.Is(err, table.ErrTooLarge) {
		p.Expected = what + ", a short text in TOML"
		p.Remedy = fmt.Sprintf("give the path of %s, or of the folder that holds it", name)
	} else {
		p.Expected = what + " that can be read"
		p.Remedy += "; thumbed demo makes a study to begin from"
	}
	return nil, &p
}

// inFolder is path, or where that is a folder the file of this name in it.
func inFolder(path, name string) string {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return filepath.Join(path, name)
	}
	return path
}

// load reads the tables that the study file names; what it does not name was
// reported when the file was read.
func (s *Study) load(ps *table.Problems) {
	t := s.Tables
	if t.Books == "" || t.Leaves == "" {
		return
	}
	s.Books = codex.Load(codex.Paths{Books: s.near(t.Books), Leaves: s.near(t.Leaves),
		Pages: s.near(t.Pages), Sections: s.near(t.Sections)}, ps)
	if len(t.Traces) > 0 {
		s.loadLooks(ps)
	}
	if t.Instruments == "" || len(t.Readings) == 0 {
		return
	}
	paths := readings.Paths{Instruments: s.near(t.Instruments), Paired: s.near(t.Paired)}
	for _, path := range t.Readings {
		paths.Readings = append(paths.Readings, s.near(path))
	}
	books := s.Books
	if slices.ContainsFunc(books, func(b *codex.Book) bool { return len(b.Leaves) == 0 }) {
		books = nil // that is told; what hangs on leaves waits until they are there
	}
	s.Log = readings.Load(paths, books, ps)
}

// Text is the study file as it was read.
func (s *Study) Text() []byte { return s.text }

// near gives a path of the study file as a path from here.
func (s *Study) near(path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(s.Path), filepath.FromSlash(path))
}

func (s *Study) options() readings.Options {
	m := s.Measuring
	return readings.Options{Drift: m.Drift, SpotSpread: m.SpotSpread, Solid: m.Solid,
		Spreads: readings.Spreads{Day: m.DaySpread, Observer: m.ObserverSpread, Instrument: m.InstrumentSpread, Placing: m.PlacingSpread, From: m.SpreadSource}}
}

// sealInputs notes what the study file and its tables held.
func (s *Study) sealInputs() error {
	s.inputs = []FileSum{SumOf(filepath.Base(s.Path), s.text)}
	return s.sealTables()
}

func (s *Study) sealTables() error {
	t := s.Tables
	for _, path := range slices.Concat([]string{t.Books, t.Leaves, t.Pages, t.Sections, t.Instruments, t.Paired}, t.Readings, t.Traces, s.manifests()) {
		if path == "" {
			continue
		}
		sealed, err := SealAt(path, s.near(path))
		if err != nil {
			return fmt.Errorf("a table of the study cannot be read a second time: %w; run again when nobody else works on the files", err)
		}
		s.inputs = append(s.inputs, sealed)
	}
	return nil
}

// Days are those of the first and the last reading or look; empty where there is none.
func (s *Study) Days() (first, last string) {
	take := func(day string) {
		if first == "" || day < first {
			first = day
		}
		last = max(last, day)
	}
	if s.Log != nil {
		for i := range s.Log.Readings {
			take(s.Log.Readings[i].Day)
		}
	}
	if s.Looks != nil {
		for i := range s.Looks.All {
			take(s.Looks.All[i].Day)
		}
	}
	return first, last
}

// Wear is the deposit on every measured page, with the report on the measuring.
// It is computed once.
func (s *Study) Wear() (*readings.Result, error) { return s.wear() }

func (s *Study) measure() (*readings.Result, error) {
	if s.Log == nil {
		return &readings.Result{}, nil // traces alone
	}
	result, err := s.Log.Wear(s.options())
	if err != nil {
		return nil, err
	}
	// Results name files from the study's folder, wherever that stands.
	for i := range result.Excluded {
		e := &result.Excluded[i]
		if name, err := filepath.Rel(filepath.Dir(s.Path), e.File); err == nil {
			e.File = filepath.ToSlash(name)
		}
	}
	return result, nil
}

// Data is the table that models are fitted to: one row a page of every leaf
// still there, its features as [codex.Features] gives them and its wear as
// [readings.Join] appends it. Books stand in the order of their names, so that
// no digit of a fit depends on the order of rows in books.csv. It is computed
// once; callers must not change it.
func (s *Study) Data() (*table.Table, error) { return s.data() }

func (s *Study) join() (*table.Table, error) {
	wear, err := s.Wear()
	if err != nil {
		return nil, err
	}
	return s.joined(wear)
}

// joined puts wear to the pages.
func (s *Study) joined(wear *readings.Result) (*table.Table, error) {
	byName := slices.Clone(s.Books)
	slices.SortStableFunc(byName, func(a, b *codex.Book) int { return strings.Compare(a.ID, b.ID) })
	joined, err := readings.Join(codex.Features(byName), s.Books, wear)
	if err != nil || s.Looks == nil {
		return joined, err
	}
	return joined, addColumns(joined, s.Looks.PageColumns(joined))
}

// Book finds a book by its id.
func (s *Study) Book(id string) (*codex.Book, error) {
	var ids []string
	for _, b := range s.Books {
		if b.ID == id {
			return b, nil
		}
		ids = append(ids, b.ID)
	}
	if near := table.Nearest(id, ids); near != "" {
		return nil, fmt.Errorf("the study has no book %q; did you mean %q?", id, near)
	}
	return nil, fmt.Errorf("the study has no book %q; it has %q", id, ids)
}

// index is the place of a book among the study's; -1 where there is none.
func (s *Study) index(id string) int {
	return slices.IndexFunc(s.Books, func(b *codex.Book) bool { return b.ID == id })
}

// Rows are the rows of the study's data that one of its models is fitted to:
// all that fulfil the model's only, and in a model fitted book by book those of
// the book named; book is empty otherwise.
func (s *Study) Rows(model, book string) (*table.Table, error) {
	for i := range s.Models {
		if m := &s.Models[i]; m.Name == model {
			data, err := s.Data()
			if err != nil {
				return nil, err
			}
			return data.Select(m.rows(data, book)), nil
		}
	}
	return nil, fmt.Errorf("the study has no model %q", model)
}

// rows lists the rows of data that the model is fitted to.
func (m *Model) rows(data *table.Table, book string) []int {
	keep := m.Only
	if m.Each != "" {
		labels := []string{book}
		if only, limited := m.Only[m.Each]; limited {
			labels = common(only, book)
		}
		keep = maps.Clone(m.Only)
		if keep == nil {
			keep = map[string][]string{}
		}
		keep[m.Each] = labels
	}
	return matching(data, keep)
}

// common is the label alone where it is among labels, and nothing else.
func common(labels []string, label string) []string {
	for _, l := range labels {
		if l == label {
			return []string{label}
		}
	}
	return nil
}

// matching lists the rows whose columns all have one of the labels to keep.
func matching(data *table.Table, keep map[string][]string) []int {
	allowed := map[*table.Column]map[string]bool{}
	for column, labels := range keep {
		set := map[string]bool{}
		for _, label := range labels {
			set[label] = true
		}
		allowed[data.Column(column)] = set
	}
	var rows []int
	for i := range data.Rows() {
		all := true
		for column, set := range allowed {
			all = all && column != nil && set[column.Label(i)]
		}
		if all {
			rows = append(rows, i)
		}
	}
	return rows
}
