package sheet

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"golang.org/x/text/encoding/htmlindex"

	"thumbed/models/table"
	"thumbed/models/table/document"
)

// A Mapping says how the scholar's words are written in our tables. All of it
// may be left out.
type Mapping struct {
	File string

	// Columns give the name of ours for each column: "Schwärzung" = "density".
	// A cell that holds a day and a time of day may fill two columns:
	// "Zeitpunkt" = ["date", "time"].
	Columns map[string]Names
	// Sheets give the table that each sheet is: "Lagen" = "leaves".
	Sheets map[string]string
	// Words give the word of ours for a cell's whole text, in any column: "ja" =
	// "yes". WordsOf give those of one column of ours, which go before.
	Words   map[string]string
	WordsOf map[string]map[string]string
	// Constant columns have one value in all rows of the tables that they belong to,
	// where these have no such column: book = "alder".
	Constant map[string]string
	// Readings are columns of a sheet that has a row a page, each of which holds one
	// reading of what is named: "Ecke 1" = "page", "Rand" = "zero".
	Readings map[string]string
	// Looks are columns of a sheet that has a row a page, each of which holds looks at
	// one thing, or of one observer: "Gesicht" = {part = "face"}.
	Looks map[string]Look
	// Known tells, where it is given, which names columns are known by, so that the
	// row of names is found.
	Known func(name string) bool
	// Dates is the order in which days are written as text: DayFirst,
	// monthFirst, or empty where they are written as 2026-03-09 already.
	Dates string
	// Times is HourPoint where times of day are written 14.05, empty where they are
	// not: such a number may be hours and a part of one.
	Times string
	// Units are marks behind numbers that are taken off, by our name of the
	// column: density = "D".
	Units map[string]string
	// Delimiter parts the columns of a .csv, and Decimal is the decimal mark in
	// text, "." or ",". Empty: told from the file.
	Delimiter string
	Decimal   string
	// Encoding is that of a .csv which is not UTF-8, by its name, such as
	// windows-1252; empty for UTF-8.
	Encoding string
}

// Orders in which days are written.
const (
	dayFirst   = "day-month-year"
	monthFirst = "month-day-year"
)

// hourPoint is how times of day are written 14.05.
const hourPoint = "hour.minute"

// A Look says of a column what its looks are at, and by whom, where the row's own columns
// do not.
type Look struct {
	Trace    string `toml:"trace"`                                    // the trace that was looked for
	Part     string `toml:"part"`                                     // the part of the page that was looked at
	Observer string `toml:"observer"`                                 // who looked
	Date     string `toml:"date"`                                     // the day of its looks
	Kind     string `toml:"kind" words:"grades / yes or no / counts"` // kind of the trace; told from the cells where not given, numbers being grades
	// what an empty cell means in a row that was looked at, such as no or 0; where not
	// given, that nobody looked
	Empty string `toml:"empty"`
}

// targets are what the instrument is placed on.
var targets = []string{"page", "zero", "tile"}

// Names are one name or two.
type Names []string

// A mappingFile is what the file of a mapping may hold.
type mappingFile struct {
	Columns map[string]any    `toml:"columns" kind:"text, or list of two texts, by name"` // by the scholar's name of a column, our name for it; or two names, where a cell holds a day and a time of day
	Sheets  map[string]string `toml:"sheets"`                                             // by the name of a sheet, the table of a study that it is
	Words   map[string]any    `toml:"words" kind:"text, or section of texts, by name"`    // by the whole text of a cell, our word for it; or, by our name of a column, the words of that column alone
	// by our name of a column, the value that it has in all rows of the tables it
	// belongs to that lack it, but where it can have none: a reading of the tile is of
	// no book, a spot is on a page
	Constant map[string]string `toml:"constant"`
	// of a sheet with a row a page: by the scholar's name of a column that holds one
	// reading, what the instrument was placed on: page, zero or tile
	Readings map[string]string `toml:"readings"`
	// of a sheet with a row a page: by the scholar's name of a column that holds looks,
	// what they are at and by whom, such as {part = "face"} or {observer = "HB"}. A cell
	// that begins with ? cannot be told, for the reason behind it
	Looks     map[string]Look   `toml:"looks"`
	Units     map[string]string `toml:"units"`                                         // by our name of a column, a mark behind its numbers that is taken off, such as D or mm
	Dates     string            `toml:"dates" words:"day-month-year / month-day-year"` // the order in which days are written, where not as 2026-03-09
	Times     string            `toml:"times" words:"hour.minute"`                     // how times of day are written, where as 14.05; 14:05, 14h05 and 2:05 pm are read without it
	Delimiter string            `toml:"delimiter" words:", / ; / \t / |"`              // mark between the columns of a .csv; told from the file where not given
	Decimal   string            `toml:"decimal" words:". / ,"`                         // decimal mark in text; told from the file where not given
	Encoding  string            `toml:"encoding"`                                      // name of the encoding of a .csv that is not UTF-8, such as windows-1252
}

// MappingShape is the shape of such a file, for the page that documents it.
var MappingShape = reflect.TypeFor[mappingFile]()

// Words that a mapping may give: what parts the columns of a text, and its decimal
// mark.
var (
	delimiterWords = []string{",", ";", "\t", "|"}
	decimalWords   = []string{".", ","}
)

// Kinds of traces that a column of looks may have; empty where its cells tell.
var lookKinds = []string{"", "grades", "yes or no", "counts"}

