package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// A Sheet is one table of a spreadsheet, its columns and cells written as our
// tables have them.
type Sheet struct {
	Name  string // of the sheet; of a .csv, of the file without its ending
	Table *table.Table
	Used  []Note
	Left  []Note // what is no part of the table, for the scholar to look at
}

// A Note is something to know of a sheet.
type Note struct {
	What  string // a phrase: column “Schwärzung”
	Words string
}

// tabulate makes a table of a grid; nil where it is empty.
func tabulate(file string, g *grid, m *Mapping, ps *table.Problems) *Sheet {
	t := &tabulator{grid: g, mapping: m, ps: ps, file: file, sheet: &Sheet{Name: g.name}}
	if g.told {
		t.file = fmt.Sprintf("%s, sheet %s", file, g.name)
	}
	head := t.head()
	if head < 0 {
		return nil
	}
	last := t.names(head)
	columns := t.columns(head)
	t.fillDown(last)
	lines := t.body(last, columns)
	t.report()
	t.build(columns, lines)
	return t.sheet
}

type tabulator struct {
	*grid
	mapping *Mapping
	ps      *table.Problems
	file    string
	sheet   *Sheet
}

func (t *tabulator) fault(row int, column, value, expected, remedy string) {
	t.ps.Add(table.Problem{File: t.file, Line: row, Column: column, Value: value, Expected: expected, Remedy: remedy})
}

func (t *tabulator) use(what, format string, args ...any) {
	t.sheet.Used = append(t.sheet.Used, Note{what, fmt.Sprintf(format, args...)})
}

func (t *tabulator) leave(what, format string, args ...any) {
	t.sheet.Left = append(t.sheet.Left, Note{what, fmt.Sprintf(format, args...)})
}

// head finds the row of the columns' names: the first that has the most names
// which the mapping maps, else the first with two filled cells, or the first filled
// one of a sheet of one column. Rows above it are titles.
func (t *tabulator) head() int {
	first, head := -1, -1
	for i, row := range t.rows {
		filled := 0
		for _, c := range row {
			if c.filled() {
				filled++
			}
		}
		if filled > 0 && first < 0 {
			first = i
		}
		if filled > 1 {
			head = i
			break
		}
	}
	if mapped := t.mappedRow(); mapped >= 0 {
		head = mapped
	}
	if head < 0 {
		return first
	}
	for i := first; i >= 0 && i < head; i++ {
		for k, c := range t.rows[i] {
			if c.value() != "" {
				t.leave("cell "+at(k+1, i+1), "it stands above the columns' names: “%s”", short(c.value()))
			}
		}
	}
	return head
}

// names puts the columns' names into the row head where they stand in several rows, as
// merged cells show: one merged downwards is the name of its column, and one merged
// sideways stands over the names below it. It gives the last of these rows.
func (t *tabulator) names(head int) (last int) {
	last = head
	var rest, names []area
	for _, a := range t.merged {
		if a.row <= head && a.lastRow == head+1 && a.column == a.lastColumn && a.column <= len(t.rows[a.row-1]) { // down to the names
			name := t.rows[a.row-1][a.column-1]
			t.set(a.column, head+1, name)
			t.use("the merged cells "+a.String(), "“%s” is the name of their column", short(name.value()))
			continue
		}
		if a.row != head+1 || a.lastRow > len(t.rows) {
			rest = append(rest, a)
			continue
		}
		names = append(names, a)
		last = max(last, a.lastRow-1)
	}
	if last == head {
		t.merged = append(rest, names...)
		return head
	}
	over := map[int]bool{} // columns under a name merged sideways
	for _, a := range names {
		name := t.cellAt(a.column, a.row).value()
		if a.column == a.lastColumn {
			t.use("the merged cells "+a.String(), "“%s” is the name of their column", short(name))
			continue
		}
		for k := a.column; k <= a.lastColumn; k++ {
			over[k] = true
		}
		t.use("the merged cells "+a.String(), "“%s” stands over the names below it, which are those of the columns", short(name))
	}
	shared := t.shared(names, over, last)
	for row := head + 1; row <= last; row++ {
		for k, below := range t.rows[row] {
			if below.value() == "" {
				continue
			}
			if name := shared[k+1]; name != "" && row == last {
				below.text = name + ": " + below.text
			}
			if t.cellAt(k+1, head+1).value() != "" && !over[k+1] {
				t.leave("cell "+at(k+1, row+1), "it stands below the name of its column: “%s”", short(below.value()))
				continue
			}
			t.set(k+1, head+1, below)
		}
	}
	t.merged = rest
	return last
}

