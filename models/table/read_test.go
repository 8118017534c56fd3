package table_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/table"
)

// read gives the table of a text and what was wrong with it, a line a problem.
func read(text string) (*table.Table, string) {
	var ps table.Problems
	t := table.Read("log.csv", []byte(text), &ps)
	if err := ps.Err(); err != nil {
		return t, err.Error()
	}
	return t, ""
}

// cells are the table's rows with its header first.
func cells(t *table.Table) [][]string {
	if t == nil {
		return nil
	}
	rows := [][]string{t.Names()}
	for i := range t.Rows() {
		var row []string
		for _, c := range t.Columns() {
			row = append(row, c.Label(i))
		}
		rows = append(rows, row)
	}
	return rows
}

// Forms of the same table, as RFC 4180 and common programs write it.
func TestReadSound(t *testing.T) {
	want := [][]string{{"page", "density", "note"}, {"1r", "0.31", ""}, {"1v", "0.4", "stain"}}
	for name, text := range map[string]string{
		"plain":                       "page,density,note\n1r,0.31,\n1v,0.4,stain\n",
		"no line end at the end":      "page,density,note\n1r,0.31,\n1v,0.4,stain",
		"RFC 4180 line ends":          "page,density,note\r\n1r,0.31,\r\n1v,0.4,stain\r\n",
		"carriage returns alone":      "page,density,note\r1r,0.31,\r1v,0.4,stain\r",
		"a byte-order mark":           "\ufeffpage,density,note\n1r,0.31,\n1v,0.4,stain\n",
		"blank lines":                 "\n\npage,density,note\n\n1r,0.31,\n  \n\n1v,0.4,stain\n\n",
		"rows of empty cells":         "page,density,note\n1r,0.31,\n,,\n1v,0.4,stain\n , ,\n",
		"spaces at the ends":          " page, density ,note\t\n1r , 0.31,\n 1v,0.4 ,stain  \n",
		"quoted":                      "\"page\",\"density\",\"note\"\n\"1r\",\"0.31\",\"\"\n\"1v\",0.4,\"stain\"\n",
		"unnamed empty columns after": "page,density,note,,\n1r,0.31,,,\n1v,0.4,stain,,\n",
		"empty fields after":          "page,density,note\n1r,0.31,,,,\n1v,0.4,stain\n",
		"no-break spaces":             "page,density,note\n1r\u00a0,0.31,\n1v,0.4,\u00a0stain\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, problems := read(text)
			if problems != "" {
				t.Fatal(problems)
			}
			if diff := cmp.Diff(want, cells(got)); diff != "" {
				t.Error(diff)
			}
			if c := got.Column("density"); !c.IsNumber() || c.Numbers[0] != 0.31 {
				t.Errorf("density is %v, not numbers", c.Numbers)
			}
			if got.Column("page").IsNumber() {
				t.Error("page is numbers")
			}
		})
	}
}

func TestReadQuoted(t *testing.T) {
	got, problems := read("section,incipit\nLauds,\"Deus, in \"\"adiutorium\"\"\nmeum\"\nPrime,x\n")
	if problems != "" {
		t.Fatal(problems)
	}
	if c := got.Column("incipit").Label(0); c != "Deus, in \"adiutorium\"\nmeum" {
		t.Errorf("cell is %q", c)
	}
	if got.Line(0) != 2 || got.Line(1) != 4 {
		t.Errorf("rows begin in lines %d and %d, not 2 and 4", got.Line(0), got.Line(1))
	}
}

