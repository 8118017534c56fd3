package traces

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"maps"
	"math"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// Columns of a table of looks beside the features of their pages and the traces'.
const (
	ColumnTrace     = "trace"
	columnPart      = "part"
	ColumnObserver  = "observer"
	ColumnDay       = "day"
	columnExposure  = "exposure"
	ColumnThing     = "thing"     // the page and part looked at: looks at one thing share it
	ColumnScore     = "score"     // the value as a number: place of the grade from 0, 0 or 1, the count
	columnNeighbour = "neighbour" // yes or no: the same trace is on the facing page; empty where that was not looked at
)

var ownColumns = []string{ColumnTrace, columnPart, ColumnObserver, ColumnDay, columnExposure, ColumnThing, ColumnScore, columnNeighbour}

// OwnColumns are the columns of a table of looks beside the features of their pages and the
// traces'.
func OwnColumns() []string { return slices.Clone(ownColumns) }

// PageNames are the columns of [Looks.PageColumns] for a coding book.
func PageNames(book []Trace) (names []string) {
	for _, t := range book {
		names = append(names, t.Name, t.Name+scoreSuffix, t.Name+errorSuffix)
	}
	return names
}

// Suffixes of the columns that a trace adds to pages: its score, the mean over parts
// of the mean over looks, and the standard error that differing looks give it.
const (
	scoreSuffix = "_score"
	errorSuffix = "_score_se"
)

// PageColumns are the traces as features of pages, each trace under its name: a label
// for grades and for yes or no (the highest part; of looks that differ the middle one),
// a number for counts (the parts added up); and the score with its standard error. The
// rows are those of pages, a table with the columns book and page; pages that nobody
// looked at, or of which it cannot be told, have no value.
func (l *Looks) PageColumns(pages *table.Table) []*table.Column {
	at := l.pageRows(pages)
	things, looks := l.Of()
	var out []*table.Column
	for trace := range l.Book {
		t := &l.Book[trace]
		spread := lookSpread(trace, things, looks)
		labels, numbers := make([]string, pages.Rows()), missing(pages.Rows())
		scores, errors := missing(pages.Rows()), missing(pages.Rows())
		levels := t.Levels()
		for page, parts := range byPage(trace, things, looks) {
			row, ok := at[page]
			v := combined(t, parts)
			if !ok || math.IsNaN(v) {
				continue
			}
			numbers[row] = v
			if levels != nil {
				labels[row] = levels[int(v)]
			}
			scores[row], errors[row] = score(parts, spread)
		}
		if levels != nil {
			out = append(out, table.Labels(t.Name, labels))
		} else {
			out = append(out, table.Numbers(t.Name, numbers))
		}
		out = append(out, table.Numbers(t.Name+scoreSuffix, scores), table.Numbers(t.Name+errorSuffix, errors))
	}
	return out
}

// PageSchema describes the columns of [Looks.PageColumns].
func (l *Looks) PageSchema() []table.Field {
	var out []table.Field
	for _, t := range l.Book {
		kind := table.String
		switch t.Kind {
		case mixed.Counts:
			kind = table.Number
		case mixed.YesNo:
			kind = table.Boolean
		}
		out = append(out, table.Field{Name: t.Name, Kind: kind, Description: "the trace " + t.Name + ": of several parts the highest, of looks that differ the middle one; counts are added up over parts"},
			table.Field{Name: t.Name + scoreSuffix, Kind: table.Number, Description: "the same as a number: the mean over parts of the mean over looks of the grade's place from 0, of 0 or 1, or of the count"},
			table.Field{Name: t.Name + errorSuffix, Kind: table.Number, Description: "standard error of the score by how looks at the same things differ; empty where nothing was coded twice"})
	}
	return out
}

// byPage are the values that looks at one trace tell, of each page by its parts.
func byPage(trace int, things []Thing, looks map[Thing][]Look) map[[2]int]map[string][]float64 {
	out := map[[2]int]map[string][]float64{}
	for _, t := range things {
		if t.Trace != trace {
			continue
		}
		page := [2]int{t.Book, t.Page}
		if out[page] == nil {
			out[page] = map[string][]float64{}
		}
		for _, look := range looks[t] {
			if !math.IsNaN(look.Value) {
				out[page][t.Part] = append(out[page][t.Part], look.Value)
			}
		}
	}
	return out
}

