package intake

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
)

// A kind is a table that a study has.
type kind struct {
	name   string
	schema table.Schema
}

// kinds are the tables of a study.
func kinds() []kind {
	return []kind{
		{"books", codex.BooksSchema()}, {"leaves", codex.LeavesSchema()}, {"pages", codex.PagesSchema()}, {"sections", codex.SectionsSchema()},
		{"instruments", readings.InstrumentsSchema()}, {"readings", readings.ReadingsSchema()}, {"traces", traces.Schema()},
	}
}

// Sheet reads a spreadsheet: a workbook (.xlsx, .ods) or text with separators.
// Mapping is the path of the file that maps the scholar's words to ours; empty
// where there is none. Each sheet that is a table of a study is taken and
// checked; the others are listed. Where no mapping is given and the sheet's own names
// are none of ours, the one that [Propose] writes is used. Of looks at traces a study is
// made, with its coding book. The error is a [*table.Fault].
func (l Told) Sheet(file, mapping string) (*Import, error) {
	var ps table.Problems
	data := readFile(file, &ps)
	words := &sheet.Mapping{}
	if mapping != "" {
		if text := readFile(mapping, &ps); text != nil {
			words = sheet.ReadMapping(mapping, text, &ps)
		}
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	setWords(words, l.Set)
	made, all := readSheets(file, data, words, &ps)
	if len(made.Tables) == 0 && ps.Len() == 0 && mapping == "" {
		made, all = l.proposed(file, data, made, &ps)
	}
	if len(made.Tables) == 0 && ps.Len() == 0 {
		ps.Add(table.Problem{File: file, Value: "no table of a study", Expected: "a sheet that is one of " + strings.Join(kindNames(), ", "),
			Remedy: `say which it is in the mapping, under [sheets], such as "Lagen" = "leaves", and name its columns under [columns]`})
	}
	made.check(&ps)
	if ps.Len() == 0 {
		made.study(file, all, l, &ps)
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	return made, nil
}

// proposed reads a spreadsheet by the mapping that is proposed for it, where that finds
// looks at traces; else it gives what was read without.
func (l Told) proposed(file string, data []byte, without *Import, ps *table.Problems) (*Import, []sheet.Sheet) {
	how := &sheet.Mapping{}
	setWords(how, l.Set)
	text := propose(file, data, how, ps)
	var own table.Problems
	words := sheet.ReadMapping("the mapping proposed for "+filepath.Base(file), []byte(text), &own)
	if text == "" || words == nil {
		return without, nil
	}
	setWords(words, l.Set)
	words.File = "the command line"
	made, all := readSheets(file, data, words, &own)
	if !slices.ContainsFunc(made.Tables, func(t Table) bool { return strings.HasPrefix(t.Name, "traces") }) {
		return without, nil
	}
	ps.Add(own.List()...)
	made.Mapping = []byte(text)
	return made, all
}

// readSheets takes each sheet that is a table of a study.
func readSheets(file string, data []byte, words *sheet.Mapping, ps *table.Problems) (*Import, []sheet.Sheet) {
	made := &Import{Account: &catalogue.Account{File: file}}
	checkConstants(words, ps)
	all := sheet.Read(file, data, words, ps)
	for _, s := range all {
		made.take(s, words, ps)
	}
	return made, all
}

// checkConstants reports columns alike in all rows that no table has.
func checkConstants(words *sheet.Mapping, ps *table.Problems) {
	var known []string
	for _, k := range kinds() {
		for _, f := range k.schema.Fields {
			known = append(known, f.Name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(words.Constant)) {
		if !slices.Contains(known, name) {
			remedy := "write the column into the sheet, if it is your own"
			if near := table.Nearest(name, known); near != "" {
				remedy = "write " + near + ", if that is meant"
			}
			ps.Add(table.Problem{File: words.File, Column: "constant." + name, Value: name, Expected: "a column that a table of a study has", Remedy: remedy})
		}
	}
}

func kindNames() []string {
	var names []string
	for _, k := range kinds() {
		names = append(names, k.name)
	}
	return names
}

// take enters a sheet as the table that it is.
func (i *Import) take(s sheet.Sheet, words *sheet.Mapping, ps *table.Problems) {
	what := "sheet " + s.Name
	k := i.kindOf(s, words, ps)
	if k == nil {
		i.Account.Leave(0, what, "it is not known which table of a study it is; name it under [sheets] in the mapping, if it is one")
		return
	}
	switch k.name {
	case "readings":
		s.Table = i.readingsOf(what, s.Table, words, ps)
	case "traces":
		s.Table = i.looksOf(what, s.Table, words, ps)
	}
	fill(s.Table, k, words)
	i.Account.Use(0, what, "%s as the table of %s", catalogue.Count(s.Table.Rows(), "row", "rows"), k.name)
	for _, n := range s.Used {
		i.Account.Use(0, what+", "+n.What, "%s", n.Words)
	}
	for _, n := range s.Left {
		i.Account.Leave(0, what+", "+n.What, "%s", n.Words)
	}
	for _, c := range s.Table.Columns() {
		if !slices.ContainsFunc(k.schema.Fields, func(f table.Field) bool { return f.Name == c.Name }) {
			i.Account.Note(0, what+", column “"+c.Name+"”", "no column of ours; it stays as your own")
		}
	}
	i.Tables = append(i.Tables, Table{i.fileName(k.name), s.Table, k.schema})
}

// fileName names the file of a table; of several of readings each has a number.
func (i *Import) fileName(kind string) string {
	n := 1
	for _, t := range i.Tables {
		if strings.HasPrefix(t.Name, kind) {
			n++
		}
	}
	if n == 1 {
		return kind + ".csv"
	}
	return fmt.Sprintf("%s-%d.csv", kind, n)
}

// kindOf tells which table a sheet is: as the mapping says, by its name, or by
// its columns, of which one table has more than any other; nil where none of
// these tells.
func (i *Import) kindOf(s sheet.Sheet, words *sheet.Mapping, ps *table.Problems) *kind {
	known := kinds()
	find := func(name string) *kind {
		for k := range known {
			if strings.EqualFold(known[k].name, strings.TrimSuffix(name, ".csv")) {
				return &known[k]
			}
		}
		return nil
	}
	if name, said := words.Sheets[s.Name]; said {
		k := find(name)
		if k == nil {
			remedy := "write one of these"
			if near := table.Nearest(name, kindNames()); near != "" {
				remedy = "write " + near
			}
			ps.Add(table.Problem{File: words.File, Column: "sheets." + s.Name, Value: name, Expected: "one of " + strings.Join(kindNames(), ", "), Remedy: remedy})
		}
		return k
	}
	if k := find(s.Name); k != nil {
		return k
	}
	if slices.ContainsFunc(s.Table.Names(), func(name string) bool { _, is := words.Looks[name]; return is }) {
		return find("traces")
	}
	var best *kind
	most, equals := 0, 0
	for k := range known {
		switch n := fit(known[k].schema, s.Table, words); {
		case n == 0 || n < most:
		case n == most:
			equals++
		default:
			best, most, equals = &known[k], n, 0
		}
	}
	if equals > 0 {
		return nil
	}
	return best
}

// identifying are columns besides the required ones without which a sheet is not
// taken for a table by its columns alone.
var identifying = []string{codex.ColumnLeaf, codex.ColumnPage, codex.ColumnTitle, codex.ColumnExtent, "density", "floor"}

// fit counts the columns of a table that a sheet has, unfolded, or the mapping gives it; 0 where
// it lacks a required one, or has none that identifies the table.
func fit(schema table.Schema, t *table.Table, words *sheet.Mapping) int {
	n, identified := 0, false
	unfolds := slices.ContainsFunc(t.Names(), func(name string) bool { return words.Readings[name] != "" })
	for _, f := range schema.Fields {
		own := t.Column(f.Name) != nil || unfolds && (f.Name == "density" || f.Name == "target")
		has := own || words.Constant[f.Name] != ""
		if f.Constraints != nil && f.Constraints.Required && !has {
			return 0
		}
		if has {
			n++
			identified = identified || own && slices.Contains(identifying, f.Name)
		}
	}
	if !identified {
		return 0
	}
	return n
}

// check checks the tables as a study would: those of books together where books
// and leaves are there, all others by their schemas.
func (i *Import) check(ps *table.Problems) {
	for _, t := range i.Tables {
		if strings.Contains(t.Name, "-") && !strings.HasPrefix(t.Name, "readings") && !strings.HasPrefix(t.Name, "traces") {
			ps.Add(table.Problem{File: t.Table.File, Value: "a second sheet of its kind", Expected: "one sheet of " + strings.Split(t.Name, "-")[0], Remedy: "put the two together, or leave one out"})
		}
	}
	made := i.description()
	whole := made.Books != nil && made.Leaves != nil
	for _, t := range i.Tables {
		if whole && slices.Contains([]string{"books.csv", "leaves.csv", "pages.csv", "sections.csv"}, t.Name) {
			continue
		}
		if !strings.HasPrefix(t.Name, "traces") || askLooks(t.Table, ps) {
			t.Schema.Check(t.Table, ps)
		}
	}
	if whole {
		codex.FromTables(made, ps)
	}
}
