package table

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits of what is read as a table. They stop a file that is not a table, or
// a hostile one, before it fills the memory.
const (
	mostColumns = 4096
	mostRows    = 50_000_000
	// mostKept is how many distinct labels of a column share memory.
	mostKept = 65536
)

// ReadFile reads the CSV file at path. Every problem found goes to ps, with
// path as its file; the table returned holds the rows that could be read, and
// is nil only where the file as a whole could not.
func ReadFile(path string, ps *Problems) *Table {
	data, err := os.ReadFile(path)
	if err != nil {
		reason := err
		var pathErr *os.PathError
		if errors.As(err, &pathErr) {
			reason = pathErr.Err
		}
		ps.Add(Problem{File: path, Value: filepath.Base(path), Expected: "a file that can be read",
			Remedy: fmt.Sprintf("check its name and permissions (the system says: %v)", reason)})
		return nil
	}
	return Read(path, data, ps)
}

// Read reads CSV text; file names it in problems. A UTF-8 byte-order mark at
// the start, which spreadsheets like to write, is passed over. See [ReadFile].
func Read(file string, data []byte, ps *Problems) *Table {
	data, ok := checkText(file, data, ps)
	if !ok {
		return nil
	}
	reader := csv.NewReader(bytes.NewReader(data))
	reader.FieldsPerRecord = -1
	reader.ReuseRecord = true
	header, err := reader.Read()
	if err == io.EOF {
		ps.Add(Problem{File: file, Line: 1, Expected: "a line of column names",
			Remedy: "the file is empty: put the columns' names in its first line"})
		return nil
	}
	if err != nil {
		ps.Add(csvProblem(file, err))
		return nil
	}
	names, ok := checkHeader(file, header, ps)
	if !ok {
		return nil
	}
	t := &Table{File: file, index: map[string]int{}}
	kept := make([]map[string]string, len(names))
	for k, name := range names {
		t.index[name] = k
		t.columns = append(t.columns, &Column{Name: name, Text: []string{}})
		kept[k] = map[string]string{}
	}
	for {
		record, err := reader.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			ps.Add(csvProblem(file, err))
			break
		}
		line, _ := reader.FieldPos(0)
		if blank(record) {
			continue
		}
		if len(record) != len(names) {
			ps.Add(Problem{File: file, Line: line, Value: strings.Join(record, ","),
				Expected: fmt.Sprintf("%d fields, as in the first line, not %d", len(names), len(record)),
				Remedy:   fieldsRemedy(record, len(names))})
			continue
		}
		if t.rows == mostRows {
			ps.Add(Problem{File: file, Line: line, Value: "more rows", Expected: fmt.Sprintf("at most %d rows", mostRows),
				Remedy: "split the table over several files"})
			break
		}
		for k, cell := range record {
			t.columns[k].Text = append(t.columns[k].Text, keep(kept[k], strings.TrimSpace(cell)))
		}
		t.lines = append(t.lines, int32(line))
		t.rows++
	}
	for _, c := range t.columns {
		c.Numbers = numbers(c.Text)
	}
	return t
}