// shared are the names merged sideways, by the columns below them, where the names below
// are not told apart without: two parts of a picture over the same two observers.
func (t *tabulator) shared(names []area, over map[int]bool, last int) map[int]string {
	below := map[string]bool{}
	again := false
	for k := range over {
		name := t.cellAt(k, last+1).value()
		again = again || below[name] && name != ""
		below[name] = true
	}
	out := map[int]string{}
	for _, a := range names {
		for k := a.column; again && k <= a.lastColumn && a.column < a.lastColumn; k++ {
			out[k] = tidy(t.cellAt(a.column, a.row).value())
		}
	}
	return out
}

// cellAt is the cell in a column and a row, counted from 1; an empty one outside of what
// the sheet holds.
func (t *tabulator) cellAt(column, row int) cell {
	if row > len(t.rows) || column > len(t.rows[row-1]) {
		return cell{}
	}
	return t.rows[row-1][column-1]
}

// headRows is among how many rows at the top the columns' names are looked for.
const headRows = 30

// mappedRow is the first of the rows at the top that have the most names which the
// mapping maps; -1 where none has two.
func (t *tabulator) mappedRow() int {
	if t.mapping == nil {
		return -1
	}
	best, most := -1, 1
	for i, row := range t.rows[:min(len(t.rows), headRows)] {
		n := 0
		for _, c := range row {
			if name := tidy(c.value()); name != "" && t.mapping.maps(name) {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// A column is one column of the sheet and the columns of ours that it fills.
type column struct {
	index  int // from 0
	header string
	names  Names
	cells  []cell
}

func (c *column) what() string { return "column “" + short(c.header) + "”" }

// columns reads the columns' names.
func (t *tabulator) columns(head int) []*column {
	var columns []*column
	taken := map[string]string{}
	width := 0
	for _, row := range t.rows[head:] {
		width = max(width, len(row))
	}
	for k := range width {
		header := tidy(t.cellAt(k+1, head+1).value())
		if header == "" {
			t.unnamed(head, k)
			continue
		}
		if t.hides(head+1, letters(k+1), header) {
			continue
		}
		c := &column{index: k, header: header, names: t.mapping.names(header)}
		if dup := slices.IndexFunc(c.names, func(name string) bool { return taken[name] != "" }); dup >= 0 {
			name := c.names[dup]
			t.fault(head+1, header, header, fmt.Sprintf("each column once; “%s” is %s too", taken[name], name), "rename or delete one of the two, or correct the mapping")
			continue
		}
		for _, name := range c.names {
			taken[name] = header
		}
		if len(c.names) > 1 || c.names[0] != header {
			t.use(c.what(), "it is %s here", strings.Join(c.names, " and "))
		}
		columns = append(columns, c)
	}
	return columns
}

// unnamed reports values under no name.
func (t *tabulator) unnamed(head, k int) {
	for i := head + 1; i < len(t.rows); i++ {
		if k < len(t.rows[i]) && t.rows[i][k].value() != "" {
			t.fault(i+1, letters(k+1), t.rows[i][k].value(), "a name for each column that has values", "name the column in row "+fmt.Sprint(head+1)+", or empty it")
			return
		}
	}
}

// fillDown writes the value of cells that are merged downwards into each of their
// rows, as the sheet shows it. Those merged sideways are left, and told.
func (t *tabulator) fillDown(head int) {
	var others []area
	for _, a := range t.merged {
		first := t.cellAt(a.column, a.row)
		if a.column != a.lastColumn || a.row <= head+1 || a.row > len(t.rows) || first.value() == "" {
			others = append(others, a)
			continue
		}
		for row := a.row + 1; row <= min(a.lastRow, len(t.rows)); row++ {
			if len(t.rows[row-1]) > 0 { // else nothing is in the row but the merge
				t.set(a.column, row, first)
			}
		}
		t.use("the merged cells "+a.String(), "“%s” holds in each of their rows", short(first.value()))
	}
	t.merged = others
}

// body gathers the cells of the rows that have any, and the rows' numbers. It lets the
// rows go, of which a large sheet has many.
func (t *tabulator) body(head int, columns []*column) (lines []int) {
	for _, c := range columns {
		c.cells = make([]cell, 0, len(t.rows)-head-1)
	}
	for i := head + 1; i < len(t.rows); i++ {
		row := t.rows[i]
		t.rows[i] = nil
		if !slices.ContainsFunc(row, cell.filled) {
			continue
		}
		lines = append(lines, i+1)
		for _, c := range columns {
			var here cell
			if c.index < len(row) {
				here = row[c.index]
			}
			if here.fault() != "" {
				t.fault(i+1, c.header, here.fault(), "a value", "mend the formula in "+at(c.index+1, i+1)+", or write the value")
			}
			if utf8.RuneCountInString(here.text) > mostText {
				t.fault(i+1, c.header, short(here.text), fmt.Sprintf("at most %d characters in a cell", mostText), "shorten it")
				here = cell{}
			}
			if t.hides(i+1, c.header, here.text) {
				here = cell{}
			}
			c.cells = append(c.cells, here)
		}
	}
	return lines
}

// hides reports a cell with a character that shows nothing and can turn the text
// around it.
func (t *tabulator) hides(row int, column, text string) bool {
	at, size := table.Unprintable([]byte(text))
	if size > 0 {
		shown, _ := table.Printable(short(text))
		t.fault(row, column, tidy(shown)+" with "+table.CodePoint([]byte(text[at:at+size])), table.PrintableWanted, table.PrintableRemedy)
	}
	return size > 0
}

// report enters what the sheet holds beside its table.
func (t *tabulator) report() {
	for _, a := range t.merged {
		t.leave("the merged cells "+a.String(), "the value stands in the first of them alone; write it in each row that it holds for")
	}
	var colours []string
	for colour := range t.fills {
		colours = append(colours, colour)
	}
	slices.Sort(colours)
	for _, colour := range colours {
		c := t.fills[colour]
		t.leave(fmt.Sprintf("%s in the colour %s", wording.Plain(c.count, "cell", "cells"), colour), "%s; where the colour means something, say it in a column", c)
	}
	if t.formulas.count > 0 {
		t.use(wording.Plain(t.formulas.count, "formula", "formulas"), "%s; their values as last saved were taken", t.formulas)
	}
	var commented []string
	for name := range t.comments {
		commented = append(commented, name)
	}
	slices.Sort(commented)
	for _, name := range commented {
		t.leave("the comment on "+name, "“%s”", short(t.comments[name]))
	}
	for _, what := range t.hidden {
		t.use(what, "hidden in the sheet, and read all the same")
	}
}

func short(text string) string {
	runes := []rune(tidy(text))
	if len(runes) <= 60 {
		return string(runes)
	}
	return string(runes[:60]) + " …"
}

// build makes the table.
func (t *tabulator) build(columns []*column, lines []int) {
	t.sheet.Table = &table.Table{}
	add := func(name string, cells []string) {
		if err := t.sheet.Table.Add(table.Cells(name, cells)); err != nil {
			panic("sheet: " + err.Error()) // names and lengths are settled above
		}
	}
	for _, c := range columns {
		t.percentages(c, lines)
		t.translate(c)
		t.units(c)
		t.points(c)
		t.moments(c)
		t.days(c)
		t.times(c)
		for _, name := range c.names {
			add(name, t.named(c, name))
		}
		c.cells = nil
	}
	if err := t.sheet.Table.Place(t.file, lines); err != nil && len(columns) > 0 {
		panic("sheet: " + err.Error())
	}
}

// named are the cells of a column as one of ours has them: a date has the day
// and a time the time of day.
func (t *tabulator) named(c *column, name string) []string {
	out := make([]string, len(c.cells))
	dropped := 0
	for i, here := range c.cells {
		both := here.text != "" && here.clock() != ""
		switch {
		case name == "date" && (both || len(c.names) > 1):
			out[i] = here.text
		case name == "time" && (both || len(c.names) > 1):
			out[i] = here.clock()
		default:
			out[i] = here.value()
		}
		if both && out[i] != here.value() {
			dropped++
		}
	}
	if dropped > 0 && len(c.names) == 1 {
		t.leave(c.what(), "%s a day and a time of day; only the %s was taken: write %q = [\"date\", \"time\"] in the mapping", wording.Plain(dropped, "cell holds", "cells hold"), name, c.header)
	}
	return out
}

// translate puts our words for the scholar's.
func (t *tabulator) translate(c *column) {
	if t.mapping == nil {
		return
	}
	for i := range c.cells {
		here := &c.cells[i]
		if here.clock() != "" {
			continue
		}
		word, ok := t.mapping.Words[here.text]
		names := c.names
		if t.mapping.isLook(c.header) {
			names = lookValues
		}
		for _, name := range names {
			if own, has := t.mapping.WordsOf[name][here.text]; has {
				word, ok = own, true
			}
		}
		if ok {
			here.text = word
		}
	}
}

// lookValues are the columns of ours whose words those of a column of looks are.
var lookValues = Names{"grade", "count", "present"}

// percentages refuses those of a column of densities: they may be reflectances.
func (t *tabulator) percentages(c *column, lines []int) {
	if !slices.Contains(c.names, "density") && (t.mapping == nil || t.mapping.Readings[c.header] == "") {
		return
	}
	for i, here := range c.cells {
		if here.percent() {
			v, _ := strconv.ParseFloat(here.text, 64) // a number, as it was written
			t.fault(lines[i], c.header, fmt.Sprintf("%s %%", number(100*v)), "a density",
				"if the percentage is a reflectance R, write the density −log10 R, here "+number(math.Round(-1000*math.Log10(v))/1000)+"; if it is a density, give the column another number format")
			return
		}
	}
}

var (
	reComma = regexp.MustCompile(`^[-+−]?\d+,\d+$`)
	rePoint = regexp.MustCompile(`^[-+−]?\d+(?:[.]\d+)?$`)
	// A number that reads as thousands too.
	reThousand = regexp.MustCompile(`^[-+−]?[1-9]\d{0,2}[.,]\d{3}$`)
)

// points writes a decimal point for the decimal comma of a column most of whose
// values are numbers. Where a column has both marks, no value may be one that a comma
// or a point could part into thousands: 1,234.
func (t *tabulator) points(c *column) {
	if t.mapping != nil && t.mapping.Decimal == "." {
		return
	}
	commas, others, words, example := 0, 0, 0, ""
	both, thousands := false, false
	for _, here := range c.cells {
		switch {
		case here.clock() != "":
			return
		case here.text == "":
		case reComma.MatchString(here.text):
			if commas++; commas == 1 {
				example = here.text
			}
			thousands = thousands || reThousand.MatchString(here.text)
		case !rePoint.MatchString(here.text):
			words++
		default:
			others++
			if strings.Contains(here.text, ".") && !t.told {
				both, thousands = true, thousands || reThousand.MatchString(here.text)
			}
		}
	}
	if commas == 0 || words >= commas+others || both && thousands {
		return
	}
	for i := range c.cells {
		if reComma.MatchString(c.cells[i].text) {
			c.cells[i].text = strings.NewReplacer(",", ".", "−", "-").Replace(c.cells[i].text)
		}
	}
	t.use(c.what(), "%s with a decimal comma (%s), written with a point", wording.Plain(commas, "number", "numbers"), example)
}

// days writes days that are text in the order that the mapping tells.
func (t *tabulator) days(c *column) {
	var layouts []string
	switch {
	case t.mapping == nil:
	case t.mapping.Dates == dayFirst:
		layouts = []string{"2.1.2006", "2/1/2006", "2-1-2006"}
	case t.mapping.Dates == monthFirst:
		layouts = []string{"1/2/2006", "1-2-2006", "1.2.2006"}
	}
	changed := 0
	for i := range c.cells {
		if slices.Contains(c.names, "date") {
			if day, ok := namedMonth(c.cells[i].text); ok {
				c.cells[i].text = day
				changed++
				continue
			}
		}
		for _, layout := range layouts {
			if day, err := time.Parse(layout, c.cells[i].text); err == nil {
				c.cells[i].text = day.Format(time.DateOnly)
				changed++
				break
			}
		}
	}
	if changed > 0 {
		t.use(c.what(), "%s written as year-month-day", wording.Plain(changed, "day", "days"))
	}
}
