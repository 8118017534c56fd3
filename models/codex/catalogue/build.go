package catalogue

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A builder makes the tables of records, one book after the other.
type builder struct {
	account *Account
	ids     map[string]bool

	books, leafRows, pages, sections rows
}

// rows are the cells of a table, column by column.
type rows struct {
	names []string
	cells [][]string
}

func newRows(names ...string) rows { return rows{names, make([][]string, len(names))} }

func (r *rows) add(cells ...string) {
	for k, cell := range cells {
		r.cells[k] = append(r.cells[k], cell)
	}
}

// table makes a table of the rows; a column without any value is left out
// unless it stands among the first keep.
func (r *rows) table(keep int) *table.Table {
	t := &table.Table{}
	for k, name := range r.names {
		if k >= keep && !slices.ContainsFunc(r.cells[k], func(cell string) bool { return cell != "" }) {
			continue
		}
		if err := t.Add(table.Labels(name, r.cells[k])); err != nil {
			panic("catalogue: " + err.Error()) // names and lengths are this package's doing
		}
	}
	return t
}

// Build makes the tables of the books that records describe. A record that
// tells of no leaf is left. The tables always load ([codex.FromTables]) without
// a problem.
func Build(records []Record, account *Account) codex.Tables {
	return BuildAll([]Source{{records, account}})
}

// A Source is what one file describes, and the account of it.
type Source struct {
	Records []Record
	Account *Account
}

// BuildAll is [Build] of several files, whose books all have names of their own.
func BuildAll(sources []Source) codex.Tables {
	b := &builder{ids: map[string]bool{},
		books:    newRows(codex.ColumnBook, codex.ColumnTitle, codex.ColumnShort, codex.ColumnOwner, codex.ColumnShelfmark, codex.ColumnLibrary, codex.ColumnLibraryID, codex.ColumnPlace, codex.ColumnDate, codex.ColumnMaterial, codex.ColumnOuter),
		leafRows: newRows(codex.ColumnBook, codex.ColumnLeaf, codex.ColumnQuire, codex.ColumnState, codex.ColumnConjugate),
		pages:    newRows(codex.ColumnBook, codex.ColumnPage, codex.ColumnPicture, codex.ColumnSubject, codex.ColumnDecoration, codex.ColumnBlank),
		sections: newRows(codex.ColumnBook, codex.ColumnSection, codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice, codex.ColumnExtent, codex.ColumnExtentBy, codex.ColumnIncipit, codex.ColumnLanguage),
	}
	for _, source := range sources {
		b.account = source.Account
		for i := range source.Records {
			b.add(&source.Records[i])
		}
	}
	return codex.Tables{Books: b.books.table(4), Leaves: b.leafRows.table(4), Pages: b.pages.table(3), Sections: b.sections.table(6)}
}

// manyFlyleaves is how many flyleaves a book may have in front or at its end.
const manyFlyleaves = 500

func (b *builder) add(r *Record) {
	for _, flyleaves := range []*int{&r.Counts.Front, &r.Counts.End} {
		if *flyleaves > manyFlyleaves {
			b.account.Leave(r.Counts.Line, "the flyleaves", "the record counts %d of them; no book is taken to have more than %d", *flyleaves, manyFlyleaves)
			*flyleaves = 0
		}
	}
	offices(r.Items)
	leaves := b.leaves(r)
	if len(leaves) == 0 {
		b.account.Leave(r.Line, "the book “"+Short(r.Title, 60)+"”", "the record tells of no leaf: no count of leaves, no collation, no place of a text or picture")
		return
	}
	id := b.id(r)
	b.describe(r, id)
	for _, leaf := range leaves {
		b.leafRows.add(id, leaf.Label.String(), leaf.Quire, leaf.State(), leaf.Conjugate)
	}
	s := newSectioner(b.account, leaves, r.Language)
	s.opened(r)
	for _, made := range s.sections(r, s.lastText(r.Counts)) {
		b.sections.add(id, made.name, made.kind, made.set, made.office.String(), s.extent(made.runs).String(), made.by, made.incipit, made.language)
	}
	s.noteUntold(r.Line)
	b.addPages(r, id, s)
}

