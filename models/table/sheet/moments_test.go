package sheet_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"

	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// column reads a table of one column beside a counter, and gives its cells.
func column(t *testing.T, name string, m *sheet.Mapping, cells ...string) string {
	t.Helper()
	text := "row;" + name + "\n"
	for i, cell := range cells {
		text += fmt.Sprintf("%d;%s\n", i+1, cell)
	}
	var ps table.Problems
	sheets := sheet.Read("log.csv", []byte(text), m, &ps)
	if len(sheets) != 1 {
		t.Fatal(ps.Err())
	}
	return strings.Join(sheets[0].Table.Column(name).Text(), " ")
}

// Times of day that can mean nothing else are written as 14:05; 14.05 may be hours
// and a part of one, and is read where the mapping says that it is none.
func TestTimesInWords(t *testing.T) {
	plain := mapping(t, "")
	if got, want := column(t, "time", plain, "14h05", "14 h 5", "9 h", "14:05 Uhr", "14 Uhr 05", "2:05 pm", "12 a.m.", "12 pm", "2 PM", "14:05", "14:05:30"),
		"14:05 14 h 5 09:00 14:05 14:05 14:05 00:00 12:00 14:00 14:05 14:05:30"; got != want {
		t.Errorf("%s\nnot\n%s", got, want)
	}
	if got := column(t, "time", plain, "14.05", "25h00", "13 pm", "14h75", "soon"); got != "14.05 25h00 13 pm 14h75 soon" {
		t.Error(got)
	}
	if got := column(t, "time", mapping(t, `times = "hour.minute"`), "14.05", "9.30", "14.1", "14.75"); got != "14:05 09:30 14.1 14.75" {
		t.Error(got)
	}
	if got := column(t, "density", mapping(t, `times = "hour.minute"`), "14.05", "2 pm"); got != "14.05 2 pm" {
		t.Error(got)
	}
}

// A day and a time of day in one cell of text fill two columns.
func TestMomentsInText(t *testing.T) {
	words := "dates = \"day-month-year\"\ntimes = \"hour.minute\"\n[columns]\nWann = [\"date\", \"time\"]"
	var ps table.Problems
	sheets := sheet.Read("log.csv", []byte("n;Wann\n1;26.11.2026 09:30\n2;26.11.2026, 9.05\n3;2026-11-26T14:05:30\n4;9. März 2026 14:05 Uhr\n5;26.11.2026 2:05 pm\n6;26.11.2026\n7;bald\n"), mapping(t, words), &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	got := written(t, sheets[0])
	if want := "n,date,time\n1,2026-11-26,09:30\n2,2026-11-26,09:05\n3,2026-11-26,14:05:30\n4,2026-03-09,14:05\n5,2026-11-26,14:05\n6,2026-11-26,\n7,bald,\n"; got != want {
		t.Error(cmp.Diff(want, got))
	}
}

// Days whose month is a word, in six languages.
func TestDaysInWords(t *testing.T) {
	got := column(t, "date", nil, "9. März 2026", "9 March 2026", "March 9, 2026", "9 mars 2026", "9 marzo 2026", "9 de marzo de 2026", "9 maart 2026", "1er août 2026", "3 juillet 2026", "3 juin 2026", "5 mei 2026", "5 dic. 2026", "30 février 2026", "9 Smarch 2026", "9.3.2026")
	if want := "2026-03-09 2026-03-09 2026-03-09 2026-03-09 2026-03-09 2026-03-09 2026-03-09 2026-08-01 2026-07-03 2026-06-03 2026-05-05 2026-12-05 30 février 2026 9 Smarch 2026 9.3.2026"; got != want {
		t.Errorf("%s\nnot\n%s", got, want)
	}
	if got := column(t, "note", nil, "9 March 2026", "x"); got != "9 March 2026 x" {
		t.Error(got)
	}
}

// Units behind numbers are taken off where the mapping names them, decimal commas
// of a column most of whose values are numbers become points.
func TestUnitsAndCommas(t *testing.T) {
	units := mapping(t, "[units]\ndensity = \"D\"\n[words]\n\"n/a\" = \"\"\n\"—\" = \"\"")
	if got := column(t, "density", units, "0,12 D", "0,13D", "0,14", "n/a", "—", "< 0,01", "D"); got != "0.12 0.13 0.14   < 0,01 D" {
		t.Errorf("%q", got)
	}
	if got := column(t, "page", nil, "12r", "12,13", "13v"); got != "12r 12,13 13v" {
		t.Error(got)
	}
}

// Names of columns in two rows: those that the mapping maps are taken, and what
// stands above is listed.
func TestTwoRowsOfNames(t *testing.T) {
	m := mapping(t, "[columns]\n\"Seite\" = \"page\"\n\"Schwärzung\" = \"density\"")
	var ps table.Problems
	sheets := sheet.Read("log.csv", []byte("Log of March;;\nWhere;;What\nSeite;Tag;Schwärzung\n12r;2026-03-09;0,12\n"), m, &ps)
	if ps.Err() != nil || len(sheets) != 1 || sheets[0].Table.Rows() != 1 || sheets[0].Table.Column("density") == nil {
		t.Fatal(ps.Err(), sheets)
	}
	if len(sheets[0].Left) != 3 || sheets[0].Left[2].What != "cell C2" {
		t.Error(sheets[0].Left)
	}
}

// A table that is not UTF-8 is refused until the mapping says what it is.
func TestEncodingOfText(t *testing.T) {
	data, err := charmap.Windows1252.NewEncoder().Bytes([]byte("Seite;Bemerkung\r\n12r;\"Blatt – geklebt,\r\nfür immer\"\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	if sheets := sheet.Read("log.csv", data, nil, &ps); sheets != nil || !strings.Contains(ps.Err().Error(), `say what it is: encoding = "windows-1252" in the mapping, or --set encoding=windows-1252, which it often is`) {
		t.Error(ps.Err())
	}
	ps = table.Problems{}
	sheets := sheet.Read("log.csv", data, mapping(t, `encoding = "windows-1252"`), &ps)
	if len(sheets) != 1 {
		t.Fatal(ps.Err())
	}
	if note := sheets[0].Table.Column("Bemerkung").Text()[0]; note != "Blatt – geklebt,\nfür immer" {
		t.Errorf("%q", note)
	}
	if m := sheet.ReadMapping("words.toml", []byte(`encoding = "enigma"`), &ps); m != nil {
		t.Error("an encoding that is none")
	}
}

// A fill whose colour stands beside a second one, as some programs write it, is
// told by its first (ISO/IEC 29500-1, section 18.8.32).
func TestColourWithTwoParts(t *testing.T) {
	f := excelize.NewFile()
	for cell, value := range map[string]any{"A1": "page", "B1": "density", "A2": "12r", "B2": 0.12} {
		if err := f.SetCellValue("Sheet1", cell, value); err != nil {
			t.Fatal(err)
		}
	}
	style, err := f.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"FFFF00"}}})
	if err != nil || f.SetCellStyle("Sheet1", "B2", "B2", style) != nil {
		t.Fatal(err)
	}
	var whole bytes.Buffer
	if err := f.Write(&whole); err != nil {
		t.Fatal(err)
	}
	data := rewritten(t, whole.Bytes(), "xl/styles.xml", func(styles string) string {
		return strings.ReplaceAll(styles, `<fgColor rgb="FFFF00"></fgColor>`, `<fgColor rgb="FFFFFF00"/><bgColor rgb="FFFFFF00"/>`)
	})
	var ps table.Problems
	sheets := sheet.Read("log.xlsx", data, nil, &ps)
	if len(sheets) != 1 {
		t.Fatal(ps.Err())
	}
	if diff := cmp.Diff([]sheet.Note{{What: "1 cell in the colour #FFFF00", Words: "B2; where the colour means something, say it in a column"}}, sheets[0].Left); diff != "" {
		t.Error(diff)
	}
}

