package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits of what is read as a table. They stop a file that is not a table, or
// a hostile one, before it fills the memory.
const (
	mostColumns = 4096
	mostRows    = 50_000_000
	// mostRunes is the longest cell that a spreadsheet can hold; a longer one
	// comes of a quotation mark that is missing somewhere.
	mostRunes = 32767
)

// ReadFile reads the CSV file at path. Every problem found goes to ps, with
// path as its file; the table returned holds the rows that could be read, and
// is nil only where the file as a whole could not.
//
// Cells are trimmed of spaces at their ends, empty lines and lines of empty
// cells are passed over, and so are unnamed columns at the end in which no row
// has a value.
func ReadFile(path string, ps *Problems) *Table {
	file, err := Open(path)
	if err != nil {
		ps.Add(Unreadable(path, err))
		return nil
	}
	defer file.Close() // only read from
	size := int64(0)
	if info, err := file.Stat(); err == nil {
		size = info.Size()
	}
	return read(path, file, size, ps)
}

// Read reads CSV text; file names it in problems. See [ReadFile].
func Read(file string, data []byte, ps *Problems) *Table {
	return read(file, bytes.NewReader(data), int64(len(data)), ps)
}

// ReadFrom reads CSV text as it comes; file names it in problems. See
// [ReadFile].
func ReadFrom(file string, in io.Reader, ps *Problems) *Table {
	return read(file, in, 0, ps)
}

// read reads CSV text of size bytes; 0 where that is not known.
func read(file string, in io.Reader, size int64, ps *Problems) *Table {
	text := newTextReader(file, in, ps)
	if text == nil {
		return nil
	}
	r := &rowReader{csv: csv.NewReader(text), text: text, file: file, size: size, ps: ps}
	r.csv.FieldsPerRecord = -1
	r.csv.ReuseRecord = true
	if !r.header() {
		return nil
	}
	for r.row() {
	}
	for k, c := range r.table.columns {
		c.cells = r.cells[k].finish()
		c.Numbers = numbers(c.cells)
	}
	return r.table
}

// A rowReader fills a table row by row.
type rowReader struct {
	csv   *csv.Reader
	text  *textReader // that it reads
	file  string
	size  int64 // of the file in bytes; 0 where not known
	ps    *Problems
	table *Table
	cells []cellWriter // one a column
}

// next gives the next record and its line; false at the end. Records that
// cannot be parted into fields are reported and passed over.
func (r *rowReader) next() (record []string, line int, ok bool) {
	for {
		record, err := r.csv.Read()
		if err == nil {
			line, _ := r.csv.FieldPos(0)
			return record, line, true
		}
		if err == io.EOF {
			return nil, 0, false
		}
		var parse *csv.ParseError
		if errors.Is(err, errEndless) {
			r.ps.Add(r.text.endless())
			return nil, 0, false
		}
		if !errors.As(err, &parse) {
			r.ps.Add(Problem{File: r.file, Value: "the file up to a place where reading failed", Expected: "a file that can be read to its end",
				Remedy: fmt.Sprintf("copy it to another place and try again (the system says: %v)", err)})
			return nil, 0, false
		}
		r.ps.Add(quoteProblem(r.file, parse))
	}
}

func quoteProblem(file string, parse *csv.ParseError) Problem {
	p := Problem{File: file, Line: parse.StartLine, Value: "a quotation mark out of place",
		Expected: "fields quoted as RFC 4180 has it",
		Remedy:   `write a field that holds quotation marks "like ""this""", and take single ones out`}
	if parse.Line > parse.StartLine {
		p.Value = "a quotation mark that is not closed"
		p.Remedy = fmt.Sprintf("close it; the field that begins in this line runs on to line %d, and the rows between could not be read", parse.Line)
	}
	return p
}

// header reads the columns' names.
func (r *rowReader) header() bool {
	known := r.ps.Len()
	record, line, ok := r.next()
	if !ok {
		if r.ps.Len() == known {
			r.ps.Add(Problem{File: r.file, Line: 1, Expected: "a line of column names",
				Remedy: "the file is empty: put the columns' names in its first line"})
		}
		return false
	}
	names, ok := checkHeader(r.file, line, record, r.ps)
	if !ok {
		return false
	}
	r.table = &Table{File: r.file, index: map[string]int{}}
	r.cells = make([]cellWriter, len(names))
	for k, name := range names {
		r.table.index[name] = k
		r.table.columns = append(r.table.columns, &Column{Name: name})
	}
	return true
}