// Every problem of a broken file, whole.
func TestReadBroken(t *testing.T) {
	utf16Text := func(order func([]byte, uint16) []byte, text string) string {
		var out []byte
		for _, unit := range utf16.Encode([]rune(text)) {
			out = order(out, unit)
		}
		return string(out)
	}
	little := func(b []byte, u uint16) []byte { return append(b, byte(u), byte(u>>8)) }
	big := func(b []byte, u uint16) []byte { return append(b, byte(u>>8), byte(u)) }
	for _, test := range []struct {
		name, text string
		want       []string
		rows       int // rows still read; −1 where there is no table
	}{
		{"empty", "", []string{`log.csv, line 1: found nothing; expected a line of column names; the file is empty: put the columns' names in its first line.`}, -1},
		{"only blank lines", "\n\r\n\n", []string{`log.csv, line 1: found nothing; expected a line of column names; the file is empty: put the columns' names in its first line.`}, -1},
		{"only a byte-order mark", "\ufeff", []string{`log.csv, line 1: found nothing; expected a line of column names; the file is empty: put the columns' names in its first line.`}, -1},
		{"semicolons", "page;density\n1r;0,31\n", []string{`log.csv, line 1: found "page;density"; expected columns parted by commas; the columns are parted by semicolons: save again with commas, and with points as decimal marks.`}, -1},
		{"control characters", "page,den\x03sity\n1r,0.31\n", []string{`log.csv, line 1: found "page,den[byte 03]sity"; expected text without control characters and marks that turn the direction of writing; delete the character, which shows nothing itself (it often comes with text copied from a page or a PDF); type the words again if it cannot be found.`}, 1},
		{"tabs", "page\tdensity\n1r\t0.31\n", []string{`log.csv, line 1: found "page\tdensity"; expected columns parted by commas; the columns are parted by tabs: save again with commas, and with points as decimal marks.`}, -1},
		{"separator line", "sep=;\npage;density\n", []string{`log.csv, line 1: found "sep=;"; expected columns parted by commas; delete this line, and save the table with commas between the columns.`}, -1},
		{"decimal comma", "page,density\n1r,0,31\n1v,0.4\n", []string{`log.csv, line 2: found "1r,0,31"; expected 2 fields, as in the first line, not 3; a comma inside a field must stand in quotation marks, and a decimal comma must be a point.`}, 1},
		{"short row", "page,density,note\n1r,0.31\n1v,0.4,x\n", []string{`log.csv, line 2: found "1r,0.31"; expected 3 fields, as in the first line, not 2; give the missing fields, empty where there is no value.`}, 1},
		{"several bad rows", "a,b\n1\n1,2,3\n1,2\n4\n", []string{
			`log.csv, line 2: found "1"; expected 2 fields, as in the first line, not 1; give the missing fields, empty where there is no value.`,
			`log.csv, line 3: found "1,2,3"; expected 2 fields, as in the first line, not 3; a comma inside a field must stand in quotation marks, and a decimal comma must be a point.`,
			`log.csv, line 5: found "4"; expected 2 fields, as in the first line, not 1; give the missing fields, empty where there is no value.`}, 1},
		{"column twice", "page,density,page\n1r,0.31,1r\n", []string{`log.csv, line 1, column page: found "page"; expected each column's name once; rename or delete one of the two.`}, -1},
		{"column without a name", "page,,density\n1r,x,0.31\n", []string{`log.csv, line 1, column number 2: found nothing; expected a name for each column; name the column or delete it.`}, -1},
		{"value in an unnamed column", "page,\n1r,x\n1v,\n", []string{`log.csv, line 2: found "1r,x"; expected 1 fields, as in the first line, not 2; a comma inside a field must stand in quotation marks, and a decimal comma must be a point.`}, 1},
		{"UTF-16, little end first", "\xff\xfep\x00a\x00", []string{`log.csv, line 1: found "a UTF-16 byte-order mark"; expected text in UTF-8; in the spreadsheet, save again as “CSV UTF-8”.`}, -1},
		{"UTF-16, big end first", "\xfe\xff\x00p\x00a", []string{`log.csv, line 1: found "a UTF-16 byte-order mark"; expected text in UTF-8; in the spreadsheet, save again as “CSV UTF-8”.`}, -1},
		{"UTF-16 without a mark, little", utf16Text(little, "page,density\n1r,0.31\n"), []string{`log.csv, line 1: found "NUL bytes throughout"; expected text in UTF-8; the file is in UTF-16 or is no text: in the spreadsheet, save again as “CSV UTF-8”.`}, -1},
		{"UTF-16 without a mark, big", utf16Text(big, "page,density\n1r,0.31\n"), []string{`log.csv, line 1: found "NUL bytes throughout"; expected text in UTF-8; the file is in UTF-16 or is no text: in the spreadsheet, save again as “CSV UTF-8”.`}, -1},
		{"a zip archive", "PK\x03\x04rest", []string{`log.csv, line 1: found "a spreadsheet file or another zip archive"; expected text in UTF-8; in the spreadsheet, save the sheet as “CSV UTF-8”.`}, -1},
		{"mixed encodings", "book,owner\na,René\nb,Ren\xe9 Dupr\xe9\nc,Ren\xc3\xa9\nd,\xe9\n", []string{
			`log.csv, line 3: found "b,Ren[byte E9] Dupr�"; expected text in UTF-8 throughout; this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8.`,
			`log.csv, line 5: found "d,[byte E9]"; expected text in UTF-8 throughout; this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8.`}, 4},
		{"mixed encodings, carriage returns alone", "book,owner\ra,René\rb,Ren\xe9\r", []string{
			`log.csv, line 3: found "b,Ren[byte E9]"; expected text in UTF-8 throughout; this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8.`}, 2},
		{"a bad encoding and a bad row", "book,owner\na,Ren\xe9\nb\n", []string{
			`log.csv, line 2: found "a,Ren[byte E9]"; expected text in UTF-8 throughout; this line is in another encoding (often Windows-1252 or Latin-1): save the whole file again as UTF-8.`,
			`log.csv, line 3: found "b"; expected 2 fields, as in the first line, not 1; give the missing fields, empty where there is no value.`}, 1},
		{"a NUL byte", "page,density\n1r,0.31\n1v,0\x004\n", []string{`log.csv, line 3: found "1v,0[byte 00]4"; expected text without NUL bytes; the file is damaged here: compare it with an earlier copy.`}, 2},
		{"a bell", "page,density\n1r,0.31\n1v\a,0.34\n", []string{`log.csv, line 3: found "1v[byte 07],0.34"; expected text without control characters and marks that turn the direction of writing; delete the character, which shows nothing itself (it often comes with text copied from a page or a PDF); type the words again if it cannot be found.`}, 2},
		{"a mark that turns the direction", "page,note\n1r,ab\u202ecd\n1v,\u05d0\u200f\n", []string{`log.csv, line 2: found "1r,ab[U+202E]cd"; expected text without control characters and marks that turn the direction of writing; delete the character, which shows nothing itself (it often comes with text copied from a page or a PDF); type the words again if it cannot be found.`}, 2},
		{"bare quotation mark", "page,note\n1r,a \"b\" c\n1v,x\n", []string{`log.csv, line 2: found "a quotation mark out of place"; expected fields quoted as RFC 4180 has it; write a field that holds quotation marks "like ""this""", and take single ones out.`}, 1},
		{"text after a quoted field", "page,note\n1r,\"a\"b\n1v,x\n", []string{`log.csv, line 2: found "a quotation mark out of place"; expected fields quoted as RFC 4180 has it; write a field that holds quotation marks "like ""this""", and take single ones out.`}, 1},
		{"quotation mark not closed", "page,note\n1r,x\n1v,\"a\n2r,x\n2v,y\n", []string{`log.csv, line 3: found "a quotation mark that is not closed"; expected fields quoted as RFC 4180 has it; close it; the field that begins in this line runs on to line 5, and the rows between could not be read.`}, 1},
		{"quotation mark in the header", "page,\"note\n1r,x\n", []string{`log.csv, line 1: found "a quotation mark that is not closed"; expected fields quoted as RFC 4180 has it; close it; the field that begins in this line runs on to line 2, and the rows between could not be read.`}, -1},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, problems := read(test.text)
			if diff := cmp.Diff(strings.Join(test.want, "\n"), problems); diff != "" {
				t.Error(diff)
			}
			rows := -1
			if got != nil {
				rows = got.Rows()
			}
			if rows != test.rows {
				t.Errorf("%d rows read, not %d", rows, test.rows)
			}
		})
	}
}

