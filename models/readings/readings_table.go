package readings

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A zeroKey names the readings that share a zero: one page on one day with one
// instrument.
type zeroKey struct {
	book, page int
	day        string
	instrument int
}

func (r *Reading) zeroKey() zeroKey { return zeroKey{r.Book, r.Page, r.Day, r.Instrument} }

// A reader turns the rows of readings files into readings, and reports what
// is wrong with each.
type reader struct {
	log *Log
	ps  *table.Problems

	books       map[string]int
	bookIDs     []string
	instruments map[string]int
	names       []string
	pages       map[pageCell]pageFound
	dates       map[string]bool
	visits      int
	// spoiltZeros are zeros whose own row is at fault: once it is mended the
	// page has its zero, so that none need be asked for.
	spoiltZeros map[zeroKey]bool
}

// A pageCell is a page as a row names it.
type pageCell struct {
	book  int
	label string
}

// A pageFound is what such a name leads to: an index into the book's Pages, or
// what is wrong with it.
type pageFound struct {
	index            int
	expected, remedy string
}

func newReader(log *Log, ps *table.Problems) *reader {
	r := &reader{log: log, ps: ps, books: map[string]int{}, instruments: map[string]int{},
		pages: map[pageCell]pageFound{}, dates: map[string]bool{}, spoiltZeros: map[zeroKey]bool{}}
	for i, b := range log.books {
		r.books[b.ID] = i
		r.bookIDs = append(r.bookIDs, b.ID)
	}
	for i, in := range log.Instruments {
		if _, twice := r.instruments[in.ID]; !twice {
			r.instruments[in.ID] = i
			r.names = append(r.names, in.ID)
		}
	}
	return r
}

// read takes the rows of one file.
func (r *reader) read(t *table.Table) {
	complete := ReadingsSchema().Check(t, r.ps)
	if t.Column("density") == nil { // the schema cannot ask for it: where a reading failed it is empty
		r.ps.Add(table.Problem{File: t.File, Line: 1, Column: "density", Value: strings.Join(t.Names(), ","), Expected: "a column density",
			Remedy: "add it: what the instrument showed"})
		complete = false
	}
	if !complete {
		return
	}
	if t.Rows() == 0 {
		r.ps.Add(table.Problem{File: t.File, Line: 1, Expected: "at least one reading below the names of the columns",
			Remedy: "add the readings, or strike the file out of the study file"})
		return
	}
	columns := columnsOf(t)
	r.log.Readings = slices.Grow(r.log.Readings, t.Rows())
	r.visits++ // a page read at the end of one file and the start of the next was visited twice
	lastBook, lastPage := "", ""
	for i := range t.Rows() {
		row := row{columns: columns, file: t.File, line: t.Line(i), index: i, ps: r.ps}
		book, page := row.cell(columns.book), row.cell(columns.page)
		if book != lastBook || page != lastPage {
			r.visits++
			lastBook, lastPage = book, page
		}
		if reading, ok := r.reading(&row); ok {
			reading.visit = r.visits
			r.log.Readings = append(r.log.Readings, reading)
		}
	}
}

// columns are the columns of a readings file; nil where it has not one.
type columns struct {
	book, page, date, time, instrument, observer, target, spot, tried, density, excluded, note *table.Column
}

func columnsOf(t *table.Table) *columns {
	return &columns{
		book: t.Column("book"), page: t.Column("page"), date: t.Column("date"), time: t.Column("time"),
		instrument: t.Column("instrument"), observer: t.Column("observer"), target: t.Column("target"),
		spot: t.Column("spot"), tried: t.Column("tried"), density: t.Column("density"),
		excluded: t.Column("excluded"), note: t.Column("note"),
	}
}

// A row is one row being read.
type row struct {
	*columns
	file   string
	line   int
	index  int
	ps     *table.Problems
	failed bool
}

func (r *row) cell(c *table.Column) string {
	if c == nil {
		return ""
	}
	return c.Label(r.index)
}

// wrong reports a cell of the row.
func (r *row) wrong(column, value, expected, remedy string) {
	r.failed = true
	r.ps.Add(table.Problem{File: r.file, Line: r.line, Column: column, Value: value, Expected: expected, Remedy: remedy})
}