func missing(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

// score is the mean over parts of the mean over looks, with its standard error.
func score(parts map[string][]float64, spread float64) (value, se float64) {
	variance := 0.0
	for _, part := range slices.Sorted(maps.Keys(parts)) {
		sum := 0.0
		for _, v := range parts[part] {
			sum += v
		}
		n := float64(len(parts[part]))
		value += sum / n
		variance += spread * spread / n
	}
	k := float64(len(parts))
	return value / k, math.Sqrt(variance) / k
}

// lookSpread is the standard deviation of looks at the same thing; NaN where nothing
// was coded twice.
func lookSpread(trace int, things []Thing, looks map[Thing][]Look) float64 {
	square, df := 0.0, 0.0
	for _, t := range things {
		if t.Trace != trace {
			continue
		}
		n, mean := 0.0, 0.0
		for _, look := range looks[t] {
			if !math.IsNaN(look.Value) {
				n++
				mean += look.Value
			}
		}
		if n < 2 {
			continue
		}
		mean /= n
		df += n - 1
		for _, look := range looks[t] {
			if !math.IsNaN(look.Value) {
				square += (look.Value - mean) * (look.Value - mean)
			}
		}
	}
	if df == 0 {
		return math.NaN()
	}
	return math.Sqrt(square / df)
}

// pageRows finds the row of each page.
func (l *Looks) pageRows(pages *table.Table) map[[2]int]int {
	book, page := pages.Column(codex.ColumnBook), pages.Column(codex.ColumnPage)
	rows := map[[2]string]int{}
	for row := range pages.Rows() {
		rows[[2]string{book.Label(row), page.Label(row)}] = row
	}
	out := map[[2]int]int{}
	for i, b := range l.Books {
		for k := range b.Pages {
			if row, ok := rows[[2]string{b.ID, b.Pages[k].Label.String()}]; ok {
				out[[2]int{i, k}] = row
			}
		}
	}
	return out
}

// Table is what models of traces are fitted to: one row a kept look, things in the
// order of the coding book, the books' ids and their pages. It has the features of the
// look's page (columns of pages, but for those that a look has of its own), the look's
// own columns, and each trace under its name: the look's own value in the rows of that
// trace, what the page has in all others. Where it cannot be told the value is missing.
func (l *Looks) Table(pages *table.Table) (*table.Table, error) {
	at := l.pageRows(pages)
	things, looks := l.Of()
	slices.SortStableFunc(things, func(a, b Thing) int { // nothing hangs on the order of books.csv
		return cmp.Or(cmp.Compare(a.Trace, b.Trace), strings.Compare(l.Books[a.Book].ID, l.Books[b.Book].ID))
	})
	var rows []int
	var all []Look
	for _, t := range things {
		row, ok := at[[2]int{t.Book, t.Page}]
		if !ok {
			return nil, fmt.Errorf("page %s of %s was looked at but has no row among the pages", l.Books[t.Book].Pages[t.Page].Label, l.Books[t.Book].ID)
		}
		for _, look := range looks[t] {
			rows, all = append(rows, row), append(all, look)
		}
	}
	own := map[string]int{}
	for i, t := range l.Book {
		own[t.Name] = i
	}
	out := &table.Table{}
	for _, c := range pages.Select(rows).Columns() {
		if slices.Contains(ownColumns, c.Name) {
			continue
		}
		if trace, is := own[c.Name]; is {
			c = l.traceColumn(trace, c, all)
		}
		if err := out.Add(c); err != nil {
			return nil, err
		}
	}
	for _, c := range l.lookColumns(all, l.there()) {
		if err := out.Add(c); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// traceColumn is what a trace says in each row: the look's own value, or the page's.
func (l *Looks) traceColumn(trace int, page *table.Column, all []Look) *table.Column {
	t := &l.Book[trace]
	levels := t.Levels()
	labels, numbers := make([]string, len(all)), missing(len(all))
	for i, look := range all {
		switch {
		case look.Trace != trace:
			labels[i], numbers[i] = page.Label(i), page.Number(i)
		case math.IsNaN(look.Value):
		case levels != nil:
			labels[i] = levels[int(look.Value)]
		default:
			numbers[i] = look.Value
		}
	}
	if levels != nil {
		return table.Labels(t.Name, labels)
	}
	return table.Numbers(t.Name, numbers)
}

func (l *Looks) lookColumns(all []Look, there []map[[2]int]bool) []*table.Column {
	label := func(name string, of func(*Look) string) *table.Column {
		values := make([]string, len(all))
		for i := range all {
			values[i] = of(&all[i])
		}
		return table.Labels(name, values)
	}
	number := func(name string, of func(*Look) float64) *table.Column {
		values := make([]float64, len(all))
		for i := range all {
			values[i] = of(&all[i])
		}
		return table.Numbers(name, values)
	}
	return []*table.Column{
		label(ColumnTrace, func(k *Look) string { return l.Book[k.Trace].Name }),
		label(columnPart, func(k *Look) string { return k.Part }),
		label(ColumnObserver, func(k *Look) string { return k.Observer }),
		label(ColumnDay, func(k *Look) string { return k.Day }),
		number(columnExposure, func(k *Look) float64 { return k.Exposure }),
		label(ColumnThing, func(k *Look) string {
			thing := l.Books[k.Book].Pages[k.Page].Label.String()
			if k.Part != "" {
				thing += ", " + k.Part
			}
			return thing
		}),
		number(ColumnScore, func(k *Look) float64 { return k.Value }),
		label(columnNeighbour, func(k *Look) string {
			facing, ok := l.Books[k.Book].Opening(k.Page)
			if !ok {
				return ""
			}
			is, told := there[k.Trace][[2]int{k.Book, facing}]
			switch {
			case !told:
				return ""
			case is:
				return "yes"
			}
			return "no"
		}),
	}
}

// there tells of each trace which pages have it; pages that nobody looked at, or of
// which it cannot be told, are not among them.
func (l *Looks) there() []map[[2]int]bool {
	things, looks := l.Of()
	out := make([]map[[2]int]bool, len(l.Book))
	for trace := range l.Book {
		out[trace] = map[[2]int]bool{}
		for page, parts := range byPage(trace, things, looks) {
			if v := combined(&l.Book[trace], parts); !math.IsNaN(v) {
				out[trace][page] = v > 0
			}
		}
	}
	return out
}

// TableSchema describes the columns of [Looks.Table]; pages is the schema of the table
// of pages that it was made of.
func (l *Looks) TableSchema(pages table.Schema) table.Schema {
	out := table.Schema{}
	for _, f := range pages.Fields {
		if !slices.Contains(ownColumns, f.Name) {
			out.Fields = append(out.Fields, f)
		}
	}
	about := map[string]table.Field{
		ColumnTrace:     {Kind: table.String, Description: "what was looked for"},
		columnPart:      {Kind: table.String, Description: "part of the page; empty where it was looked at as a whole"},
		ColumnObserver:  {Kind: table.String, Description: "who looked"},
		ColumnDay:       {Kind: table.Date, Description: "the day of the look"},
		columnExposure:  {Kind: table.Number, Description: "how much was looked at, of counts with an exposure"},
		ColumnThing:     {Kind: table.String, Description: "the page and part looked at: looks at one thing share it"},
		ColumnScore:     {Kind: table.Number, Description: "what was seen as a number: place of the grade from 0, 0 or 1 for no or yes, the count; empty where it cannot be told"},
		columnNeighbour: {Kind: table.Boolean, Description: "whether the same trace is on the facing page; empty where that cannot be told"},
	}
	for _, name := range ownColumns {
		f := about[name]
		f.Name = name
		out.Fields = append(out.Fields, f)
	}
	return out
}

// OnceEach keeps of some rows of a table of looks one at each thing, a clear one where
// there is one, else by lot: looks at the same thing are not independent, and a random
// term of things has hardly more looks than groups, so that its spread could not be
// told. The lot depends on the look alone, not on the order of rows.
func OnceEach(looks *table.Table, rows []int) []int {
	label := func(row int, names ...string) string {
		var parts []string
		for _, name := range names {
			parts = append(parts, looks.Column(name).Label(row))
		}
		return strings.Join(parts, "\x00")
	}
	score := looks.Column(ColumnScore)
	lot := func(row int) uint64 {
		h := fnv.New64a()
		h.Write([]byte(label(row, codex.ColumnBook, ColumnTrace, ColumnThing, ColumnObserver, ColumnDay)))
		return h.Sum64()
	}
	best := map[string]int{}
	for _, row := range rows {
		key := label(row, codex.ColumnBook, ColumnTrace, ColumnThing)
		other, known := best[key]
		switch clear := !score.Missing(row); {
		case !known, clear && score.Missing(other), clear == !score.Missing(other) && lot(row) < lot(other):
			best[key] = row
		}
	}
	return slices.DeleteFunc(slices.Clone(rows), func(row int) bool {
		return best[label(row, codex.ColumnBook, ColumnTrace, ColumnThing)] != row
	})
}
