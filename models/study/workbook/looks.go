package workbook

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// Sheets of looks: one row an observer's looks at a page on a day, one column a trace or
// a trace on a part. Looks that are left out stay in their tables alone.
const (
	looksSheet  = "looks"
	looksBefore = "looks as written" // hidden
)

// Columns of the sheet of looks besides the things looked at.
const (
	columnObserver = "observer"
	columnDate     = "date"
)

// untold begins a cell that gives the reason why a look cannot tell.
const untold = "? "

// behind parts a count from its exposure.
const behind = " / "

// A lookKey is one look: what at, by whom, when.
type lookKey struct{ page, observer, date, thing string }

// A lookAt is a row of a table of looks.
type lookAt struct {
	table *cells
	row   int
}

// things are the columns of the sheet of looks, in the coding book's order.
func (e *Editor) things() []string {
	var out []string
	for i := range e.coding {
		for _, part := range e.coding[i].PartsOfPage() {
			out = append(out, thing(e.coding[i].Name, part))
		}
	}
	return out
}

func thing(trace, part string) string {
	if part == "" {
		return trace
	}
	return trace + ": " + part
}

// kept are the book's looks that count, by what they are of, and their cells.
func (e *Editor) kept() (rows map[lookKey]lookAt, cells map[lookKey]string) {
	rows, cells = map[lookKey]lookAt{}, map[lookKey]string{}
	for _, t := range e.looks {
		for i := range t.rows {
			if t.rows[i] == nil || t.cell(i, codex.ColumnBook) != e.book.ID || t.cell(i, "excluded") != "" {
				continue
			}
			page := t.cell(i, codex.ColumnPage)
			if label, err := codex.ParsePage(page); err == nil {
				page = label.String() // as the book has it
			}
			k := lookKey{page, t.cell(i, columnObserver), t.cell(i, columnDate), thing(t.cell(i, "trace"), t.cell(i, "part"))}
			value := cmp.Or(t.cell(i, "grade"), t.cell(i, "count"), t.cell(i, "present"))
			if exposure := t.cell(i, "exposure"); exposure != "" {
				value += behind + exposure
			}
			if reason := t.cell(i, "unclear"); reason != "" {
				value = untold + reason
			}
			rows[k], cells[k] = lookAt{t, i}, value
		}
	}
	return rows, cells
}

// looksTable makes the sheet of looks: all pages that the coding book looks at, those
// that nobody looked at with neither observer nor date.
func (e *Editor) looksTable() *table.Table {
	_, cells := e.kept()
	type who struct{ date, observer string }
	of := map[string]map[who]bool{}
	for k := range cells {
		if of[k.page] == nil {
			of[k.page] = map[who]bool{}
		}
		of[k.page][who{k.date, k.observer}] = true
	}
	things := e.things()
	columns := make([][]string, 3+len(things))
	add := func(page string, w who) {
		for c, cell := range []string{page, w.observer, w.date} {
			columns[c] = append(columns[c], cell)
		}
		for c, thing := range things {
			columns[3+c] = append(columns[3+c], cells[lookKey{page, w.observer, w.date, thing}])
		}
	}
	for i, name := range pageNames(e.book) {
		looked := slices.SortedFunc(maps.Keys(of[name]), func(a, b who) int { return cmp.Or(cmp.Compare(a.date, b.date), cmp.Compare(a.observer, b.observer)) })
		for _, w := range looked {
			add(name, w)
		}
		if p := &e.book.Pages[i]; looked == nil && !p.Lost && len(traces.Items(e.coding, p)) > 0 {
			add(name, who{})
		}
	}
	out := &table.Table{}
	for c, name := range append([]string{codex.ColumnPage, columnObserver, columnDate}, things...) {
		if err := out.Add(table.Labels(name, columns[c])); err != nil {
			panic("workbook: " + err.Error()) // the coding book was checked
		}
	}
	return out
}

