package traces

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Look is one look at one thing, a page or a part of it.
type Look struct {
	File string // path of its table
	Line int    // of its row in the file

	Book, Page, Trace int     // indices into the books, the book's Pages and the coding book
	Part              string  // empty where the page is looked at as a whole
	Value             float64 // place of the grade from 0, 0 or 1 for no or yes, or the count; NaN where it cannot be told
	Exposure          float64 // of a count; NaN where there is none
	Observer, Day     string
	Unclear           string // why it cannot be told; empty where it can
	Excluded          string // why it is left out; empty where it is kept
	Note              string
}

// Kept tells whether the look counts.
func (l *Look) Kept() bool { return l.Excluded == "" }

// Looks are all looks of a study, in the order of their tables.
type Looks struct {
	Book []Trace // the coding book
	All  []Look

	Books []*codex.Book
}

// Load reads tables of looks. Every problem goes to ps. books may be nil where they
// are not known; no look is then given.
func Load(paths []string, book []Trace, books []*codex.Book, ps *table.Problems) *Looks {
	r := newReader(book, books, ps)
	for _, path := range paths {
		if t := table.ReadFile(path, ps); t != nil {
			r.read(t)
		}
	}
	return r.looks
}

// FromTables is [Load] of tables that are read already.
func FromTables(tables []*table.Table, book []Trace, books []*codex.Book, ps *table.Problems) *Looks {
	r := newReader(book, books, ps)
	for _, t := range tables {
		r.read(t)
	}
	return r.looks
}

func newReader(book []Trace, books []*codex.Book, ps *table.Problems) *reader {
	r := &reader{looks: &Looks{Book: book, Books: books}, ps: ps, traces: map[string]int{}, books: map[string]int{}, seen: map[string]string{}}
	for i, t := range book {
		r.traces[t.Name] = i
		r.names = append(r.names, t.Name)
	}
	for i, b := range books {
		r.books[b.ID] = i
		r.ids = append(r.ids, b.ID)
	}
	return r
}

// A reader turns rows into looks.
type reader struct {
	looks  *Looks
	ps     *table.Problems
	traces map[string]int
	names  []string
	books  map[string]int
	ids    []string
	seen   map[string]string // looks by what they are of, with their places
}

func (r *reader) read(t *table.Table) {
	if !Schema().Check(t, r.ps) {
		return
	}
	for i := range t.Rows() {
		row := row{t: t, i: i, ps: r.ps}
		if look, ok := r.look(&row); ok {
			r.looks.All = append(r.looks.All, look)
		}
	}
}

// A row is one row being read.
type row struct {
	t      *table.Table
	i      int
	ps     *table.Problems
	failed bool
}

func (r *row) cell(column string) string {
	if c := r.t.Column(column); c != nil {
		return c.Label(r.i)
	}
	return ""
}

func (r *row) number(column string) float64 {
	if c := r.t.Column(column); c != nil {
		return c.Number(r.i)
	}
	return math.NaN()
}

func (r *row) wrong(column, value, expected, remedy string) {
	r.failed = true
	r.ps.Add(table.Problem{File: r.t.File, Line: r.t.Line(r.i), Column: column, Value: value, Expected: expected, Remedy: remedy})
}

// look reads one row; false where it cannot be used. What the schema found at fault
// is not told a second time.
func (r *reader) look(row *row) (Look, bool) {
	out := Look{File: row.t.File, Line: row.t.Line(row.i), Book: -1, Page: -1, Trace: -1, Value: math.NaN(), Exposure: math.NaN(),
		Part: row.cell("part"), Observer: row.cell("observer"), Day: row.cell("date"),
		Unclear: row.cell("unclear"), Excluded: row.cell("excluded"), Note: row.cell("note")}
	if out.Observer == "" || out.Day == "" || row.cell("book") == "" || row.cell("page") == "" || row.cell("trace") == "" {
		row.failed = true // the schema told it
	}
	r.readTrace(row, &out)
	r.readPage(row, &out)
	row.reasons(&out)
	if out.Trace >= 0 {
		trace := &r.looks.Book[out.Trace]
		row.readPart(trace, &out)
		row.readValue(trace, &out)
		row.readExposure(trace, &out)
		if out.Page >= 0 && !trace.lookedForOn(&r.looks.Books[out.Book].Pages[out.Page]) {
			row.wrong("page", row.cell("page"), "a page with a picture, since the coding book looks for "+trace.Name+" on pictures",
				`write yes for the picture in the table of pages, correct the page, or write on = "pages" for the trace`)
		}
	}
	if !row.failed {
		r.once(row, &out)
	}
	return out, !row.failed
}

func (r *reader) readTrace(row *row, out *Look) {
	name := row.cell("trace")
	i, ok := r.traces[name]
	switch {
	case ok:
		out.Trace = i
	case name == "":
	case len(r.names) == 0:
		row.wrong("trace", name, "a trace of the coding book, which is empty", "describe it in a [[trace]] of the study file")
	default:
		row.wrong("trace", name, "a trace of the coding book: "+strings.Join(r.names, ", "), table.Suggestion(name, r.names, "describe it in a [[trace]] of the study file"))
	}
}