// describe enters the row of the book.
func (b *builder) describe(r *Record, id string) {
	material, mixed := materialOf(r.Material.Text)
	switch {
	case mixed:
		b.account.Leave(r.Material.Line, "the material “"+Short(r.Material.Text, 60)+"”", "leaves of more than one kind; a column of your own in pages.csv can tell which are which")
	case material == "" && r.Material.Text != "":
		b.account.Leave(r.Material.Line, "the material “"+Short(r.Material.Text, 60)+"”", "neither parchment nor paper is named; enter it in books.csv")
	case material != "":
		b.account.Use(r.Material.Line, "the material “"+Short(r.Material.Text, 60)+"”", "%s", material)
	}
	outer := r.Outer
	if material == "paper" {
		outer = "" // paper has no sides
	}
	b.books.add(id, Short(r.Title, 300), Short(r.Shelf, 60), Short(r.Owner, 200), Short(r.Shelf, 200), Short(r.Library, 200), r.Register, Short(r.Place, 200), Short(r.Date, 200), material, outer)
	b.account.Use(r.Line, "the book “"+Short(r.Title, 60)+"”", "it is called %s in the tables", id)
}

// longestID is the longest short name of a book, in letters.
const longestID = 40

// id makes the short name of a book, in small letters and figures parted by
// hyphens, which no other book of the file has.
func (b *builder) id(r *Record) string {
	name := r.ID
	if name == "" {
		name = r.Title
	}
	var parts []string
	for _, word := range strings.FieldsFunc(fold(name), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) }) {
		if len([]rune(strings.Join(append(parts, word), "-"))) > longestID {
			break
		}
		parts = append(parts, word)
	}
	short := strings.Join(parts, "-")
	if short == "" {
		short = "book"
	}
	id := short
	for n := 2; b.ids[id]; n++ {
		id = fmt.Sprintf("%s-%d", short, n)
	}
	b.ids[id] = true
	return id
}

// addPages enters the pages with pictures and other decoration.
func (b *builder) addPages(r *Record, id string, s *sectioner) {
	type content struct {
		picture, blank       bool
		subjects, decoration []string
	}
	pages := map[int]*content{}
	for _, span := range union(s.blank, s.resolve(r.Line, "the blank pages", r.Blank)) {
		for page := span[0]; page <= span[1]; page++ {
			if !s.labels[page/2].IsZero() {
				pages[page] = &content{blank: true}
			}
		}
	}
	for _, p := range r.Pictures {
		if len(p.Loci) == 0 {
			if !p.Told {
				b.account.Leave(p.Line, p.What(), "the record does not tell on which page; enter it in pages.csv")
			}
			continue
		}
		for _, span := range s.oneByOne(p) {
			opening := span[0]%2 == 1 && span[1] == span[0]+1 // a picture over two facing pages
			if span[0] != span[1] && !opening && p.Each == "" {
				b.account.Leave(p.Line, p.What(), "%s are several pages; which of them bear it is not told: enter them in pages.csv", s.extent([]run{span}))
				continue
			}
			for page := span[0]; page <= span[1]; page++ {
				at := pages[page]
				if p.Each != "" && p.Each != codex.Side(page%2).String() || s.labels[page/2].IsZero() {
					continue
				}
				if at != nil && at.picture && p.InPassing {
					continue
				}
				if at == nil {
					at = &content{}
					pages[page] = at
				}
				at.blank = false
				if p.Decoration == "" || p.Subject != "" {
					at.picture = true
					at.subjects = append(at.subjects, p.Subject)
				}
				at.decoration = append(at.decoration, p.Decoration)
				b.account.Use(p.Line, p.What(), "on %s", s.label(page))
			}
		}
	}
	for page := range 2 * len(s.labels) {
		at := pages[page]
		if at == nil {
			continue
		}
		yes := map[bool]string{true: "yes"}
		b.pages.add(id, s.label(page).String(), yes[at.picture], Short(Joined(at.subjects), 300), Short(Joined(at.decoration), 200), yes[at.blank])
	}
}

// oneByOne are the places of a picture, so that pages named one by one, 1v, 2r, 2v, stay
// apart.
func (s *sectioner) oneByOne(p *Picture) []run {
	var runs []run
	for _, place := range p.Loci {
		runs = append(runs, s.resolve(p.Line, p.What(), []codex.Range{place})...)
	}
	return runs
}