// lookLists are the words that drop-down lists offer.
func (e *Editor) lookLists() map[string][]string {
	out := map[string][]string{}
	for i := range e.coding {
		if levels := e.coding[i].Levels(); levels != nil {
			for _, part := range e.coding[i].PartsOfPage() {
				out[thing(e.coding[i].Name, part)] = levels
			}
		}
	}
	return out
}

// looksOf reads a sheet of looks.
func (t *taker) looksOf(name string) (cells map[lookKey]string, lines map[lookKey]int, order []lookKey) {
	cells, lines = map[lookKey]string{}, map[lookKey]int{}
	sheet := t.sheets[name]
	page, observer, date := sheet.Column(codex.ColumnPage), sheet.Column(columnObserver), sheet.Column(columnDate)
	if page == nil || observer == nil || date == nil {
		t.ps.Add(table.Problem{File: t.file + ", sheet " + name, Expected: "the columns page, observer and date", Remedy: "put them back: looks are known by them"})
		return cells, lines, nil
	}
	things := t.things()
	for i := range sheet.Rows() {
		for _, thing := range things {
			c := sheet.Column(thing)
			if c == nil || c.Label(i) == "" {
				continue
			}
			k := lookKey{page.Label(i), observer.Label(i), date.Label(i), thing}
			switch _, twice := cells[k]; {
			case k.page == "" || k.observer == "" || k.date == "":
				t.faultIn(looksSheet, sheet.Line(i), thing, c.Label(i), "a page, an observer and a date beside every look", "write who looked at which page, and when, such as 2026-05-11")
			case twice:
				t.faultIn(looksSheet, sheet.Line(i), thing, c.Label(i), "one look of an observer at a thing on a day", "delete one of the two rows, or correct its date")
			default:
				cells[k], lines[k] = c.Label(i), sheet.Line(i)
				order = append(order, k)
			}
		}
	}
	return cells, lines, order
}

// compareLooks finds which looks were changed, and changes them in the tables.
func (t *taker) compareLooks() {
	if len(t.looks) == 0 || t.sheets[looksSheet] == nil || t.sheets[looksBefore] == nil {
		return
	}
	before, _, order := t.looksOf(looksBefore)
	edited, lines, written := t.looksOf(looksSheet)
	if t.ps.Len() > 0 {
		return
	}
	at, now := t.kept()
	for _, k := range order {
		if _, stays := edited[k]; !stays {
			written = append(written, k)
		}
	}
	for _, k := range written {
		was, is := before[k], edited[k]
		if was == is {
			continue
		}
		if t.stale(looksSheet, lines[k], k.thing, was, is, now[k]) {
			continue
		}
		t.changes = append(t.changes, Change{fmt.Sprintf("page %s by %s on %s", k.page, k.observer, k.date), k.thing, was, is})
		t.changeLook(k, is, at)
	}
}

// changeLook writes one look, or takes it out where its cell is empty.
func (t *taker) changeLook(k lookKey, is string, at map[lookKey]lookAt) {
	values := map[string]string{"grade": "", "count": "", "present": "", "exposure": "", "unclear": ""}
	name, part, _ := strings.Cut(k.thing, ": ")
	trace := &t.coding[slices.IndexFunc(t.coding, func(c traces.Trace) bool { return c.Name == name })]
	if reason, unclear := strings.CutPrefix(is, strings.TrimSpace(untold)); unclear {
		values["unclear"] = strings.TrimSpace(reason)
	} else {
		values[trace.Column()], values["exposure"], _ = strings.Cut(is, behind)
	}
	look, known := at[k]
	switch {
	case known && is == "":
		look.table.remove(look.row)
	case known:
		for _, column := range slices.Sorted(maps.Keys(values)) {
			look.table.set(look.row, column, values[column])
		}
	case is != "":
		values[codex.ColumnBook], values[codex.ColumnPage], values["part"], values["trace"] = t.book.ID, k.page, part, name
		values[columnObserver], values[columnDate] = k.observer, k.date
		last := t.looks[len(t.looks)-1]
		last.insert(len(last.rows)-1, values)
	}
}
