package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// chunk is how much of a file is looked at in one go, in bytes.
const chunk = 64 << 10

// kinds of file that are often taken for CSV, by their first bytes.
var otherFiles = []struct{ first, value, expected, remedy string }{
	{"\xff\xfe", "a UTF-16 byte-order mark", "text in UTF-8", "in the spreadsheet, save again as “CSV UTF-8”"},
	{"\xfe\xff", "a UTF-16 byte-order mark", "text in UTF-8", "in the spreadsheet, save again as “CSV UTF-8”"},
	{"PK\x03\x04", "a spreadsheet file or another zip archive", "text in UTF-8", "in the spreadsheet, save the sheet as “CSV UTF-8”"},
	{"\xd0\xcf\x11\xe0", "an old spreadsheet file", "text in UTF-8", "in the spreadsheet, save the sheet as “CSV UTF-8”"},
	{"%PDF-", "a PDF file", "text in UTF-8", "name the table that the PDF was made from"},
	{"\x1f\x8b", "a compressed file", "text in UTF-8", "unpack it first"},
}

// A textReader hands on the text of a file and checks it on the way: every
// line that is not UTF-8, or holds an [Unprintable] character, is
// reported once, its bad bytes replaced, so that the rest of the file can still be
// checked. A byte-order
// mark is passed over. A carriage return alone ends a line, as old programs
// have it.
type textReader struct {
	in       io.Reader
	file     string
	ps       *Problems
	buffer   []byte
	checked  []byte // part of buffer that is checked and not yet handed on
	carried  []byte // part of buffer after it that the next bytes may complete
	err      error  // what reading ended with
	line     int    // line of the next byte to check
	reported int    // last line reported

	quoted bool // whether a quotation mark is open
	opened int  // line on which it was, or else on which the line now read begins
	since  int  // bytes since then
}

// mostSince is how long a field in quotation marks, or a line, may be, in bytes:
// as much as sixty cells of the greatest length. A mark that is never closed would
// otherwise take a whole file into memory.
const mostSince = 8 << 20

// errEndless is the error of a field or line that goes on for longer.
var errEndless = errors.New("it does not end")

// newTextReader gives nil with a problem where the file is not text at all.
func newTextReader(file string, in io.Reader, ps *Problems) *textReader {
	r := &textReader{in: in, file: file, ps: ps, buffer: make([]byte, chunk), line: 1, opened: 1}
	n, err := io.ReadFull(in, r.buffer[:512])
	start := r.buffer[:n]
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		r.err = err
	}
	for _, other := range otherFiles {
		if bytes.HasPrefix(start, []byte(other.first)) {
			ps.Add(Problem{File: file, Line: 1, Value: other.value, Expected: other.expected, Remedy: other.remedy})
			return nil
		}
	}
	if nul := bytes.Count(start, []byte{0}); nul > len(start)/4 {
		ps.Add(Problem{File: file, Line: 1, Value: "NUL bytes throughout", Expected: "text in UTF-8",
			Remedy: "the file is in UTF-16 or is no text: in the spreadsheet, save again as “CSV UTF-8”"})
		return nil
	}
	r.carried = bytes.TrimPrefix(start, []byte("\xef\xbb\xbf"))
	return r
}

// Read gives checked text.
func (r *textReader) Read(p []byte) (int, error) {
	for len(r.checked) == 0 {
		if r.err != nil {
			return 0, r.err
		}
		r.fill()
	}
	n := copy(p, r.checked)
	r.checked = r.checked[n:]
	return n, nil
}

// fill reads on and checks what is complete of it.
func (r *textReader) fill() {
	n := copy(r.buffer, r.carried)
	more, err := r.in.Read(r.buffer[n:])
	piece := r.buffer[:n+more]
	end := len(piece)
	if r.err = err; err == nil {
		end = complete(piece)
	}
	r.checked, r.carried = piece[:end], piece[end:]
	r.check(r.checked)
	r.measure(r.checked)
}

