package intake

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/mixed"
	"thumbed/models/study/draft"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
)

// Told is what is said of a spreadsheet beside its mapping.
type Told struct {
	Set    map[string]string   // columns alike in all rows, and how dates are written; see [setWords]
	Grades map[string][]string // by trace: its grades in rising order; under the empty name those of the only graded trace
}

// scales are grades in rising order, as scholars call them in English, German, French,
// Dutch and Italian, as [plainWord] writes them (common practice, no source).
var scales = []string{
	"none absent intact slight light minor moderate medium strong severe heavy total complete",
	"none low moderate high", "never rarely sometimes often always", "poor fair good",
	"keine intakt leicht gering massig mittel stark schwer vollig",
	"aucun intact leger faible moyen modere fort grave total",
	"geen intact licht matig sterk zwaar volledig",
	"nessuno intatto lieve leggero moderato medio forte grave totale",
}

// study makes a study of looks, where a sheet was one and none of readings: the coding
// book from the sheet's own words, and where no sheet describes the books, their leaves
// from the pages that were looked at.
func (i *Import) study(file string, all []sheet.Sheet, l Told, ps *table.Problems) {
	var looks []*table.Table
	var names []string
	for _, t := range i.Tables {
		if strings.HasPrefix(t.Name, "traces") {
			looks, names = append(looks, t.Table), append(names, t.Name)
		}
	}
	if looks == nil || i.table("readings.csv") != nil || i.table("instruments.csv") != nil {
		return
	}
	for _, t := range looks {
		spelled(t)
	}
	coding := i.coding(looks, all, l, ps)
	if ps.Len() > 0 {
		return
	}
	made := i.description()
	if made.Books == nil && made.Leaves == nil {
		i.leavesOf(looks, made.Pages == nil, ps)
		made = i.description()
	}
	if ps.Len() > 0 || made.Books == nil || made.Leaves == nil {
		return
	}
	for _, t := range described(made) {
		if t.Table == nil {
			i.Tables = append(i.Tables, Empty(t.Name, t.Schema))
		}
	}
	var own table.Problems
	books := codex.FromTables(made, &own)
	ps.Add(own.List()...)
	if ps.Len() > 0 {
		return
	}
	read := traces.FromTables(looks, coding, books, ps)
	title := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	i.Study = []byte(draft.Draft{Title: title, From: filepath.Base(file), Books: books, Traces: names, Looks: read}.Text())
}

// spelled puts values that are all words for yes or no from the column of grades into
// that of what is there or not.
func spelled(t *table.Table) {
	grade := t.Column("grade")
	if grade == nil || t.Column("present") != nil {
		return
	}
	values, _ := grade.Levels()
	if len(values) == 0 || slices.ContainsFunc(values, func(v string) bool { return truth(v) == "" }) {
		return
	}
	columns := slices.Clone(t.Columns())
	present, lines := make([]string, t.Rows()), make([]int, t.Rows())
	for row := range present {
		present[row], lines[row] = truth(grade.Label(row)), t.Line(row)
	}
	columns[slices.Index(columns, grade)] = table.Labels("present", present)
	*t = *placed(newTable(t.File, columns), lines)
}

// coding writes the coding book from what the sheets say.
func (i *Import) coding(looks []*table.Table, all []sheet.Sheet, l Told, ps *table.Problems) []traces.Trace {
	var out []traces.Trace
	at := map[string]int{}
	grades := map[string][]string{}
	for _, t := range looks {
		for row := range t.Rows() {
			cell := func(column string) string { return labelAt(t, column, row) }
			name := cell("trace")
			if name == "" {
				continue // the schema tells it
			}
			k, known := at[name]
			if !known {
				k = len(out)
				at[name] = k
				out = append(out, traces.Trace{Name: name, About: name + ", as the spreadsheet has it: write what counts as this trace"})
			}
			if part := cell("part"); part != "" && !slices.Contains(out[k].Parts, part) {
				out[k].Parts = append(out[k].Parts, part)
			}
			switch {
			case cell("grade") != "":
				out[k].Kind = mixed.Grades
				if !slices.Contains(grades[name], cell("grade")) {
					grades[name] = append(grades[name], cell("grade"))
				}
			case cell("count") != "":
				out[k].Kind, out[k].One = mixed.Counts, "one, as the spreadsheet counts: write what counts as one"
				if cell("exposure") != "" {
					out[k].Per = "unit of exposure"
				}
			case cell("present") != "":
				out[k].Kind = mixed.YesNo
			}
		}
	}
	for k := range out {
		t := &out[k]
		if len(t.Parts) > 0 {
			t.On = traces.OnPictures
		}
		if t.Kind != mixed.Grades {
			continue
		}
		order, about, how := gradesInOrder(t.Name, grades[t.Name], all, l)
		if order == nil {
			slices.Sort(grades[t.Name])
			ps.Add(table.Problem{File: i.Account.File, Column: "grade", Value: strings.Join(grades[t.Name], ", "), Expected: "the grades of " + t.Name + " in rising order, the first for nothing there, which no words of the sheet tell",
				Remedy: fmt.Sprintf("say it, such as --grades %q, or add a sheet with the grades in that order in one column, and what must be seen for each in the next", t.Name+"="+strings.Join(grades[t.Name], ","))})
			continue
		}
		i.Account.Use(0, "grades of "+t.Name, "%s, in the order %s", strings.Join(order, ", "), how)
		for _, g := range order {
			t.Grades = append(t.Grades, traces.Grade{Name: g, About: cmp.Or(about[g], g+", as the spreadsheet has it: write what must be seen for it")})
		}
	}
	return out
}