func (r *reader) readPage(row *row, out *Look) {
	id, text := row.cell("book"), row.cell("page")
	i, ok := r.books[id]
	if !ok {
		row.failed = true
		if id != "" && len(r.ids) > 0 {
			row.wrong("book", id, "a book of the table of books", table.Suggestion(id, r.ids, "add it there with its leaves"))
		}
		return
	}
	if text == "" {
		return
	}
	out.Book = i
	b := r.looks.Books[i]
	label, err := codex.ParsePage(text)
	var wrong *codex.LabelError
	if errors.As(err, &wrong) {
		row.wrong("page", text, wrong.Expected, wrong.Remedy)
		return
	}
	page, ok := b.Find(label)
	switch {
	case !ok:
		row.wrong("page", text, "a page of the book "+b.ID, b.NearestRemedy(label))
	case b.Pages[page].Lost:
		row.wrong("page", text, "a page of a leaf that is still in the book", fmt.Sprintf("the table of leaves says that leaf %s is lost: correct the page here or the state there", label.Folio))
	default:
		out.Page = page
	}
}

// reasons refuses marks that stand in the place of a reason.
func (r *row) reasons(out *Look) {
	for _, c := range []struct{ column, value, remedy string }{
		{"excluded", out.Excluded, "say why the look is left out, such as: coded before the training; or empty the cell"},
		{"unclear", out.Unclear, "say why it cannot be told, such as: repainted; or empty the cell"},
	} {
		mark := strings.ToLower(c.value)
		if mark != "" && (slices.Contains([]string{"yes", "y", "true", "x", "no", "n", "false"}, mark) || !strings.ContainsFunc(mark, unicode.IsLetter)) {
			r.wrong(c.column, c.value, "the reason in words, or nothing", c.remedy)
		}
	}
}

func (r *row) readPart(t *Trace, out *Look) {
	switch {
	case len(t.Parts) == 0 && out.Part != "":
		r.wrong("part", out.Part, "nothing: the coding book looks for "+t.Name+" on the page as a whole", `empty the cell, or name the parts in the coding book: parts = ["face", "frame"]`)
	case len(t.Parts) > 0 && out.Part == "":
		r.wrong("part", "", "the part that was looked at: "+strings.Join(t.Parts, ", "), "a row is one look at one part: write which")
	case len(t.Parts) > 0 && !slices.Contains(t.Parts, out.Part):
		r.wrong("part", out.Part, "a part that the coding book names for "+t.Name+": "+strings.Join(t.Parts, ", "), table.Suggestion(out.Part, t.Parts, "name it there"))
	}
}

// readValue reads what was seen: in the trace's own column, or why it cannot be told.
func (r *row) readValue(t *Trace, out *Look) {
	own := t.Column()
	for _, column := range []string{"grade", "count", "present"} {
		if value := r.cell(column); value != "" && column != own {
			r.wrong(column, value, fmt.Sprintf("nothing: %s is told in the column %s", t.Name, own), "move the value, or correct the trace")
		}
	}
	value := r.cell(own)
	switch {
	case value == "" && out.Unclear == "" && out.Excluded == "":
		r.wrong(own, "", "what was seen, or why it cannot be told", fmt.Sprintf("write %s where nothing is there; where it cannot be told give the reason in the column unclear; delete the row where nobody looked", t.nothing()))
		return
	case value != "" && out.Unclear != "":
		r.wrong("unclear", out.Unclear, "nothing, since the look tells "+value, "what cannot be told has no value: empty one of the two, or put the remark under note")
		return
	case value == "":
		return
	}
	if levels := t.Levels(); levels != nil {
		k := slices.Index(levels, value)
		if k < 0 {
			if t.Kind == mixed.YesNo {
				r.failed = true // the schema told it
				return
			}
			r.wrong(own, value, "a grade of "+t.Name+": "+strings.Join(levels, ", "), table.Suggestion(value, levels, "describe it in the coding book"))
			return
		}
		out.Value = float64(k)
		return
	}
	out.Value = r.number(own)
	if !(out.Value >= 0) || out.Value != math.Trunc(out.Value) || out.Value > mostCounted {
		r.failed = true
		if out.Value > mostCounted {
			r.wrong(own, value, fmt.Sprintf("a count of at most %d", mostCounted), "check the entry: nobody counts so many by eye")
		}
	}
}

// mostCounted is the largest count that a look may hold; more is a slip of the pen.
const mostCounted = 100_000

// nothing is how it is written that nothing is there.
func (t *Trace) nothing() string {
	if levels := t.Levels(); len(levels) > 0 {
		return levels[0]
	}
	return "0"
}

func (r *row) readExposure(t *Trace, out *Look) {
	text := r.cell("exposure")
	switch {
	case t.Per == "" && text != "":
		r.wrong("exposure", text, "nothing: the coding book gives "+t.Name+" no exposure", `empty the cell, or write exposure = "cm² looked at" in the coding book`)
	case t.Per != "" && !math.IsNaN(out.Value) && out.Excluded == "":
		out.Exposure = r.number("exposure")
		if text == "" || out.Exposure == 0 {
			r.wrong("exposure", text, "how much was looked at, above 0: "+t.Per, "a count without it cannot be set against others")
		}
		r.failed = r.failed || math.IsNaN(out.Exposure) || out.Exposure < 0
	}
}

// once reports a look that stands twice.
func (r *reader) once(row *row, out *Look) {
	key := fmt.Sprintf("%d\x00%d\x00%d\x00%s\x00%s\x00%s", out.Book, out.Page, out.Trace, out.Part, out.Observer, out.Day)
	place := fmt.Sprintf("%s, line %d", out.File, out.Line)
	if before, again := r.seen[key]; again && out.Excluded == "" {
		row.wrong("observer", out.Observer, fmt.Sprintf("one look of an observer at a thing on a day (%s is the same)", before),
			"delete one of the two, or correct its date, page or part")
		return
	}
	if out.Excluded == "" {
		r.seen[key] = place
	}
}
