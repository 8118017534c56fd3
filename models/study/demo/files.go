package demo

import (
	"bytes"
	_ "embed"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/traces"
)

//go:embed study.toml
var studyFile []byte

//go:embed README.txt
var readmeFile []byte

// A Made study is the files of a scenario with the truth behind them.
type Made struct {
	Files map[string][]byte // by name
	Books []Truth           // in the order of books.csv
}

// A Truth is the true wear of every page of the leaves still in a book, in
// physical order.
type Truth struct {
	ID    string
	Pages []*Page
}

// Make draws a whole study from the scenario and a seed. The same seed makes
// the same bytes on every machine.
func (s *Scenario) Make(seed uint64) (*Made, error) {
	layouts := make([]*layout, len(s.Books))
	made := &Made{Files: map[string][]byte{"study.toml": studyFile, "README.txt": readmeFile}}
	if s.Study != nil {
		made.Files["study.toml"] = s.Study
	}
	for b := range s.Books {
		l, err := lay(&s.Books[b])
		if err != nil {
			return nil, err
		}
		s.address(l)
		s.wear(l, draws(seed, wearStream, b))
		layouts[b] = l
		made.Books = append(made.Books, l.truth())
	}
	log, err := s.log(layouts, seed)
	if err != nil {
		return nil, err
	}
	tables := []struct {
		name   string
		schema table.Schema
		rows   *rows
	}{
		{"books.csv", codex.BooksSchema(), bookRows(layouts)},
		{"leaves.csv", codex.LeavesSchema(), leafRows(layouts)},
		{"pages.csv", s.withOwn(codex.PagesSchema()), s.pageRows(layouts)},
		{"sections.csv", codex.SectionsSchema(), sectionRows(layouts)},
		{"instruments.csv", readings.InstrumentsSchema(), s.instrumentRows()},
	}
	for _, t := range tables {
		if err := made.add(t.name, t.schema, t.rows); err != nil {
			return nil, err
		}
	}
	if s.Traces != nil {
		if err := s.Traces.check(); err != nil {
			return nil, err
		}
		if err := made.add("traces.csv", traces.Schema(), lookRows(s.looks(layouts, seed))); err != nil {
			return nil, err
		}
	}
	for _, month := range months(log) {
		if err := made.add("readings-"+month+".csv", readings.ReadingsSchema(), readingRows(log, month)); err != nil {
			return nil, err
		}
	}
	return made, nil
}

func (m *Made) add(name string, schema table.Schema, r *rows) error {
	t, err := r.table()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	var out bytes.Buffer
	if err := t.Write(&out); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	m.Files[name] = out.Bytes()
	described, err := schema.Of(t).JSON()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	m.Files[table.SchemaPath(name)] = described
	return nil
}

func (l *layout) truth() Truth {
	t := Truth{ID: l.book.ID}
	for _, p := range l.pages {
		if !l.leaves[p.leaf].lost {
			t.Pages = append(t.Pages, p)
		}
	}
	return t
}

// log measures all days in their order.
func (s *Scenario) log(layouts []*layout, seed uint64) ([]reading, error) {
	targets := make([][]target, len(layouts))
	for b, l := range layouts {
		targets[b] = s.targets(l, draws(seed, parchmentStream, b))
	}
	shared := s.offsets(seed)
	var log []reading
	for d := range s.Days {
		day := &s.Days[d]
		var today []target
		for b, l := range layouts {
			if slices.Contains(day.Books, l.book.ID) {
				today = append(today, day.share(targets[b], func(parts int) []int {
					return deal(len(l.leaves), parts, draws(seed, partStream, b))
				})...)
			}
		}
		rows, err := s.measure(d, today, shared, draws(seed, dayStream, d))
		if err != nil {
			return nil, err
		}
		log = append(log, rows...)
	}
	return log, nil
}

// share is what the day measures of a book's pages, in the order of measuring.
func (d *Day) share(all []target, dealt func(parts int) []int) []target {
	switch {
	case d.Parts > 0:
		return d.part(all, dealt(d.Parts))
	case d.Every == 0:
		n := float64(len(all))
		return all[int(d.From*n):int(d.To*n)]
	}
	var some []target
	first := d.Every / 2
	if d.First > 0 {
		first = d.First - 1
	}
	for i := first; i < len(all); i += d.Every {
		some = append(some, all[i])
	}
	return some
}

// part is the day's part of the openings with some of the others', gone through
// forwards with every other opening, and backwards with the rest: so neither the
// day nor the hour goes with the place in the book.
func (d *Day) part(all []target, dealt []int) []target {
	var out, back []target
	forth, others, last := false, 0, -1
	for i := range all {
		opening := all[i].page.opening()
		mine := dealt[opening] == d.Part-1
		if opening != last {
			last = opening
			if !mine {
				others++
			}
			forth = forth != (mine || d.takes(others))
		}
		switch {
		case !mine && !d.takes(others):
		case forth:
			out = append(out, all[i])
		default:
			back = append(back, all[i])
		}
	}
	slices.Reverse(back)
	return append(out, back...)
}

// takes tells whether the n-th opening of the other parts is measured again.
func (d *Day) takes(other int) bool { return d.Again > 0 && other%d.Again == d.Again/2 }

// opening counts openings from the front of the book.
func (p *Page) opening() int {
	if p.verso {
		return p.leaf + 1
	}
	return p.leaf
}