// row reads one row; false at the end.
func (r *rowReader) row() bool {
	record, line, ok := r.next()
	if !ok {
		return false
	}
	t := r.table
	if blank(record) {
		return true
	}
	width := len(t.columns)
	if len(record) < width || !blank(record[width:]) {
		r.ps.Add(widthProblem(r.file, line, record, width))
		return true
	}
	if t.rows == mostRows {
		r.ps.Add(Problem{File: r.file, Line: line, Value: "more rows", Expected: fmt.Sprintf("at most %d rows", mostRows),
			Remedy: "split the table over several files"})
		return false
	}
	if t.rows == cap(t.lines) {
		r.makeRoom()
	}
	for k, c := range t.columns {
		cell := strings.TrimSpace(record[k])
		if len(cell) > mostRunes && utf8.RuneCountInString(cell) > mostRunes {
			r.ps.Add(Problem{File: r.file, Line: line, Column: c.Name, Value: strings.Clone(cell[:4*shownRunes]),
				Expected: fmt.Sprintf("at most %d characters in a cell", mostRunes), Remedy: "look for a quotation mark that is missing in or before this line"})
			cell = ""
		}
		r.cells[k].add(cell)
	}
	t.lines = append(t.lines, int32(line))
	t.rows++
	return true
}

// makeRoom gives all columns room for more rows: for as many as the part of
// the file that is read leads to expect, yet no more than four times those
// read, and for half as many again where the size is not known. The built-in
// append would copy long columns many times and leave them a quarter empty.
func (r *rowReader) makeRoom() {
	rows := r.table.rows
	room := 64 + rows + rows/2
	if read := r.csv.InputOffset(); r.size > 0 && rows > 0 && read > 0 {
		expected := int(float64(rows)*float64(r.size)/float64(read)*1.02) + 16
		room = min(max(expected, rows+rows/8+16), 64+4*rows)
	}
	for k := range r.cells {
		r.cells[k].grow(room)
	}
	r.table.lines = withRoom(r.table.lines, room)
}

// widthProblem tells of a row with too few fields or too many.
func widthProblem(file string, line int, record []string, width int) Problem {
	p := Problem{File: file, Line: line, Value: beginning(record),
		Expected: fmt.Sprintf("%d fields, as in the first line, not %d", width, len(record)),
		Remedy:   "give the missing fields, empty where there is no value"}
	if len(record) > width {
		p.Remedy = "a comma inside a field must stand in quotation marks, and a decimal comma must be a point"
	}
	return p
}

// beginning is as much of a record as a message shows.
func beginning(record []string) string {
	var b strings.Builder
	for k, cell := range record {
		if k > 0 {
			b.WriteByte(',')
		}
		b.WriteString(cell[:min(len(cell), 4*shownRunes)])
		if b.Len() > 4*shownRunes {
			break
		}
	}
	return strings.ToValidUTF8(b.String(), "")
}

// checkHeader gives the columns' names. Unnamed columns at the end, which
// spreadsheets leave behind, are dropped; a value under one is too many
// fields.
func checkHeader(file string, line int, header []string, ps *Problems) ([]string, bool) {
	if len(header) > mostColumns {
		ps.Add(Problem{File: file, Line: line, Value: fmt.Sprintf("%d columns", len(header)),
			Expected: fmt.Sprintf("at most %d columns", mostColumns), Remedy: "check that the file is a table with one book, leaf, page or reading in each row"})
		return nil, false
	}
	names := make([]string, len(header))
	for k, cell := range header {
		// A second byte-order mark comes of files joined end to end.
		names[k] = strings.Clone(strings.TrimFunc(cell, func(r rune) bool { return unicode.IsSpace(r) || r == '\ufeff' }))
	}
	for len(names) > 1 && names[len(names)-1] == "" {
		names = names[:len(names)-1]
	}
	if p, ok := separatorProblem(file, line, names); ok {
		ps.Add(p)
		return nil, false
	}
	ok := true
	for k, name := range names {
		switch {
		case name == "":
			ps.Add(Problem{File: file, Line: line, Column: fmt.Sprintf("number %d", k+1), Expected: "a name for each column",
				Remedy: "name the column or delete it"})
			ok = false
		case slices.Contains(names[:k], name):
			ps.Add(Problem{File: file, Line: line, Column: name, Value: name, Expected: "each column's name once",
				Remedy: "rename or delete one of the two"})
			ok = false
		}
	}
	return names, ok
}

// separatorProblem tells of a header whose columns are parted by something
// else than commas.
func separatorProblem(file string, line int, header []string) (Problem, bool) {
	p := Problem{File: file, Line: line, Value: beginning(header), Expected: "columns parted by commas"}
	for _, separator := range []struct{ mark, name string }{{";", "semicolons"}, {"\t", "tabs"}, {"|", "upright strokes"}} {
		if len(header) == 1 && strings.Contains(header[0], separator.mark) {
			p.Remedy = "the columns are parted by " + separator.name + ": save again with commas, and with points as decimal marks"
			if strings.HasPrefix(header[0], "sep=") {
				p.Remedy = "delete this line, and save the table with commas between the columns"
			}
			return p, true
		}
	}
	return Problem{}, false
}

func blank(record []string) bool {
	for _, cell := range record {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}