func TestReadHeaderOnly(t *testing.T) {
	got, problems := read("page,density\n")
	if problems != "" || got.Rows() != 0 {
		t.Fatalf("%d rows, problems %q", got.Rows(), problems)
	}
	if c := got.Column("density"); c.IsNumber() || c.Len() != 0 {
		t.Error("a column without rows is no numbers")
	}
}

func TestReadHuge(t *testing.T) {
	million := strings.Repeat("1,", 999_999) + "1"
	for _, test := range []struct{ name, text, want string }{
		{"a million columns", million + "\n", `log.csv, line 1: found "1000000 columns"; expected at most 4096 columns; check that the file is a table with one book, leaf, page or reading in each row.`},
		{"a row of a million fields", "a,b\n" + million + "\n", `log.csv, line 2: found "1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1,1," …; expected 2 fields, as in the first line, not 1000000; a comma inside a field must stand in quotation marks, and a decimal comma must be a point.`},
		{"a cell of a million characters", "a,b\n1," + strings.Repeat("é", 1_000_000) + "\n", `log.csv, line 2, column b: found "` + strings.Repeat("é", 60) + `" …; expected at most 32767 characters in a cell; look for a quotation mark that is missing in or before this line.`},
	} {
		t.Run(test.name, func(t *testing.T) {
			if _, problems := read(test.text); problems != test.want {
				t.Error(cmp.Diff(test.want, problems))
			}
		})
	}
}