// deal shares the openings of a book out among parts, by chance among as many
// neighbours as there are parts.
func deal(leaves, parts int, rng *rand.Rand) []int {
	var dealt []int
	for len(dealt) <= leaves {
		dealt = append(dealt, rng.Perm(parts)...)
	}
	return dealt
}

// Parchment of one skin varies; whitest is that of the leaves that are much
// whiter than the rest, so that the instrument's floor is near.
const (
	zeroSpread = 0.008
	whitest    = 0.008
	whiteShare = 0.004
)

func (s *Scenario) targets(l *layout, rng *rand.Rand) []target {
	var out []target
	for _, p := range l.pages {
		zero := l.book.Zero + zeroSpread*rng.NormFloat64()
		if p.white {
			zero = whitest + whiteShare*rng.NormFloat64()
		}
		if p.Measured {
			out = append(out, target{book: l.book.ID, page: p, zero: zero})
		}
	}
	return out
}

// rows gathers a table row by row.
type rows struct {
	names []string
	cells [][]string
}

func columns(names ...string) *rows { return &rows{names: names} }

func (r *rows) add(cells ...string) { r.cells = append(r.cells, cells) }

func (r *rows) table() (*table.Table, error) {
	made := make([]*table.Column, len(r.names))
	for k, name := range r.names {
		cells := make([]string, len(r.cells))
		for i, row := range r.cells {
			cells[i] = row[k]
		}
		made[k] = table.Labels(name, cells)
	}
	return table.New(made...)
}

func bookRows(layouts []*layout) *rows {
	r := columns("book", "title", "short", "shelfmark", "library", "owner", "place", "date", "material", "outer")
	for _, l := range layouts {
		b := l.book
		r.add(b.ID, b.Title, b.Short, b.Shelfmark, b.Library, b.Owner, b.Place, b.Date, b.Material, b.Outer)
	}
	return r
}

func leafRows(layouts []*layout) *rows {
	r := columns("book", "leaf", "quire", "state", "conjugate")
	for _, l := range layouts {
		for _, f := range l.leaves {
			state, conjugate := "present", ""
			if f.lost {
				state = "lost"
			}
			if f.singleton {
				conjugate = "singleton"
			}
			r.add(l.book.ID, f.label, f.quire, state, conjugate)
		}
	}
	return r
}

// withOwn describes the columns of pages.csv that are this study's own.
func (s *Scenario) withOwn(schema table.Schema) table.Schema {
	schema.Fields = append(schema.Fields,
		table.Field{Name: "half", Kind: table.String, Description: "in the shared book, whose half the page is in: the first owner's or the second's"},
		table.Field{Name: "remark", Kind: table.String, Description: "what was seen at the measuring"})
	if s.Traces != nil {
		schema.Fields = append(schema.Fields, table.Field{Name: "addressed", Kind: table.Boolean, Description: "whether the picture shows whom a prayer beside it addresses; empty without a picture"})
	}
	return schema
}

func (s *Scenario) pageRows(layouts []*layout) *rows {
	names := []string{"book", "page", "picture", "subject", "blank", "half", "remark"}
	if s.Traces != nil {
		names = append(names, "addressed")
	}
	r := columns(names...)
	for _, l := range layouts {
		for _, p := range l.truth().Pages {
			if !p.Picture && !p.Blank && p.Half == "" && p.Remark == "" {
				continue
			}
			cells := []string{l.book.ID, p.Label, yes(p.Picture), p.Subject, yes(p.Blank), p.Half, p.Remark}
			if s.Traces != nil {
				addressed := ""
				if p.Picture {
					addressed = yes(p.Addressed)
				}
				cells = append(cells, addressed)
			}
			r.add(cells...)
		}
	}
	return r
}

// address marks the pictures of those whom a prayer addresses.
func (s *Scenario) address(l *layout) {
	for _, p := range l.pages {
		p.Addressed = s.Traces != nil && p.Picture && slices.Contains(s.Traces.Addressed, p.Subject)
	}
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func sectionRows(layouts []*layout) *rows {
	r := columns("book", "section", "kind", "set", "office", "extent", "incipit", "language")
	for _, l := range layouts {
		for _, s := range l.sections {
			r.add(l.book.ID, s.name, s.kind, s.set, s.office, s.extent.String(), s.incipit, s.language)
		}
	}
	return r
}

func (s *Scenario) instrumentRows() *rows {
	r := columns("instrument", "floor", "ceiling", "resolution", "tile")
	for _, i := range s.Instruments {
		r.add(i.ID, hundredths(i.Floor), hundredths(i.Ceiling), hundredths(i.Resolution), hundredths(i.Tile))
	}
	return r
}

func hundredths(density float64) string { return strconv.FormatFloat(density, 'f', 2, 64) }

// months lists the months of the log, in order.
func months(log []reading) []string {
	var out []string
	for _, row := range log {
		if month := row.date[:len("2026-03")]; len(out) == 0 || out[len(out)-1] != month {
			out = append(out, month)
		}
	}
	return out
}

func readingRows(log []reading, month string) *rows {
	r := columns("book", "page", "date", "time", "instrument", "observer", "target", "spot", "tried", "density", "excluded", "note")
	for _, row := range log {
		if strings.HasPrefix(row.date, month) {
			r.add(row.book, row.page, row.date, row.time, row.instrument, row.observer, row.target, row.spot, row.tried, row.density, row.excluded, row.note)
		}
	}
	return r
}
