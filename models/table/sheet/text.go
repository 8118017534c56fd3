package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"thumbed/models/table"
)

// readText reads text whose columns are parted by a delimiter.
func readText(file string, data []byte, m *Mapping, ps *table.Problems) *grid {
	if m != nil && m.Encoding != "" {
		if encoding, err := htmlindex.Get(m.Encoding); err == nil { // else the mapping is refused already
			if decoded, err := encoding.NewDecoder().Bytes(data); err == nil {
				data = decoded
			}
		}
	}
	data, _, err := transform.Bytes(unicode.BOMOverride(transform.Nop), data)
	if err != nil || !utf8.Valid(data) {
		line := 1
		for _, text := range bytes.Split(data, []byte("\n")) {
			if !utf8.Valid(text) {
				break
			}
			line++
		}
		ps.Add(table.Problem{File: file, Line: line, Value: "bytes that are no UTF-8", Expected: "text in UTF-8", Remedy: `save the table again as UTF-8, or say what it is: encoding = "windows-1252" in the mapping, or --set encoding=windows-1252, which it often is`})
		return nil
	}
	if at := bytes.IndexByte(data, 0); at >= 0 {
		ps.Add(table.Problem{File: file, Line: 1 + bytes.Count(data[:at], []byte("\n")), Value: "a NUL byte", Expected: "text in UTF-8", Remedy: "the file is damaged or no text: save the table again"})
		return nil
	}
	g := &grid{}
	delimiter := delimiterOf(&data, m)
	reader := csv.NewReader(bytes.NewReader(data))
	reader.Comma, reader.FieldsPerRecord, reader.ReuseRecord = delimiter, -1, true
	total := 0
	for {
		record, err := reader.Read()
		if err == io.EOF {
			return g
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			ps.Add(table.Problem{File: file, Line: parse.StartLine, Value: "a quotation mark out of place, or not closed", Expected: "fields quoted as RFC 4180 has it",
				Remedy: `write a field that holds quotation marks "like ""this""", and take single ones out`})
			return nil
		}
		line, _ := reader.FieldPos(0)
		if total += len(record); len(record) > mostColumns || total > mostCells || line > mostRows {
			ps.Add(table.Problem{File: file, Line: line, Value: fmt.Sprintf("%d fields", len(record)), Expected: fmt.Sprintf("at most %d columns, %d rows and %d cells", mostColumns, mostRows, mostCells),
				Remedy: "check that the file is a table; split one that is larger"})
			return nil
		}
		for len(g.rows) < line-1 {
			g.rows = append(g.rows, nil) // rows are numbered by the lines they begin in
		}
		row := make([]cell, len(record))
		for k, text := range record {
			row[k].text = strings.Clone(strings.TrimSpace(text))
		}
		g.rows = append(g.rows, row)
	}
}

// delimiters that tables are parted by, the commonest last for equals.
var delimiters = []rune{'|', '\t', ';', ','}

// delimiterOf gives the mark that parts the columns: the one that the mapping
// names, or the file's own first line (sep=;), which is taken off, or the one
// that parts the first lines into the most columns, as many in nearly each.
func delimiterOf(data *[]byte, m *Mapping) rune {
	if m != nil && m.Delimiter != "" {
		r, _ := utf8.DecodeRuneInString(m.Delimiter)
		return r
	}
	if line, _, _ := bytes.Cut(*data, []byte("\n")); bytes.HasPrefix(line, []byte("sep=")) && len(bytes.TrimSpace(line)) == len("sep=;") {
		mark := rune(line[len("sep=")])
		if strings.ContainsRune(string(delimiters), mark) {
			*data = (*data)[len(line):] // the line stays, empty, so that lines keep their numbers
			return mark
		}
	}
	best, most := ',', 0
	for _, mark := range delimiters {
		if n := widthBy(*data, mark); n >= most && n > 1 {
			best, most = mark, n
		}
	}
	return best
}

// sampled is how many records are looked at to tell the delimiter.
const sampled = 40

// widthBy is into how many columns a mark parts the first records: as many in at least
// three quarters of them, since titles above a table may have fewer; else 0.
func widthBy(data []byte, mark rune) int {
	reader := csv.NewReader(bytes.NewReader(data[:min(len(data), 1<<18)]))
	reader.Comma, reader.FieldsPerRecord, reader.LazyQuotes, reader.ReuseRecord = mark, -1, true, true
	records, of := 0, map[int]int{}
	for range sampled {
		record, err := reader.Read()
		if err != nil {
			break
		}
		records++
		of[len(record)]++
	}
	for width, n := range of {
		if 4*n >= 3*records {
			return width
		}
	}
	return 0
}
