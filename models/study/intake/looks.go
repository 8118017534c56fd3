package intake

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
)

// untold begins a cell that gives the reason why a look cannot tell.
const untold = "?"

// noReason stands for a reason that a sheet does not give.
const noReason = "no reason in the spreadsheet"

// A lookCell is a look in a wide sheet, as a row of traces.csv will have it.
type lookCell struct {
	row                             int // of the wide sheet
	trace, part, observer, date     string
	grade, count, present, exposure string
	unclear                         string
}

// looksOf makes a table with a row a look of a sheet that has several looks in a row, in
// the columns that the mapping names under [looks]. An empty cell is no look, where the
// mapping does not say what it stands for; a cell that begins with ? cannot be told. It
// gives the table as it is where the mapping names none of its columns.
func (i *Import) looksOf(what string, t *table.Table, words *sheet.Mapping, ps *table.Problems) *table.Table {
	settle(t, words, ps)
	var columns, rest []*table.Column
	for _, c := range t.Columns() {
		if _, is := words.Looks[c.Name]; is {
			columns = append(columns, c)
		} else {
			rest = append(rest, c)
		}
	}
	if len(columns) == 0 {
		return t
	}
	if untraced := withoutTrace(t, columns, words); untraced != nil && len(untraced) < len(columns) {
		ps.Add(table.Problem{File: t.File, Column: strings.Join(untraced, ", "), Expected: "which trace was looked for", Remedy: "--set trace=rubbing, where these are of one trace; else say it in a mapping, such as trace = \"rubbing\", behind each under [looks]"})
		return t
	}
	kinds := kindsOfLooks(t, columns, words)
	var looks []lookCell
	nobody, unclear := 0, 0
	for row := range t.Rows() {
		for _, c := range columns {
			look, ok := lookAt(t, c, row, words, kinds, ps)
			switch {
			case !ok:
				nobody++
				continue
			case look.unclear != "":
				unclear++
			}
			looks = append(looks, look)
		}
	}
	i.Account.Use(0, what, "%s, as %s, %d of which cannot tell", catalogue.Count(t.Rows(), "row", "rows"), catalogue.Count(len(looks), "look", "looks"), unclear)
	if nobody > 0 {
		i.Account.Use(0, what, "%s: nobody looked; where they mean that nothing is there, say empty = \"no\", or the lowest grade, behind the column under [looks]", catalogue.Count(nobody, "empty cell", "empty cells"))
	}
	for _, name := range allYes(looks) {
		i.Account.Leave(0, what+", "+name, "every look found it, since nothing says where it is not: say what an empty cell means, such as empty = \"no\", behind its column under [looks]")
	}
	return looksTable(t, rest, looks)
}

// askLooks reports the columns that a table of looks needs and has not, which may be alike
// in all rows; false where there is one.
func askLooks(looks *table.Table, ps *table.Problems) bool {
	all := true
	for _, need := range []struct{ column, how string }{
		{codex.ColumnPage, "name the column of pages in a mapping"}, {codex.ColumnBook, "--set book=ID, where all are of one book"},
		{traces.ColumnTrace, "--set trace=rubbing, where all looks are at one trace; else name its column in a mapping, or say it behind each column under [looks]"},
		{"observer", "--set observer=HB, where one person looked; else a column, or behind each column under [looks]"},
		{"date", "--set date=2026-06-01, where all looks were taken on one day"},
	} {
		if looks.Column(need.column) == nil {
			all = false
			ps.Add(table.Problem{File: looks.File, Column: need.column, Expected: "a column that tells it, or one value for all rows", Remedy: need.how})
		}
	}
	return all
}

// own is what a look is at or by whom: as the column has it, the row, or the mapping for
// all rows.
func own(t *table.Table, row int, words *sheet.Mapping, column, given string) string {
	return cmp.Or(given, labelAt(t, column, row), words.Constant[column])
}

// withoutTrace are the names of the columns of which nothing tells the trace.
func withoutTrace(t *table.Table, columns []*table.Column, words *sheet.Mapping) (names []string) {
	for _, c := range columns {
		if words.Looks[c.Name].Trace == "" && words.Constant["trace"] == "" && t.Column("trace") == nil {
			names = append(names, c.Name)
		}
	}
	return names
}