// gradesInOrder puts grades in rising order: as they were given, as a further sheet lists
// them (with what must be seen for each in its next column), as numbers, or by words
// whose order is known. Nil where nothing tells it.
func gradesInOrder(trace string, given []string, all []sheet.Sheet, l Told) (order []string, about map[string]string, how string) {
	for _, name := range []string{trace, ""} {
		if order := l.Grades[name]; order != nil && contains(order, given) {
			return order, nil, "that was given"
		}
	}
	for _, s := range all {
		if s.Table.Column("observer") != nil {
			continue // of looks
		}
		for k, c := range s.Table.Columns() {
			labels, _ := c.Levels()
			if len(labels) != c.Len() || !contains(labels, given) {
				continue // grades are listed once each
			}
			about = map[string]string{}
			if k+1 < len(s.Table.Columns()) {
				for row, label := range labels {
					about[label] = s.Table.Columns()[k+1].Label(row)
				}
			}
			return labels, about, "of the sheet " + s.Name
		}
	}
	type numbered struct {
		value float64
		grade string
	}
	var numbers []numbered
	for _, g := range given {
		if v, err := strconv.ParseFloat(strings.Replace(g, ",", ".", 1), 64); err == nil {
			numbers = append(numbers, numbered{v, g})
		}
	}
	if len(numbers) == len(given) {
		slices.SortFunc(numbers, func(a, b numbered) int { return cmp.Compare(a.value, b.value) })
		for _, n := range numbers {
			order = append(order, n.grade)
		}
		return order, nil, "of the numbers"
	}
	for _, scale := range scales {
		words := strings.Fields(scale)
		place := func(g string) int { return slices.Index(words, plainWord(g)) }
		if !slices.ContainsFunc(given, func(g string) bool { return place(g) < 0 }) {
			order = slices.SortedFunc(slices.Values(given), func(a, b string) int { return cmp.Compare(place(a), place(b)) })
			return order, nil, "of the words “" + strings.Join(order, "”, “") + "”"
		}
	}
	return nil, nil, ""
}

func contains(all, some []string) bool {
	return !slices.ContainsFunc(some, func(s string) bool { return !slices.Contains(all, s) })
}

// leavesOf describes books by the pages that were looked at: their leaves run from folio 1
// to the last of these, and pages with a part looked at have a picture.
func (i *Import) leavesOf(looks []*table.Table, pictures bool, ps *table.Problems) {
	last := map[string]int{} // folio, by book
	var ids, pictureBooks, picturePages []string
	pictured := map[[2]string]bool{}
	for _, t := range looks {
		for row := range t.Rows() {
			cell := func(column string) string { return labelAt(t, column, row) }
			book, page := cell("book"), cell("page")
			label, err := codex.ParsePage(page)
			if book == "" || err != nil {
				continue // checked with the looks
			}
			n, err := strconv.Atoi(label.Folio.String())
			if err != nil {
				ps.Add(table.Problem{File: t.File, Line: t.Line(row), Column: "page", Value: page, Expected: "a page with a plain folio number, since no sheet describes the leaves", Remedy: "add a sheet of leaves (book, leaf) to the workbook"})
				continue
			}
			before, known := last[book]
			if !known {
				ids = append(ids, book)
			}
			last[book] = max(before, n)
			if key := [2]string{book, label.String()}; cell("part") != "" && !pictured[key] {
				pictured[key] = true
				pictureBooks, picturePages = append(pictureBooks, book), append(picturePages, label.String())
			}
		}
	}
	var leafBooks, leaves []string
	for _, id := range ids {
		for n := 1; n <= last[id]; n++ {
			leafBooks, leaves = append(leafBooks, id), append(leaves, strconv.Itoa(n))
		}
		i.Account.Infer(0, "leaves of "+id, "%s, since looks name folios up to %d: correct leaves.csv where leaves are lost or more follow", catalogue.Count(last[id], "leaf", "leaves"), last[id])
	}
	add := func(name string, schema table.Schema, columns ...*table.Column) {
		i.Tables = append(i.Tables, Table{name, newTable("", columns), schema})
	}
	add("books.csv", codex.BooksSchema(), table.Labels(codex.ColumnBook, ids))
	add("leaves.csv", codex.LeavesSchema(), table.Labels(codex.ColumnBook, leafBooks), table.Labels(codex.ColumnLeaf, leaves))
	if pictures && len(picturePages) > 0 {
		yes := make([]string, len(picturePages))
		for k := range yes {
			yes[k] = "yes"
		}
		add("pages.csv", codex.PagesSchema(), table.Labels(codex.ColumnBook, pictureBooks), table.Labels(codex.ColumnPage, picturePages), table.Labels(codex.ColumnPicture, yes))
		i.Account.Infer(0, "pictures", "%s, since parts of them were looked at", catalogue.Count(len(picturePages), "page has a picture", "pages have a picture"))
	}
}
