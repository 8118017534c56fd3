package sheet_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// written is a table as CSV.
func written(t testing.TB, s sheet.Sheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Table.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func notes(list []sheet.Note) string {
	var lines []string
	for _, n := range list {
		lines = append(lines, n.What+": "+n.Words)
	}
	return strings.Join(lines, "\n")
}

func mapping(t testing.TB, text string) *sheet.Mapping {
	t.Helper()
	var ps table.Problems
	m := sheet.ReadMapping("words.toml", []byte(text), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return m
}

// sound reads a spreadsheet that has no problem.
func sound(t testing.TB, file string, data []byte, m *sheet.Mapping) []sheet.Sheet {
	t.Helper()
	var ps table.Problems
	sheets := sheet.Read(file, data, m, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return sheets
}

func TestText(t *testing.T) {
	for _, test := range []struct{ name, text, words, want, used string }{
		{"commas", "leaf,density\n1,0.31\n2,0.4\n", "", "leaf,density\n1,0.31\n2,0.4\n", ""},
		{"semicolons and decimal commas", "Blatt;Schwärzung\n1r;0,31\n1v;-0,4\n2r;1\n", "[columns]\n\"Blatt\" = \"page\"\n\"schwärzung\" = \"density\"\n", "page,density\n1r,0.31\n1v,-0.4\n2r,1\n",
			"column “Blatt”: it is page here\ncolumn “Schwärzung”: it is density here\ncolumn “Schwärzung”: 2 numbers with a decimal comma (0,31), written with a point"},
		{"tabs", "a\tb\n1\t\"x\ty\"\n", "", "a,b\n1,x\ty\n", ""},
		{"strokes", "a|b\n1|2\n", "", "a,b\n1,2\n", ""},
		{"a line that names the mark", "sep=;\na;b\n1;2\n", "", "a,b\n1,2\n", ""},
		{"commas in one column of several parted by semicolons", "a;b\n1,2,3;x\n2;y\n", "", "a,b\n\"1,2,3\",x\n2,y\n", ""},
		{"a mark that the mapping names", "a;b,c\n1;2,3\n", "delimiter = \",\"\ndecimal = \".\"\n", "a;b,c\n1;2,3\n", ""},
		{"days in the scholar's order", "date,leaf\n9.3.2026,1\n31/12/2025,2\n", "dates = \"day-month-year\"\n", "date,leaf\n2026-03-09,1\n2025-12-31,2\n", "column “date”: 2 days written as year-month-day"},
		{"days with the month first", "date,leaf\n3/9/2026,1\n", "dates = \"month-day-year\"\n", "date,leaf\n2026-03-09,1\n", "column “date”: 1 day written as year-month-day"},
		{"days left as they are", "date,leaf\n9.3.2026,1\n", "", "date,leaf\n9.3.2026,1\n", ""},
		{"words", "Bild,Blatt\nja,1\nnein,2\n", "[columns]\nBild = \"picture\"\n[words]\nja = \"yes\"\nnein = \"no\"\n", "picture,Blatt\nyes,1\nno,2\n", "column “Bild”: it is picture here"},
		{"both decimal marks", "leaf;x\n1;0,34\n2;0.31\n3;-1.5\n", "", "leaf,x\n1,0.34\n2,0.31\n3,-1.5\n", `column “x”: 1 number with a decimal comma (0,34), written with a point`},
		{"both decimal marks, one of them perhaps of thousands", "leaf;x\n1;0,34\n2;1.234\n", "", "leaf,x\n1,\"0,34\"\n2,1.234\n", ""},
		{"words of one column", "leaf,picture,note\n1,x,x\n", "[words.picture]\nx = \"yes\"\n", "leaf,picture,note\n1,yes,x\n", ""},
		{"UTF-8 with a mark", "\ufeffleaf,x\n1,ä\n", "", "leaf,x\n1,ä\n", ""},
		{"UTF-16", "\xff\xfea\x00;\x00b\x00\n\x001\x00;\x002\x00", "", "a,b\n1,2\n", ""},
		{"one column", "leaf\n1\n\n2\n", "", "leaf\n1\n2\n", ""},
		{"a title above", "Readings of Alder 7,\nleaf,density\n1,0.3\n", "", "leaf,density\n1,0.3\n", ""},
		{"short rows", "a,b,c\n1\n2,3\n", "", "a,b,c\n1,,\n2,3,\n", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			sheets := sound(t, "log.csv", []byte(test.text), mapping(t, test.words))
			if len(sheets) != 1 || sheets[0].Name != "log" {
				t.Fatalf("%d sheets", len(sheets))
			}
			if diff := cmp.Diff(test.want, written(t, sheets[0])); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(test.used, notes(sheets[0].Used)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// workbook makes an .xlsx.
func workbook(t testing.TB, fill func(*excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	fill(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func must(t testing.TB) func(error) {
	return func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
}

func TestWorkbook(t *testing.T) {
	ok := must(t)
	data := workbook(t, func(f *excelize.File) {
		day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
		ok(err)
		clock, err := f.NewStyle(&excelize.Style{NumFmt: 20})
		ok(err)
		own := "dd/mm/yyyy\\ hh:mm"
		moment, err := f.NewStyle(&excelize.Style{CustomNumFmt: &own})
		ok(err)
		yellow, err := f.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"FFFF00"}}})
		ok(err)
		ok(f.SetSheetName("Sheet1", "Messungen"))
		for name, value := range map[string]any{
			"A1": "Tag", "B1": "Uhr", "C1": "Zeitpunkt", "D1": "Schwärzung", "E1": "Bild", "F1": "Seite",
			"A2": 46090, "B2": 0.5868055555555556, "C2": 46090.58680555555, "D2": 0.29, "E2": true, "F2": "1r",
			"A3": 46091, "B3": 0.25, "C3": 46091, "D3": 0.3, "E3": false, "F3": "1v",
		} {
			ok(f.SetCellValue("Messungen", name, value))
		}
		ok(f.SetCellStyle("Messungen", "A2", "A3", day))
		ok(f.SetCellStyle("Messungen", "B2", "B3", clock))
		ok(f.SetCellStyle("Messungen", "C2", "C3", moment))
		ok(f.SetCellStyle("Messungen", "D3", "D3", yellow))
		ok(f.SetCellStyle("Messungen", "F3", "F4", yellow))
		ok(f.MergeCell("Messungen", "F3", "F4"))
		ok(f.AddComment("Messungen", excelize.Comment{Cell: "D2", Author: "Maud", Text: "steady hand"}))
		ok(f.SetRowVisible("Messungen", 3, false))
		ok(f.SetColVisible("Messungen", "E", false))
		_, err = f.NewSheet("Leer")
		ok(err)
	})
	sheets := sound(t, "log.xlsx", data, mapping(t, "[columns]\nTag = \"day\"\nUhr = \"hour\"\nZeitpunkt = [\"date\", \"time\"]\n\"Schwärzung\" = \"density\"\n"))
	if len(sheets) != 1 || sheets[0].Name != "Messungen" {
		t.Fatalf("%d sheets", len(sheets))
	}
	s := sheets[0]
	// 46090 is 9 March 2026 by the count of days of ISO/IEC 29500-1, 18.17.4.1.
	want := "day,hour,date,time,density,Bild,Seite\n2026-03-09,14:05,2026-03-09,14:05,0.29,yes,1r\n2026-03-10,06:00,2026-03-10,,0.3,no,1v\n"
	if diff := cmp.Diff(want, written(t, s)); diff != "" {
		t.Error(diff)
	}
	wantLeft := `3 cells in the colour #FFFF00: D3, F3, F4; where the colour means something, say it in a column
the comment on D2: “steady hand”`
	if diff := cmp.Diff(wantLeft, notes(s.Left)); diff != "" {
		t.Error(diff)
	}
	if used := notes(s.Used); !strings.Contains(used, "the merged cells F3:F4: “1v” holds in each of their rows") || !strings.Contains(used, "columns E: hidden in the sheet, and read all the same\nrows 3: hidden in the sheet, and read all the same") {
		t.Error(used)
	}
	if s.Table.File != "log.xlsx, sheet Messungen" || s.Table.Line(1) != 3 {
		t.Errorf("row 1 is of %s, row %d", s.Table.File, s.Table.Line(1))
	}
}

// Names of columns in two rows: merged downwards they are names, merged sideways they
// stand over names.
func TestNamesInTwoRows(t *testing.T) {
	data := workbook(t, func(f *excelize.File) {
		ok := must(t)
		for name, value := range map[string]any{"A1": "page", "B1": "Density", "D1": "observer", "B2": "corner", "C2": "zero", "D2": "who", "A3": "1r", "B3": 0.31, "C3": 0.02, "D3": "MT"} {
			ok(f.SetCellValue("Sheet1", name, value))
		}
		ok(f.MergeCell("Sheet1", "A1", "A2"))
		ok(f.MergeCell("Sheet1", "B1", "C1"))
	})
	// Where a mapping finds the lower row to be that of the names, the merged one stands there too.
	if lower := sound(t, "log.xlsx", data, mapping(t, "[columns]\ncorner = \"density\"\nzero = \"floor\"\nwho = \"observer\"\n"))[0]; written(t, lower) != "page,density,floor,observer\n1r,0.31,0.02,MT\n" {
		t.Error(written(t, lower))
	}
	s := sound(t, "log.xlsx", data, nil)[0]
	if diff := cmp.Diff("page,corner,zero,observer\n1r,0.31,0.02,MT\n", written(t, s)); diff != "" {
		t.Error(diff)
	}
	if used, left := notes(s.Used), notes(s.Left); used != "the merged cells A1:A2: “page” is the name of their column\nthe merged cells B1:C1: “Density” stands over the names below it, which are those of the columns" ||
		left != "cell D2: it stands below the name of its column: “who”" {
		t.Errorf("%s\n%s", used, left)
	}
}

// Days of the two calendars that workbooks count in, by the examples of ISO/IEC
// 29500-1, section 18.17.4.1 (from memory): 1 is 1 January 1900, 60 the day that
// never was, 61 1 March 1900; from 1904, 0 is 1 January 1904.
func TestDays(t *testing.T) {
	for _, test := range []struct {
		serial float64
		from   bool
		want   string
	}{{1, false, "1900-01-01"}, {59, false, "1900-02-28"}, {61, false, "1900-03-01"}, {43831, false, "2020-01-01"}, {0, true, "1904-01-01"}, {42369, true, "2020-01-01"}} {
		data := workbook(t, func(f *excelize.File) {
			ok := must(t)
			style, err := f.NewStyle(&excelize.Style{NumFmt: 14})
			ok(err)
			ok(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &test.from}))
			ok(f.SetSheetRow("Sheet1", "A1", &[]any{"date", "x"}))
			ok(f.SetSheetRow("Sheet1", "A2", &[]any{test.serial, "y"}))
			ok(f.SetCellStyle("Sheet1", "A2", "A2", style))
		})
		if got := written(t, sound(t, "log.xlsx", data, nil)[0]); got != "date,x\n"+test.want+",y\n" {
			t.Errorf("%g is %q, not %s", test.serial, got, test.want)
		}
	}
}

func TestFormulas(t *testing.T) {
	ok := must(t)
	data := workbook(t, func(f *excelize.File) {
		ok(f.SetSheetRow("Sheet1", "A1", &[]any{"leaf", "density"}))
		ok(f.SetSheetRow("Sheet1", "A2", &[]any{1, 0.25}))
		ok(f.SetCellFormula("Sheet1", "B2", "0.5/2"))
		ok(f.SetSheetRow("Sheet1", "A3", &[]any{2}))
		ok(f.SetCellFormula("Sheet1", "B3", "B2*2"))
	})
	var ps table.Problems
	sheets := sheet.Read("log.xlsx", data, nil, &ps)
	if used := notes(sheets[0].Used); used != "2 formulas: B2, B3; their values as last saved were taken" {
		t.Error(used)
	}
	if err := ps.Err(); err == nil || err.Error() != `log.xlsx, sheet Sheet1, line 3, column density: found "a formula without a saved value, =B2*2"; expected a value; mend the formula in B3, or write the value.` {
		t.Error(err)
	}
	if got := written(t, sheets[0]); got != "leaf,density\n1,0.25\n2,\n" {
		t.Error(got)
	}
}

// document makes an .ods of the content of its sheets.
func document(t testing.TB, styles, tables string) []byte {
	t.Helper()
	return archive(t, "mimetype", "application/vnd.oasis.opendocument.spreadsheet", "content.xml",
		`<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0" xmlns:calcext="urn:x"><office:automatic-styles>`+
			styles+`</office:automatic-styles><office:body><office:spreadsheet>`+tables+`</office:spreadsheet></office:body></office:document-content>`)
}

// archive makes a zip archive of names and contents in turn.
func archive(t testing.TB, parts ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		f, err := w.Create(parts[i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(parts[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestOpenDocument(t *testing.T) {
	text := func(words string) string {
		return `<table:table-cell office:value-type="string"><text:p>` + words + `</text:p></table:table-cell>`
	}
	data := document(t, `<style:style style:name="ce1" style:family="table-cell"><style:table-cell-properties fo:background-color="#ffff00"/></style:style>`,
		`<table:table table:name="Messungen"><table:table-row>`+text("Zeitpunkt")+text("Uhr")+text("Schwärzung")+text("Bild")+text("Seite")+`</table:table-row>`+
			`<table:table-row><table:table-cell office:value-type="date" office:date-value="2026-03-09T14:05:00"><text:p>09.03.26</text:p></table:table-cell><table:table-cell office:value-type="time" office:time-value="PT14H05M30S"/><table:table-cell office:value-type="float" office:value="0.31" calcext:value-type="float" table:formula="of:=1"><text:p>0,31</text:p></table:table-cell><table:table-cell office:value-type="boolean" office:boolean-value="true"/><table:table-cell table:number-rows-spanned="2" office:value-type="string"><office:annotation><text:p>by lamp</text:p></office:annotation><text:p>1<text:span>r</text:span></text:p></table:table-cell></table:table-row>`+
			`<table:table-row table:visibility="collapse"><table:table-cell office:value-type="date" office:date-value="2026-03-10"/><table:table-cell/><table:table-cell table:style-name="ce1" office:value-type="float" office:value="0.5"/><table:table-cell office:value-type="boolean" office:boolean-value="false"/><table:covered-table-cell/></table:table-row>`+
			`<table:table-row table:number-rows-repeated="2"><table:table-cell/><table:table-cell/><table:table-cell table:number-columns-repeated="2" office:value-type="float" office:value="1"/></table:table-row>`+
			`<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table><table:table table:name="Leer"/>`)
	sheets := sound(t, "log.ods", data, mapping(t, "[columns]\nZeitpunkt = [\"date\", \"time\"]\n"))
	if len(sheets) != 1 {
		t.Fatalf("%d sheets", len(sheets))
	}
	want := "date,time,Uhr,Schwärzung,Bild,Seite\n2026-03-09,14:05,14:05:30,0.31,yes,1r\n2026-03-10,,,0.5,no,1r\n,,,1,1,\n,,,1,1,\n"
	if diff := cmp.Diff(want, written(t, sheets[0])); diff != "" {
		t.Error(diff)
	}
	wantLeft := `1 cell in the colour #FFFF00: C3; where the colour means something, say it in a column
the comment on E2: “by lamp”`
	if diff := cmp.Diff(wantLeft, notes(sheets[0].Left)); diff != "" {
		t.Error(diff)
	}
	if used := notes(sheets[0].Used); !strings.Contains(used, "1 formula: C2; their values as last saved were taken\nrow 3: hidden in the sheet, and read all the same") {
		t.Error(used)
	}
}

// A day and a time of day in a column that holds only one of them.
func TestHalfAMoment(t *testing.T) {
	row := `<table:table-row><table:table-cell office:value-type="date" office:date-value="2026-03-09T14:05:00"/><table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell></table:table-row>`
	head := `<table:table-row><table:table-cell><text:p>%s</text:p></table:table-cell><table:table-cell><text:p>b</text:p></table:table-cell></table:table-row>`
	for name, want := range map[string]string{"date": "2026-03-09", "time": "14:05", "when": "2026-03-09 14:05"} {
		s := sound(t, "log.ods", document(t, "", `<table:table table:name="a">`+fmt.Sprintf(head, name)+row+`</table:table>`), nil)[0]
		if got := written(t, s); got != name+",b\n"+want+",x\n" {
			t.Error(got)
		}
		if told := strings.Contains(notes(s.Left), `= ["date", "time"] in the mapping`); told != (name != "when") {
			t.Errorf("%s: %s", name, notes(s.Left))
		}
	}
}

// Spreadsheets that cannot be read, and what is said of them.
func TestBroken(t *testing.T) {
	cellOf := func(attrs string) string {
		return `<table:table table:name="a"><table:table-row><table:table-cell ` + attrs + `><text:p>x</text:p></table:table-cell></table:table-row></table:table>`
	}
	for _, test := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, `log, line 1: found nothing; expected a table; the file is empty: save it again.`},
		{"blank lines", []byte(" \n,\n"), `log: found "no filled cell"; expected at least one sheet with a table; check that it is the right file.`},
		{"Latin-1", []byte("Bl\xe4tter,x\n1,2\n"), `log, line 1: found "bytes that are no UTF-8"; expected text in UTF-8; save the table again as UTF-8, or say what it is: encoding = "windows-1252" in the mapping, or --set encoding=windows-1252, which it often is.`},
		{"Latin-1 further down", []byte("a,b\n1,\xe4\n"), `log, line 2: found "bytes that are no UTF-8"; expected text in UTF-8; save the table again as UTF-8, or say what it is: encoding = "windows-1252" in the mapping, or --set encoding=windows-1252, which it often is.`},
		{"NUL", []byte("a,b\n1,\x00\n"), `log, line 2: found "a NUL byte"; expected text in UTF-8; the file is damaged or no text: save the table again.`},
		{"a quotation mark not closed", []byte("a,b\n\"1,2\n"), "log, line 2: found \"a quotation mark out of place, or not closed\"; expected fields quoted as RFC 4180 has it; write a field that holds quotation marks \"like \"\"this\"\"\", and take single ones out."},
		{"a column twice", []byte("a,a\n1,2\n"), `log, line 1, column a: found "a"; expected each column once; “a” is a too; rename or delete one of the two, or correct the mapping.`},
		{"a column without a name", []byte("a,b,\n1,2,3\n"), `log, line 2, column C: found "3"; expected a name for each column that has values; name the column in row 1, or empty it.`},
		{"too many columns", []byte(strings.Repeat("a,", 1001) + "\n"), `log, line 1: found "1002 fields"; expected at most 1000 columns, 1048576 rows and 4000000 cells; check that the file is a table; split one that is larger.`},
		{"a very long cell", []byte("a,b\n1," + strings.Repeat("x", 40_000) + "\n"), `expected at most 32767 characters in a cell; shorten it.`},
		{"an old workbook", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), `log: found "an old or a locked workbook"; expected .xlsx without a password, .ods or .csv; open it and save it again as .xlsx, without a password.`},
		{"a PDF", []byte("%PDF-1.7"), `log: found "a PDF file"; expected .xlsx, .ods or .csv; name the spreadsheet that the PDF was made from.`},
		{"half an archive", []byte("PK\x03\x04rest"), `log: found "a damaged archive"; expected a workbook, .xlsx or .ods; save it again, or copy it anew (zip: not a valid zip file).`},
		{"another archive", archive(t, "a.txt", "x"), `log: found "an archive of something else"; expected a workbook, .xlsx or .ods; name the spreadsheet itself.`},
		{"an empty archive", archive(t), `log: found "an archive of something else"; expected a workbook, .xlsx or .ods; name the spreadsheet itself.`},
		{"a workbook of nothing", archive(t, "xl/workbook.xml", ""), `log: found "a damaged workbook"; expected a workbook that can be opened; open it in a spreadsheet program and save it again (EOF).`},
		{"a workbook that is no XML", archive(t, "xl/workbook.xml", "<workbook><", "[Content_Types].xml", "<"), `log: found "a damaged workbook"`},
		{"content that is no XML", archive(t, "content.xml", "<a"), `log: found "a damaged workbook"; expected a workbook that can be opened; open it in a spreadsheet program and save it again (XML syntax error on line 1: unexpected EOF).`},
		{"content that is cut short in a cell", archive(t, "content.xml", `<t><table name="a"><table-row><table-cell>`), `(XML syntax error on line 1: unexpected EOF).`},
		{"cells outside rows", archive(t, "content.xml", "<table-cell/>"), `(a cell outside a row).`},
		{"rows outside sheets", archive(t, "content.xml", "<table-row/>"), `(a row outside a sheet).`},
		{"a cell that stands for too many", document(t, "", cellOf(`table:number-columns-repeated="16384" office:value-type="string"`)), `(more than 1000 columns in row 1).`},
		{"a row that stands for too many", document(t, "", strings.Replace(cellOf(`table:number-columns-repeated="900" office:value-type="string"`), "<table:table-row>", `<table:table-row table:number-rows-repeated="1048576">`, 1)), `(row 1 stands for 1048576 rows; expected at most 4000000 cells in a sheet).`},
		{"very deep content", archive(t, "content.xml", strings.Repeat("<a>", 10_000)), `(more than 250 elements inside each other).`},
		{"a very deep cell", archive(t, "content.xml", `<t><table name="a"><table-row><table-cell>`+strings.Repeat("<a>", 10_000)), `(more than 250 elements inside each other).`},
		{"entities of its own", archive(t, "content.xml", `<!DOCTYPE a [<!ENTITY x "y">]><a>&x;</a>`), `(XML syntax error on line 1: invalid character entity &x;).`},
		{"too many parts", archive(t, manyParts()...), `expected a workbook of at most 256 megabytes unpacked, in at most 10000 parts`},
		{"a bomb for a document", archive(t, "content.xml", strings.Repeat(" ", 64<<20)), `megabytes in a file of `},
		{"a bomb for a workbook", archive(t, "xl/workbook.xml", "<workbook/>", "xl/sharedStrings.xml", strings.Repeat("<si/>", 13<<20)), `and not 200 times as large as packed; check where the file comes from.`},
		{"a bomb beside a sound sheet", archive(t, "content.xml", "<a/>", "Pictures/1.png", strings.Repeat("\x00", 64<<20)), `megabytes in a file of `},
		{"an archive in an archive", archive(t, "inner.xlsx", string(archive(t, "content.xml", "<a/>"))), `log: found "an archive of something else"; expected a workbook, .xlsx or .ods; name the spreadsheet itself.`},
		{"a content that lies elsewhere", archive(t, "../content.xml", "<a/>", "/content.xml", "<a/>"), `log: found "an archive of something else"`},
		{"an error value", document(t, "", `<table:table table:name="a"><table:table-row><table:table-cell><text:p>a</text:p></table:table-cell></table:table-row><table:table-row><table:table-cell table:formula="of:=1/0"><text:p>#DIV/0!</text:p></table:table-cell></table:table-row></table:table>`),
			`log, sheet a, line 2, column a: found "#DIV/0!"; expected a value; mend the formula in A2, or write the value.`},
	} {
		t.Run(test.name, func(t *testing.T) {
			var ps table.Problems
			sheet.Read("log", test.data, nil, &ps)
			if err := ps.Err(); err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("\n%v\nnot\n%s", err, test.want)
			}
		})
	}
}

func manyParts() []string {
	parts := make([]string, 0, 2*10_001)
	for i := range 10_001 {
		parts = append(parts, fmt.Sprint("a", i), "")
	}
	return parts
}

// A bomb: a part that unpacks to more than a file of its size may, whatever the
// archive's directory says.
func TestBomb(t *testing.T) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	f, err := w.Create("content.xml")
	if err != nil {
		t.Fatal(err)
	}
	zeros := make([]byte, 1<<20)
	for range 300 {
		if _, err := f.Write(zeros); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	var ps table.Problems
	sheet.Read("log.ods", b.Bytes(), nil, &ps)
	if err := ps.Err(); err == nil || !strings.Contains(err.Error(), "megabytes in a file of ") {
		t.Errorf("%v after %v", err, time.Since(start))
	}
}

// A workbook needs no styles (ISO/IEC 29500-1, section 12.3.20: the part is optional).
func TestWithoutStyles(t *testing.T) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"[Content_Types].xml":        `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`,
		"_rels/.rels":                `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="leaves" sheetId="1" r:id="rId1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="/xl/worksheets/sheet1.xml"/></Relationships>`,
		"xl/worksheets/sheet1.xml":   `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row><c t="inlineStr"><is><t>leaf</t></is></c><c t="inlineStr"><is><r><t>qui</t></r><r><t>re</t></r><rPh><t>no</t></rPh></is></c></row><row r="3"><c r="A3"><v>1</v></c><c r="B3" t="str"><f>1+1</f><v>2a</v></c></row></sheetData></worksheet>`,
	} {
		part, err := w.Create(name)
		if err == nil {
			_, err = part.Write([]byte(text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	sheets := sound(t, "leaves.xlsx", b.Bytes(), nil)
	if len(sheets) != 1 || written(t, sheets[0]) != "leaf,quire\n1,2a\n" {
		t.Errorf("%v", sheets)
	}
}

func TestMappingBroken(t *testing.T) {
	for text, want := range map[string]string{
		"x = 1\n":                                `words.toml, line 1, column x: found "x"; expected one of the keys columns, constant, dates, decimal, delimiter, encoding, looks, readings, sheets, times, units, words; correct its spelling, or delete it.`,
		"[columns\n":                             `words.toml, line 1: found "expected ']' to close table name"; expected a file in TOML (https://toml.io); `,
		"[columns]\na = 1\n":                     `words.toml, column columns.a: found "1"; expected the name of a column, or two; write it such as "Schwärzung" = "density", or "Zeitpunkt" = ["date", "time"].`,
		"[columns]\na = []\n":                    `found "[]"; expected the name of a column, or two`,
		"[columns]\na = [\"x\", 2]\n":            `expected the name of a column, or two`,
		"[columns]\na = \"\"\n":                  `expected the name of a column, or two`,
		"dates = \"european\"\n":                 `words.toml, column dates: found "european"; expected one of "day-month-year", "month-day-year"; write one of these, or leave the line out.`,
		"delimiter = \"ab\"\n":                   `words.toml, column delimiter: found "ab"; expected one of ",", ";", "\t", "|"; write one of these, or leave the line out.`,
		"decimal = \";\"\n":                      `words.toml, column decimal: found ";"`,
		"[sheets]\na = 1\n":                      `words.toml, line 2, column sheets.a`,
		"[columns]\na = \"x\"\na = \"y\"\n":      `words.toml`,
		"[columns]\na = \"x\"\n[words]\nb = 1\n": `words.toml`,
	} {
		var ps table.Problems
		m := sheet.ReadMapping("words.toml", []byte(text), &ps)
		if err := ps.Err(); err == nil || !strings.Contains(err.Error(), want) || m != nil {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// Any table written with any delimiter comes back.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mark := rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "mark")
		columns := rapid.IntRange(2, 5).Draw(t, "columns")
		var lines []string
		for i := range rapid.IntRange(1, 6).Draw(t, "rows") + 1 {
			var row []string
			for k := range columns {
				cell := fmt.Sprintf("c%d-%d", i, k)
				if i > 0 {
					cell = rapid.StringMatching(`[a-z0-9 .äß]{0,6}`).Draw(t, "cell")
				}
				row = append(row, strings.TrimSpace(cell))
			}
			lines = append(lines, strings.Join(row, mark))
		}
		text := strings.Join(lines, "\n") + "\n"
		var ps table.Problems
		sheets := sheet.Read("log.csv", []byte(text), nil, &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
		want := table.Read("x", []byte(strings.ReplaceAll(text, mark, ",")), &ps)
		var a, b bytes.Buffer
		if err := want.Write(&a); err != nil {
			t.Fatal(err)
		}
		if err := sheets[0].Table.Write(&b); err != nil {
			t.Fatal(err)
		}
		if ps.Err() != nil || a.String() != b.String() {
			t.Fatalf("%v\n%s", ps.Err(), cmp.Diff(a.String(), b.String()))
		}
	})
}

// A workbook and a document cut short anywhere are refused with a problem.
func TestTruncation(t *testing.T) {
	book := workbook(t, func(f *excelize.File) { must(t)(f.SetSheetRow("Sheet1", "A1", &[]any{"leaf", "density"})) })
	doc := document(t, "", `<table:table table:name="a"><table:table-row><table:table-cell><text:p>a</text:p></table:table-cell></table:table-row></table:table>`)
	rapid.Check(t, func(t *rapid.T) {
		data := [][]byte{book, doc}[rapid.IntRange(0, 1).Draw(t, "file")]
		cut := rapid.IntRange(len("PK"), len(data)-1).Draw(t, "cut")
		var ps table.Problems
		if sheet.Read("log", data[:cut], nil, &ps); ps.Err() == nil {
			t.Fatalf("cut at %d of %d there is no problem", cut, len(data))
		}
	})
}

// No file makes reading fail other than by a problem.
func FuzzRead(f *testing.F) {
	f.Add([]byte("a;b\n1,5;2\n"))
	f.Add([]byte("sep=|\na|b\n1|2\n"))
	f.Add(workbook(f, func(x *excelize.File) {
		must(f)(x.SetSheetRow("Sheet1", "A1", &[]any{"leaf", "density"}))
		must(f)(x.SetSheetRow("Sheet1", "A2", &[]any{1, 0.25}))
	}))
	f.Add(document(f, "", `<table:table table:name="a"><table:table-row><table:table-cell table:number-columns-spanned="2" office:value-type="date" office:date-value="2026-01-02"/><table:covered-table-cell/></table:table-row></table:table>`))
	f.Fuzz(func(t *testing.T, data []byte) { check(t, data) })
}

// FuzzDocument goes straight to the content of a document, which a fuzzer cannot
// reach through the packing.
func FuzzDocument(f *testing.F) {
	f.Add(`<table:table table:name="a"><table:table-row table:number-rows-repeated="3"><table:table-cell office:value-type="time" office:time-value="PT1H"/></table:table-row></table:table>`)
	f.Add(`<table:table><table:table-row><table:table-cell table:formula="x"><office:annotation><text:p>n</text:p></office:annotation><text:p>a<text:s/>b</text:p></table:table-cell></table:table-row></table:table>`)
	f.Fuzz(func(t *testing.T, tables string) { check(t, document(t, "", tables)) })
}

// FuzzWorksheet does the same for the cells of a workbook.
func FuzzWorksheet(f *testing.F) {
	f.Add(`<row r="1"><c r="A1" t="inlineStr"><is><t>a</t></is></c><c r="B1" t="b"><v>1</v></c></row><row r="2"><c r="A2" s="1"><f>1+1</f><v>2</v></c><c r="B2" t="e"><v>#N/A</v></c></row>`)
	f.Add(`<row><c><v>1</v></c></row><row r="5"><c r="XFD5"><v>1</v></c></row>`)
	f.Fuzz(func(t *testing.T, cells string) {
		check(t, archive(t,
			"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`,
			"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="a" sheetId="1" r:id="rId1"/></sheets></workbook>`,
			"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
			"xl/worksheets/sheet1.xml", `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`+cells+`</sheetData></worksheet>`))
	})
}

func check(t *testing.T, data []byte) {
	var ps table.Problems
	for _, s := range sheet.Read("log", data, nil, &ps) {
		for i := range s.Table.Rows() {
			if s.Table.Line(i) < 1 {
				t.Errorf("row %d is of row %d of the sheet", i, s.Table.Line(i))
			}
		}
		written(t, s)
	}
	for _, p := range ps.List() {
		if p.Expected == "" || p.Remedy == "" || p.File == "" {
			t.Errorf("a problem without its parts: %#v", p)
		}
	}
}

func FuzzMapping(f *testing.F) {
	f.Add("[columns]\na = [\"x\", \"y\"]\n[sheets]\nb = \"leaves\"\n")
	f.Add("dates = \"day-month-year\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		var ps table.Problems
		if m := sheet.ReadMapping("words.toml", []byte(text), &ps); (m == nil) == (ps.Err() == nil) {
			t.Errorf("%q: %v", text, ps.Err())
		}
	})
}

// A log of 20,000 readings in a workbook.
func BenchmarkWorkbook(b *testing.B) {
	data := workbook(b, func(f *excelize.File) {
		w, err := f.NewStreamWriter("Sheet1")
		must(b)(err)
		must(b)(w.SetRow("A1", []any{"book", "page", "date", "time", "instrument", "observer", "target", "density"}))
		for i := range 20_000 {
			must(b)(w.SetRow(fmt.Sprint("A", i+2), []any{"alder", fmt.Sprintf("%dr", i/10+1), "2026-03-09", "14:05", "one", "MT", "page", 0.31}))
		}
		must(b)(w.Flush())
	})
	for b.Loop() {
		if rows := sound(b, "log.xlsx", data, nil)[0].Table.Rows(); rows != 20_000 {
			b.Fatal(rows)
		}
	}
}

// A character that shows nothing and can turn the text around it is refused in a cell
// and in a name, each with its place.
func TestUnprintableCells(t *testing.T) {
	for text, want := range map[string]string{
		"Page,Note\n1r,so \u202egnorw\n": "log.csv, line 2, column Note: found \"so gnorw with U+202E\"",
		"Page,Note\n1r,bell \a\n":        "log.csv, line 2, column Note: found \"bell with U+0007\"",
		"Page,No\u2066te\n1r,x\n":        "log.csv, line 1, column B: found \"Note with U+2066\"",
	} {
		var ps table.Problems
		sheet.Read("log.csv", []byte(text), nil, &ps)
		if err := ps.Err(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	var ps table.Problems // marks that Hebrew and Arabic text needs pass
	if sheet.Read("log.csv", []byte("Page,Note\n1r,\u200fא\n"), nil, &ps); ps.Err() != nil {
		t.Error(ps.Err())
	}
}