// measure follows how long a field in quotation marks, or a line, goes on.
func (r *textReader) measure(piece []byte) {
	if bytes.Count(piece, []byte{'"'})%2 == 1 {
		r.quoted = !r.quoted
	}
	mark := byte('\n')
	if r.quoted {
		mark = '"'
	}
	r.since += len(piece)
	if at := bytes.LastIndexByte(piece, mark); at >= 0 {
		r.since = len(piece) - at
		r.opened = r.line - bytes.Count(piece[at+1:], []byte{'\n'})
	}
	if r.since > mostSince && r.err == nil {
		r.err = errEndless
	}
}

// endless tells of a field or line that does not end.
func (r *textReader) endless() Problem {
	p := Problem{File: r.file, Line: r.opened, Value: "a line that does not end", Expected: fmt.Sprintf("rows of at most %d megabytes", mostSince>>20),
		Remedy: "check that the file is a table with one book, leaf, page or reading in each row"}
	if r.quoted {
		p.Value, p.Expected = "a quotation mark that is not closed", "fields quoted as RFC 4180 has it"
		p.Remedy = "close it; the rows behind it could not be read"
	}
	return p
}

// complete is the length of the piece without a character cut short at its
// end, or a carriage return that a line feed may follow.
func complete(piece []byte) int {
	if bytes.HasSuffix(piece, []byte{'\r'}) {
		return len(piece) - 1
	}
	for back := 1; back < utf8.UTFMax && back <= len(piece); back++ {
		at := len(piece) - back
		if utf8.RuneStart(piece[at]) {
			if !utf8.FullRune(piece[at:]) {
				return at
			}
			break
		}
	}
	return len(piece)
}

// check counts the lines of a piece and mends what is not text in it.
func (r *textReader) check(piece []byte) {
	_, hidden := Unprintable(piece)
	if utf8.Valid(piece) && hidden == 0 && bytes.IndexByte(piece, '\r') < 0 {
		r.line += bytes.Count(piece, []byte{'\n'})
		return
	}
	for i := 0; i < len(piece); i++ {
		switch c := piece[i]; {
		case c == '\n':
			r.line++
		case c == '\r':
			if i+1 == len(piece) || piece[i+1] != '\n' {
				piece[i] = '\n'
				r.line++
			}
		case c == 0:
			r.report(piece, i, 1, "text without NUL bytes", "the file is damaged here: compare it with an earlier copy")
			piece[i] = '?'
		case c < ' ' && c != '\t' || c == 0x7f:
			r.report(piece, i, 1, PrintableWanted, PrintableRemedy)
			piece[i] = '?'
		case c >= utf8.RuneSelf:
			character, size := utf8.DecodeRune(piece[i:])
			if unprintable(character) {
				r.report(piece, i, size, PrintableWanted, PrintableRemedy)
				copy(piece[i:i+size], "???")
				i += size - 1
				continue
			}
			if character != utf8.RuneError || size > 1 {
				i += size - 1
				continue
			}
			r.report(piece, i, 1, "text in UTF-8 throughout",
				"this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8")
			piece[i] = '?'
		}
	}
}

// around is how many bytes before and after a bad one a message shows.
const around = 24

// report tells of a bad character of so many bytes, once a line.
func (r *textReader) report(piece []byte, at, size int, expected, remedy string) {
	if r.reported == r.line {
		return
	}
	r.reported = r.line
	before := piece[max(0, at-around):at]
	before = before[bytes.LastIndexAny(before, "\r\n")+1:]
	after := piece[at+size : min(len(piece), at+size+around)]
	if end := bytes.IndexAny(after, "\r\n"); end >= 0 {
		after = after[:end]
	}
	name := fmt.Sprintf("byte %02X", piece[at])
	if size > 1 {
		name = CodePoint(piece[at:])
	}
	value := fmt.Sprintf("%s[%s]%s", before, name, after)
	r.ps.Add(Problem{File: r.file, Line: r.line, Value: strings.ToValidUTF8(value, "�"), Expected: expected, Remedy: remedy})
}
