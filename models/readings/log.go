package readings

import (
	"iter"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Paths are the tables of the log.
type Paths struct {
	Instruments string
	Readings    []string
	Paired      string // spots that several instruments read; empty: none
}

// A Log is every reading of a study with the instruments that took them.
type Log struct {
	Instruments []Instrument
	// Readings are all readings, excluded ones too, ordered by what they say
	// (book, page, day, instrument, observer, target, …), books by their names,
	// whatever the order of rows and files was.
	Readings []Reading
	// Notes are plain sentences on what is odd in the log without being wrong.
	Notes []string

	books       []*codex.Book
	conversions []conversion // of each instrument; without a slope it is not converted
	paired      []Agreement  // of the instruments on paired spots
	out         *[2]string   // the first and the last of the days that are left out; nil: none
}

// WithoutDays is the log less what was read from one day to another; it shares the rest
// with l, which may be long.
func (l *Log) WithoutDays(first, last string) *Log {
	less := *l
	less.out = &[2]string{first, last}
	return &less
}

// left are the readings that are not left out.
func (l *Log) left() iter.Seq[*Reading] {
	return func(yield func(*Reading) bool) {
		for i := range l.Readings {
			r := &l.Readings[i]
			if l.out != nil && l.out[0] <= r.Day && r.Day <= l.out[1] {
				continue
			}
			if !yield(r) {
				return
			}
		}
	}
}

// Load reads the instruments and the readings of books. Every problem found
// goes to ps; where there is none the log is complete, and otherwise it holds
// what could be understood and no wear should be computed from it.
func Load(paths Paths, books []*codex.Book, ps *table.Problems) *Log {
	instruments := LoadInstruments(paths.Instruments, ps)
	if len(paths.Readings) == 0 {
		ps.Add(table.Problem{Column: "readings", Expected: "at least one file of readings",
			Remedy: "name the files in the study file, under [tables]"})
	}
	var tables []*table.Table
	for i, path := range paths.Readings {
		if slices.Contains(paths.Readings[:i], path) {
			ps.Add(table.Problem{File: path, Expected: "each file of readings once", Value: path,
				Remedy: "strike it out where it is named a second time, or its readings would count twice"})
			continue
		}
		if t := table.ReadFile(path, ps); t != nil {
			tables = append(tables, t)
		}
	}
	log := FromTables(instruments, tables, books, ps)
	var pairs *paired
	if paths.Paired != "" {
		pairs = loadPaired(paths.Paired, log.Instruments, ps)
	}
	log.convert(pairs, paths.Instruments, ps)
	return log
}

// FromTables is [Load] for tables that are at hand.
func FromTables(instruments []Instrument, tables []*table.Table, books []*codex.Book, ps *table.Problems) *Log {
	log := &Log{books: books, Instruments: instruments}
	reader := newReader(log, ps)
	for _, t := range tables {
		reader.read(t)
	}
	log.Readings = sortReadings(log.Readings, books)
	log.checkTwins(ps)
	log.checkZeros(reader.spoiltZeros, ps)
	log.noteScale()
	log.noteObservers()
	return log
}

// NewLog makes a log of readings that were not read from tables: drawn ones, for
// example. File, Line and Limit need not be given; Limit is what the instrument
// shows.
func NewLog(instruments []Instrument, readings []Reading, books []*codex.Book) *Log {
	l := &Log{Instruments: instruments, Readings: slices.Clone(readings), books: books}
	for i := range l.Readings {
		r := &l.Readings[i]
		r.Limit = instruments[r.Instrument].Limit(r.Density)
	}
	l.Readings = sortReadings(l.Readings, books)
	return l
}