var shape = document.Shape{What: "a mapping", Root: MappingShape}

// ReadMapping reads a mapping, given as its text; file names it in problems. It
// gives nil with a problem where it cannot.
func ReadMapping(file string, data []byte, ps *table.Problems) *Mapping {
	known := ps.Len()
	doc := shape.Split(file, data, ps)
	if doc == nil {
		return nil
	}
	var raw mappingFile
	doc.Decode(file, &raw, ps)
	m := &Mapping{File: file, Columns: map[string]Names{}, Sheets: raw.Sheets, Words: map[string]string{}, WordsOf: map[string]map[string]string{}, Constant: raw.Constant, Readings: map[string]string{}, Looks: map[string]Look{},
		Dates: raw.Dates, Times: raw.Times, Units: raw.Units, Delimiter: raw.Delimiter, Decimal: raw.Decimal, Encoding: raw.Encoding}
	for column, value := range raw.Columns {
		if names, ok := namesOf(value); ok {
			m.Columns[tidy(column)] = names
			continue
		}
		ps.Add(table.Problem{File: file, Column: "columns." + column, Value: fmt.Sprint(value), Expected: "the name of a column, or two",
			Remedy: `write it such as "Schwärzung" = "density", or "Zeitpunkt" = ["date", "time"]`})
	}
	for word, value := range raw.Words {
		if !m.addWords(word, value) {
			ps.Add(table.Problem{File: file, Column: "words." + word, Value: fmt.Sprint(value), Expected: "a word of ours, or a section with the words of one column",
				Remedy: `write it such as "ja" = "yes", or [words.picture] and below it "ja" = "yes"`})
		}
	}
	for column, target := range raw.Readings {
		m.Readings[tidy(column)] = target
		if !slices.Contains(targets, target) {
			ps.Add(table.Problem{File: file, Column: "readings." + column, Value: target, Expected: "one of " + quoted(targets), Remedy: "write what the instrument was placed on"})
		}
	}
	for column, look := range raw.Looks {
		m.Looks[tidy(column)] = look
		if !slices.Contains(lookKinds, look.Kind) {
			ps.Add(table.Problem{File: file, Column: "looks." + column + ".kind", Value: look.Kind, Expected: "one of " + quoted(lookKinds[1:]), Remedy: "write one of these, or leave it out"})
		}
	}
	m.Check(ps)
	if ps.Len() > known {
		return nil
	}
	return m
}

// addWords enters a word, or the words of a column.
func (m *Mapping) addWords(word string, value any) bool {
	switch value := value.(type) {
	case string:
		m.Words[word] = value
	case map[string]any:
		m.WordsOf[word] = map[string]string{}
		for own, ours := range value {
			text, ok := ours.(string)
			if !ok {
				return false
			}
			m.WordsOf[word][own] = text
		}
	default:
		return false
	}
	return true
}

func namesOf(value any) (Names, bool) {
	var names Names
	switch value := value.(type) {
	case string:
		names = Names{value}
	case []any:
		for _, v := range value {
			name, ok := v.(string)
			if !ok {
				return nil, false
			}
			names = append(names, name)
		}
	}
	return names, (len(names) == 1 || len(names) == 2) && !slices.Contains(names, "")
}

// Check reports what is none of the words that may stand there.
func (m *Mapping) Check(ps *table.Problems) {
	if _, err := htmlindex.Get(m.Encoding); m.Encoding != "" && err != nil {
		ps.Add(table.Problem{File: m.File, Column: "encoding", Value: m.Encoding, Expected: "the name of an encoding, such as windows-1252", Remedy: "write it as the program names it that saved the table, or save the table again as UTF-8"})
	}
	for _, c := range []struct {
		key, value string
		allowed    []string
	}{{"dates", m.Dates, []string{dayFirst, monthFirst}}, {"times", m.Times, []string{hourPoint}}, {"decimal", m.Decimal, decimalWords}, {"delimiter", m.Delimiter, delimiterWords}} {
		if c.value != "" && !slices.Contains(c.allowed, c.value) {
			ps.Add(table.Problem{File: m.File, Column: c.key, Value: c.value, Expected: "one of " + quoted(c.allowed), Remedy: "write one of these, or leave the line out"})
		}
	}
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, word := range words {
		out[i] = fmt.Sprintf("%q", word)
	}
	return strings.Join(out, ", ")
}

// names gives the columns of ours that a column of the scholar's fills: its own
// name where the mapping has none for it.
func (m *Mapping) names(header string) Names {
	if m == nil {
		return Names{header}
	}
	if names, ok := m.Columns[header]; ok {
		return names
	}
	for column, names := range m.Columns {
		if strings.EqualFold(column, header) {
			return names
		}
	}
	return Names{header}
}

// maps tells whether the mapping has a name for a column.
func (m *Mapping) maps(header string) bool {
	names := m.names(header)
	return len(names) > 1 || names[0] != header || m.Columns[header] != nil || m.Readings[header] != "" || m.isLook(header) || m.Known != nil && m.Known(header)
}

// isLook tells whether a column holds looks.
func (m *Mapping) isLook(header string) bool {
	if m == nil {
		return false
	}
	_, is := m.Looks[header]
	return is
}

// tidy is a text without spaces at its ends, and with single ones inside.
func tidy(text string) string { return strings.Join(strings.Fields(text), " ") }