// kindsOfLooks tells the kind of each trace: as the mapping says, else yes or no where
// all its cells are words for these, else grades.
func kindsOfLooks(t *table.Table, columns []*table.Column, words *sheet.Mapping) map[string]string {
	given, graded := map[string]string{}, map[string]bool{}
	for _, c := range columns {
		l := words.Looks[c.Name]
		for row := range t.Rows() {
			trace := own(t, row, words, "trace", l.Trace)
			if l.Kind != "" {
				given[trace] = l.Kind
			}
			value := cmp.Or(strings.TrimSpace(c.Label(row)), l.Empty)
			graded[trace] = graded[trace] || value != "" && !strings.HasPrefix(value, untold) && truth(value) == ""
		}
	}
	out := map[string]string{}
	for trace, is := range graded {
		out[trace] = cmp.Or(given[trace], mixed.YesNo)
		if is && given[trace] == "" {
			out[trace] = mixed.Grades
		}
	}
	return out
}

// lookAt is the look in a cell; false where nobody looked.
func lookAt(t *table.Table, c *table.Column, row int, words *sheet.Mapping, kinds map[string]string, ps *table.Problems) (lookCell, bool) {
	l := words.Looks[c.Name]
	look := lookCell{row: row, trace: own(t, row, words, "trace", l.Trace), part: own(t, row, words, "part", l.Part),
		observer: own(t, row, words, "observer", l.Observer), date: own(t, row, words, "date", l.Date)}
	value := strings.TrimSpace(c.Label(row))
	if value == "" && look.observer != "" && look.date != "" {
		value = l.Empty
	}
	switch {
	case value == "":
		return look, false
	case strings.Trim(value, "-–—/. ") == "":
		ps.Add(table.Problem{File: t.File, Line: t.Line(row), Column: c.Name, Value: value, Expected: "what was seen, ? where it cannot be told, or nothing where nobody looked",
			Remedy: fmt.Sprintf("say in the mapping what it means: below [words.%s], %q = \"\" where nobody looked, or the word for nothing there", columnOf[kinds[look.trace]], value)})
		return look, false
	case strings.HasPrefix(value, untold):
		look.unclear = cmp.Or(strings.TrimSpace(strings.TrimLeft(value, "? ")), noReason)
		return look, true
	}
	switch kinds[look.trace] {
	case mixed.Counts:
		look.count, look.exposure = value, labelAt(t, "exposure", row)
	case mixed.YesNo:
		look.present = cmp.Or(truth(value), value)
	default:
		look.grade = value
	}
	return look, true
}

// columnOf is the column of traces.csv for a kind of trace.
var columnOf = map[string]string{mixed.Grades: "grade", mixed.YesNo: "present", mixed.Counts: "count"}

// truth is yes or no where a text is a word for it; a number is none, since it may be a
// grade.
func truth(text string) string {
	for _, is := range []string{"yes", "no"} {
		if _, err := strconv.Atoi(text); err != nil && in(truthWords[is], plainWord(text)) {
			return is
		}
	}
	return ""
}

// allYes are the traces, yes or no, that every look found.
func allYes(looks []lookCell) (names []string) {
	no := map[string]bool{}
	for _, l := range looks {
		no[l.trace] = no[l.trace] || l.present == "no"
	}
	for _, l := range looks {
		if l.present == "yes" && !no[l.trace] && !slices.Contains(names, l.trace) {
			names = append(names, l.trace)
		}
	}
	return names
}

// looksTable is the table with a row a look, and what else the wide sheet has of its row.
func looksTable(t *table.Table, rest []*table.Column, looks []lookCell) *table.Table {
	var made []*table.Column
	taken := map[string]bool{}
	add := func(name string, of func(*lookCell) string, always bool) {
		cells, filled := make([]string, len(looks)), false
		for k := range looks {
			cells[k] = of(&looks[k])
			filled = filled || cells[k] != ""
		}
		if taken[name] = true; filled || always {
			made = append(made, table.Cells(name, cells))
		}
	}
	add("trace", func(l *lookCell) string { return l.trace }, false)
	add("part", func(l *lookCell) string { return l.part }, false)
	add("grade", func(l *lookCell) string { return l.grade }, false)
	add("count", func(l *lookCell) string { return l.count }, false)
	add("present", func(l *lookCell) string { return l.present }, false)
	add("exposure", func(l *lookCell) string { return l.exposure }, false)
	add("unclear", func(l *lookCell) string { return l.unclear }, false)
	add("observer", func(l *lookCell) string { return l.observer }, false)
	add("date", func(l *lookCell) string { return l.date }, false)
	for _, c := range rest {
		if !taken[c.Name] {
			add(c.Name, func(l *lookCell) string { return c.Label(l.row) }, true)
		}
	}
	lines := make([]int, len(looks))
	for k := range looks {
		lines[k] = t.Line(looks[k].row)
	}
	return placed(newTable(t.File, made), lines)
}