// checkText tells whether data is UTF-8 text, and gives it without its
// byte-order mark. Lines in another encoding are each reported.
func checkText(file string, data []byte, ps *Problems) ([]byte, bool) {
	for _, mark := range []string{"\xff\xfe", "\xfe\xff"} {
		if bytes.HasPrefix(data, []byte(mark)) {
			ps.Add(Problem{File: file, Line: 1, Value: "a UTF-16 byte-order mark", Expected: "text in UTF-8",
				Remedy: "in the spreadsheet, save again as “CSV UTF-8”"})
			return nil, false
		}
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if utf8.Valid(data) && bytes.IndexByte(data, 0) < 0 {
		return data, true
	}
	scanner := bufio.NewScanner(bytes.NewReader(data))
	scanner.Buffer(nil, len(data)+1)
	for line := 1; scanner.Scan(); line++ {
		text := scanner.Bytes()
		if utf8.Valid(text) && bytes.IndexByte(text, 0) < 0 {
			continue
		}
		ps.Add(Problem{File: file, Line: line, Value: strings.ToValidUTF8(string(text), "�"),
			Expected: "text in UTF-8 throughout",
			Remedy:   "this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8"})
	}
	return nil, false
}

func checkHeader(file string, header []string, ps *Problems) ([]string, bool) {
	if len(header) > mostColumns {
		ps.Add(Problem{File: file, Line: 1, Value: fmt.Sprintf("%d columns", len(header)),
			Expected: fmt.Sprintf("at most %d columns", mostColumns), Remedy: "is this file a table with one reading or page in each row?"})
		return nil, false
	}
	if len(header) == 1 {
		for _, separator := range []string{";", "\t", "|"} {
			if strings.Contains(header[0], separator) {
				ps.Add(Problem{File: file, Line: 1, Value: header[0], Expected: "columns parted by commas",
					Remedy: fmt.Sprintf("the columns are parted by %q: save again with commas, and with points as decimal marks", separator)})
				return nil, false
			}
		}
	}
	ok := true
	seen := map[string]bool{}
	names := make([]string, len(header))
	for k, cell := range header {
		name := strings.TrimSpace(cell)
		names[k] = name
		switch {
		case name == "":
			ps.Add(Problem{File: file, Line: 1, Column: fmt.Sprintf("number %d", k+1), Expected: "a name for each column",
				Remedy: "name the column or delete it"})
			ok = false
		case seen[name]:
			ps.Add(Problem{File: file, Line: 1, Column: name, Value: name, Expected: "each column's name once",
				Remedy: "rename or delete one of the two"})
			ok = false
		}
		seen[name] = true
	}
	return names, ok
}

func csvProblem(file string, err error) Problem {
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		return Problem{File: file, Line: parse.Line, Value: "a quotation mark out of place",
			Expected: "fields as RFC 4180 has them",
			Remedy:   `a field with quotation marks is written "like ""this""" and a quoted field must end`}
	}
	return Problem{File: file, Value: err.Error(), Expected: "a table", Remedy: "save the file again as CSV"}
}

func fieldsRemedy(record []string, want int) string {
	if len(record) > want {
		return "a comma inside a field must stand in quotation marks; a decimal comma must be a point"
	}
	return "give the missing fields, empty where there is no value"
}

func blank(record []string) bool {
	for _, cell := range record {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}

// keep gives one shared copy of a cell that recurs, so that a label of a
// million rows is stored once.
func keep(kept map[string]string, cell string) string {
	if shared, ok := kept[cell]; ok {
		return shared
	}
	copied := strings.Clone(cell)
	if len(kept) < mostKept {
		kept[copied] = copied
	}
	return copied
}

// numbers gives the cells as numbers, or nil where one is not a finite number
// or none is present.
func numbers(cells []string) []float64 {
	out := make([]float64, len(cells))
	present := false
	for i, cell := range cells {
		if cell == "" {
			out[i] = math.NaN()
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			return nil
		}
		out[i] = v
		present = true
	}
	if !present {
		return nil
	}
	return out
}

// NumberProblem says what is wrong with a cell that should be a number, with
// the mended number where a decimal comma is the cause.
func NumberProblem(file string, line int, column, cell string) Problem {
	p := Problem{File: file, Line: line, Column: column, Value: cell, Expected: "a number with a decimal point"}
	if mended := strings.Replace(cell, ",", ".", 1); mended != cell {
		if _, err := strconv.ParseFloat(mended, 64); err == nil {
			p.Remedy = "write " + mended
			return p
		}
	}
	p.Remedy = "write the number alone, or leave the cell empty where there is none"
	return p
}

// Write writes the table as CSV (RFC 4180, lines ended by a single line feed).
// Numbers are written in the shortest form that reads back as the same number.
func (t *Table) Write(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(t.Names()); err != nil {
		return err
	}
	record := make([]string, len(t.columns))
	for i := range t.rows {
		for k, c := range t.columns {
			record[k] = c.Label(i)
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