// A file of nothing but errors is told of in bounded space.
func TestReadCountsProblems(t *testing.T) {
	var ps table.Problems
	table.Read("log.csv", []byte("a,b\n"+strings.Repeat("1\n", 20_000)), &ps)
	if ps.Len() != 20_000 {
		t.Errorf("%d problems counted, not 20000", ps.Len())
	}
	if kept := len(ps.List()); kept != 10_000 {
		t.Errorf("%d problems kept, not 10000", kept)
	}
	lines := strings.Split(ps.Err().Error(), "\n")
	want := []string{`log.csv, lines 2–10001: found "1"; expected 2 fields, as in the first line, not 1; give the missing fields, empty where there is no value.`,
		"log.csv: and 10000 more problems."}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Error(diff)
	}
}

func TestReadFileUnreadable(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "leaves.csv")
	for path, want := range map[string]string{
		missing: missing + `: found "leaves.csv"; expected a file that can be read; check its name and permissions (the system says: no such file or directory).`,
		dir:     fmt.Sprintf("%s: found %q; expected a file that can be read; check its name and permissions (the system says: not a regular file).", dir, filepath.Base(dir)),
	} {
		var ps table.Problems
		if got := table.ReadFile(path, &ps); got != nil {
			t.Error("a table was read")
		}
		if diff := cmp.Diff(want, ps.Err().Error()); diff != "" {
			t.Error(diff)
		}
	}
	path := filepath.Join(dir, "log.csv")
	if err := os.WriteFile(path, []byte("a\n1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	if got := table.ReadFile(path, &ps); got == nil || got.Rows() != 1 || ps.Len() != 0 {
		t.Errorf("got %v, %v", got, ps.Err())
	}
}

// A disk that fails half-way is a problem, not the end of the table.
func TestReadFromFailing(t *testing.T) {
	var ps table.Problems
	table.ReadFrom("log.csv", iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader("a,b\n1,2\n"))), &ps)
	want := `log.csv: found "the file up to a place where reading failed"; expected a file that can be read to its end; copy it to another place and try again (the system says: timeout).`
	if diff := cmp.Diff(want, ps.Err().Error()); diff != "" {
		t.Error(diff)
	}
}

// However the bytes of a file come in, the table and its problems are the
// same: characters and line ends cut in two by a piece are put together again.
func TestReadInPieces(t *testing.T) {
	text := "page,note\r\n1r,é€𝄞\r2v,\xe9\r\n" + strings.Repeat("3r,ſ€\r\n4v,\xff𝄞\r", 9000)
	var whole table.Problems
	want := table.Read("log.csv", []byte(text), &whole)
	wholeList := whole.List()
	for name, in := range map[string]*bytes.Reader{"one byte": bytes.NewReader([]byte(text)), "halves": bytes.NewReader([]byte(text))} {
		var ps table.Problems
		reader := iotest.OneByteReader(in)
		if name == "halves" {
			reader = iotest.HalfReader(in)
		}
		got := table.ReadFrom("log.csv", reader, &ps)
		if diff := cmp.Diff(cells(want), cells(got)); diff != "" {
			t.Fatalf("%s: %s", name, diff)
		}
		for i, p := range ps.List() {
			// What is shown around a bad byte may end with the piece; the place may not differ.
			if w := wholeList[i]; p.Line != w.Line || p.Expected != w.Expected {
				t.Fatalf("%s: problem %v, not %v", name, p, w)
			}
		}
		if ps.Len() != whole.Len() {
			t.Fatalf("%s: %d problems, not %d", name, ps.Len(), whole.Len())
		}
	}
}

// Cells that recur share memory: a label of a million rows is stored once.
func TestReadSharesLabels(t *testing.T) {
	var text strings.Builder
	text.WriteString("observer\n")
	for range 200_000 {
		text.WriteString("a reader with a long name, \n"[:24] + "\n")
	}
	data := []byte(text.String())
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	got, problems := read(string(data))
	runtime.GC()
	runtime.ReadMemStats(&after)
	if problems != "" || got.Rows() != 200_000 {
		t.Fatal(got.Rows(), problems)
	}
	// 16 bytes for each cell's header and 4 for its line, and at most as much
	// again from slices that grew; the cells' letters themselves are 4.8 MB.
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 200_000*2*20+100_000 {
		t.Errorf("the table holds %d bytes", grown)
	}
	runtime.KeepAlive(got)
	runtime.KeepAlive(data)
}