// reading reads one row; false where it cannot be used. Cells that the schema
// has found at fault are not reported a second time.
func (r *reader) reading(row *row) (Reading, bool) {
	out := Reading{
		File: row.file, Line: row.line, Book: -1, Page: -1,
		Observer: row.cell(row.observer), Target: Target(row.cell(row.target)),
		Spot: Spot(row.cell(row.spot)), Excluded: row.cell(row.excluded), Note: row.cell(row.note),
	}
	if out.Target != OnPage && out.Target != OnZero && out.Target != OnTile {
		return out, false
	}
	r.readWhen(row, &out)
	r.readInstrument(row, &out)
	r.readWhere(row, &out)
	r.readSpot(row, &out)
	checkExclusion(row, &out)
	placed := !row.failed
	r.readDensity(row, &out)
	if row.failed && placed && out.Target == OnZero && out.Excluded == "" {
		r.spoiltZeros[out.zeroKey()] = true
	}
	return out, !row.failed
}

func (r *reader) readWhen(row *row, out *Reading) {
	out.Day = row.cell(row.date)
	known, seen := r.dates[out.Day]
	if !seen {
		_, err := time.Parse(time.DateOnly, out.Day)
		known = err == nil
		r.dates[out.Day] = known
	}
	if !known { // the schema has reported it
		row.failed = true
	}
	clock := row.cell(row.time)
	hour, ok := parseClock(clock)
	if !ok { // the schema has reported it
		row.failed = true
	}
	out.Hour, out.seconds = hour, len(clock) > len("14:05")
}

// parseClock gives the hours since midnight of a time such as 14:05 or
// 14:05:30.
func parseClock(clock string) (float64, bool) {
	number := func(at, below int) (float64, bool) {
		tens, ones := clock[at]-'0', clock[at+1]-'0'
		n := int(tens)*10 + int(ones)
		return float64(n), tens <= 9 && ones <= 9 && n < below
	}
	if len(clock) != len("14:05") && len(clock) != len("14:05:30") {
		return 0, false
	}
	hours, ok := number(0, 24)
	minutes, ok2 := number(3, 60)
	if !ok || !ok2 || clock[2] != ':' {
		return 0, false
	}
	if len(clock) == len("14:05") {
		return hours + minutes/60, true
	}
	seconds, ok := number(6, 60)
	return hours + minutes/60 + seconds/3600, ok && clock[5] == ':'
}

func (r *reader) readInstrument(row *row, out *Reading) {
	name := row.cell(row.instrument)
	index, ok := r.instruments[name]
	if !ok {
		row.failed = true
		if name != "" && len(r.names) > 0 { // else it has been reported: nothing here, or no instruments
			row.wrong("instrument", name, "an instrument of the table of instruments",
				table.Suggestion(name, r.names, "add it there with its floor, ceiling and resolution"))
		}
	}
	out.Instrument = index
}

func (r *reader) readWhere(row *row, out *Reading) {
	book, label := row.cell(row.book), row.cell(row.page)
	if out.Target == OnTile {
		if book != "" || label != "" {
			row.wrong("target", string(OnTile), "no book and no page on a reading of the tile",
				"empty the two cells, or write page or zero as the target")
		}
		return
	}
	if book == "" {
		row.wrong("book", "", "the book's id", "every reading on a page or its zero names its book")
	}
	if label == "" {
		row.wrong("page", "", "the page's label, such as 12r", "every reading on a page or its zero names its page")
	}
	if book == "" {
		return
	}
	index, ok := r.books[book]
	if !ok {
		row.failed = true
		if len(r.bookIDs) > 0 {
			row.wrong("book", book, "a book of the table of books",
				table.Suggestion(book, r.bookIDs, "add it there with its leaves"))
		}
		return
	}
	out.Book = index
	if label == "" {
		return
	}
	key := pageCell{index, label}
	found, seen := r.pages[key]
	if !seen {
		found = findPage(r.log.books[index], label)
		r.pages[key] = found
	}
	if found.expected != "" {
		row.wrong("page", label, found.expected, found.remedy)
	}
	out.Page = found.index
}