// rewritten changes one part of an archive.
func rewritten(t *testing.T, data []byte, name string, change func(string) string) []byte {
	t.Helper()
	from, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	to := zip.NewWriter(&out)
	for _, part := range from.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		if part.Name == name {
			text = change(text)
		}
		w, err := to.Create(part.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := to.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Sheets and columns that are hidden in an OpenDocument (version 1.2, part 1,
// sections 17.15 and 19.749) are read and told; who wrote a comment is no part of
// it.
func TestHiddenInOpenDocument(t *testing.T) {
	text := func(words string) string {
		return `<table:table-cell office:value-type="string"><text:p>` + words + `</text:p></table:table-cell>`
	}
	data := document(t, `<style:style style:name="ta2" style:family="table"><style:table-properties table:display="false"/></style:style>`,
		`<table:table table:name="Log" table:style-name="ta2"><table:table-column table:number-columns-repeated="2"/><table:table-column table:visibility="collapse"/><table:table-row>`+text("a")+text("b")+text("c")+`</table:table-row>`+
			`<table:table-row>`+text("1")+text("2")+`<table:table-cell office:value-type="string"><office:annotation><dc:creator>Joan</dc:creator><dc:date>2026-03-09T10:00:00</dc:date><text:p>by lamp</text:p></office:annotation><text:p>3</text:p></table:table-cell></table:table-row></table:table>`)
	sheets := sound(t, "log.ods", data, nil)
	if len(sheets) != 1 || written(t, sheets[0]) != "a,b,c\n1,2,3\n" {
		t.Fatal(sheets)
	}
	if left := notes(sheets[0].Left); left != "the comment on C2: “by lamp”" {
		t.Error(left)
	}
	if used := notes(sheets[0].Used); used != "the whole sheet: hidden in the sheet, and read all the same\ncolumn C: hidden in the sheet, and read all the same" {
		t.Error(used)
	}
}