// findPage looks a label up in a book.
func findPage(book *codex.Book, text string) pageFound {
	label, err := codex.ParsePage(text)
	var labelErr *codex.LabelError
	if errors.As(err, &labelErr) {
		return pageFound{index: -1, expected: labelErr.Expected, remedy: labelErr.Remedy}
	}
	index, ok := book.Find(label)
	if !ok {
		found := pageFound{index: -1, expected: "a page of the book " + book.ID, remedy: "list the leaf in the table of leaves"}
		if near, any := book.Nearest(label); any {
			found.remedy = fmt.Sprintf("the nearest page that it has is %s; if the leaf is there, list it in the table of leaves", near)
		}
		return found
	}
	if book.Pages[index].Lost {
		return pageFound{index: index, expected: "a page of a leaf that is still in the book",
			remedy: fmt.Sprintf("the table of leaves says that leaf %s is lost: correct the page here or the state there", label.Folio)}
	}
	return pageFound{index: index}
}

func (r *reader) readSpot(row *row, out *Reading) {
	out.Tried = 1
	if text := row.cell(row.tried); text != "" {
		tried := numberAt(row.tried, row.index)
		if !(tried >= 1 && tried <= mostTried && tried == math.Trunc(tried)) { // the schema has reported it
			row.failed = true
		} else {
			out.Tried = int(tried)
		}
	}
	if out.Spot != "" && out.Spot != Fixed && out.Spot != darkestSpot { // the schema has reported it
		row.failed = true
		return
	}
	switch {
	case out.Target == OnPage && out.Spot == "":
		row.wrong("spot", "", "fixed or darkest", "say how the place on the page was chosen: the two are not averaged together")
	case out.Target != OnPage && out.Spot != "":
		row.wrong("spot", string(out.Spot), fmt.Sprintf("nothing, since the target is %s", out.Target), "only readings on the page have a spot: empty the cell")
	case out.Spot != darkestSpot && out.Tried > 1:
		row.wrong("tried", row.cell(row.tried), "1 or nothing, since this is not the darkest of several spots",
			"write darkest as the spot, or give each placing its own row")
	}
}

// checkExclusion refuses marks that say that a reading is left out, or kept,
// without saying why.
func checkExclusion(row *row, out *Reading) {
	switch mark := strings.ToLower(out.Excluded); {
	case mark == "":
	case slices.Contains([]string{"no", "n", "false", "0", "kept", "keep"}, mark):
		row.wrong("excluded", out.Excluded, "nothing where the reading is kept", "empty the cell")
	case slices.Contains([]string{"yes", "y", "true", "x", "excluded", "exclude"}, mark):
		row.wrong("excluded", out.Excluded, "the reason in words", "say why the reading is left out, such as: corner folded")
	case !strings.ContainsFunc(mark, unicode.IsLetter):
		row.wrong("excluded", out.Excluded, "the reason in words",
			"say why the reading is left out, or empty the cell; if the density was written with a decimal comma, write a point")
	}
}

func (r *reader) readDensity(row *row, out *Reading) {
	out.Density = numberAt(row.density, row.index)
	if math.IsNaN(out.Density) {
		switch {
		case row.cell(row.density) != "":
			row.failed = true // the schema has reported it
		case out.Excluded == "":
			row.wrong("density", "", "a density in every row that is kept",
				"give what the instrument showed, or say in the column excluded why there is none, such as: no contact")
		}
		return
	}
	if row.failed || out.Excluded != "" {
		return
	}
	in := r.log.Instruments[out.Instrument]
	out.Limit = in.Limit(out.Density)
	text := row.cell(row.density)
	switch {
	case math.IsNaN(in.Floor) || math.IsNaN(in.Ceiling) || math.IsNaN(in.Resolution):
		row.failed = true // the instrument's row has been reported
	case !in.Shows(out.Density):
		row.wrong("density", text, fmt.Sprintf("a density from %g to %g, which is what %s can show", in.Floor, in.Ceiling, in.ID),
			"check the entry; if the instrument did show it, correct its floor or ceiling in the table of instruments")
	case out.Target == OnZero && out.Limit == Above:
		row.wrong("density", text, fmt.Sprintf("a zero below the ceiling of %g", in.Ceiling),
			"an untouched place as dark as this says nothing: choose another place for the zero, or give a reason in the column excluded")
	case out.Target == OnTile && math.IsNaN(in.Tile):
		row.wrong("instrument", in.ID, "an instrument whose tile has a certified density",
			"give the density on the tile's certificate in the table of instruments, column tile")
	case out.Target == OnTile && out.Limit != Measured:
		row.wrong("density", text, fmt.Sprintf("a tile reading inside the range of %g to %g", in.Floor, in.Ceiling),
			"a tile at the end of the scale cannot show drift: give a reason in the column excluded, and use another tile")
	}
}
