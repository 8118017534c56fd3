package codex

import (
	"math"
	"slices"

	"thumbed/models/table"
)

// Features of a page, beside the columns that the tables on disk share with
// them (book, page, leaf, quire, section, kind, set, office, picture, incipit,
// decoration, blank, language, subject, conjugate).
const (
	FeaturePosition     = "position"      // place of the page along the physical book from 1, lost pages counted
	FeatureLeafPosition = "leaf_position" // place of its leaf from 1, lost leaves counted
	FeaturePlace        = "place"         // 0 on the first leaf to 1 on the last, lost leaves counted
	FeatureEdge         = "edge"          // leaves between it and the nearer end of the book
	FeatureSide         = "side"          // recto or verso
	FeatureOpening      = "opening"       // such as 12v–13r
	FeatureQuirePlace   = "quire_place"   // place of the leaf in its quire from 1
	FeatureQuireLeaves  = "quire_leaves"  // leaves of the quire, lost ones counted
	FeatureHair         = "hair"          // hair or flesh: what the page is
	FeatureOfficeOrder  = "office_order"  // from Matins 1 to Compline 8
	FeatureSectionPage  = "section_page"  // place of the page in its section from 1, lost pages counted
	FeatureSectionPlace = "section_place" // 0 on the first page of the section to 1 on the last
	FeatureFacing       = "facing"        // yes or no: a picture is on the facing page
)

// A feature is one column of [Features]: a label or a number of each page.
type feature struct {
	name   string
	about  string
	label  func(v *view, page int) string
	number func(v *view, page int) float64
}

// features are the columns of [Features] in their order.
var features = []feature{
	{name: ColumnBook, about: "the book's id", label: func(v *view, page int) string { return v.ID }},
	{name: ColumnPage, about: "the page's label, such as 12r", label: func(v *view, page int) string { return v.pages[page] }},
	{name: ColumnLeaf, about: "the leaf's label", label: func(v *view, page int) string { return v.leaves[page/2] }},
	{name: FeaturePosition, about: "place of the page along the physical book from 1, lost pages counted", number: func(v *view, page int) float64 { return float64(page + 1) }},
	{name: FeatureLeafPosition, about: "place of its leaf along the physical book from 1, lost leaves counted", number: func(v *view, page int) float64 { return float64(page/2 + 1) }},
	{name: FeaturePlace, about: "0 on the first leaf to 1 on the last, lost leaves counted", number: func(v *view, page int) float64 { return share(page/2, len(v.Leaves)) }},
	{name: FeatureEdge, about: "leaves between it and the nearer end of the book", number: func(v *view, page int) float64 { return float64(min(page/2, len(v.Leaves)-1-page/2)) }},
	{name: FeatureSide, about: "recto or verso", label: func(v *view, page int) string { return v.Pages[page].Label.Side.String() }},
	{name: FeatureOpening, about: "the opening it is in, such as 12v–13r; the page itself where it faces none", label: func(v *view, page int) string { return v.openings[page] }},
	{name: ColumnQuire, about: "label of its quire", label: (*view).quire},
	{name: FeatureQuirePlace, about: "place of its leaf in the quire from 1", number: func(v *view, page int) float64 { return known(v.Leaves[page/2].Place) }},
	{name: FeatureQuireLeaves, about: "leaves of the quire, lost ones counted", number: (*view).quireLeaves},
	{name: FeatureHair, about: "hair or flesh: which side of the skin it is", label: func(v *view, page int) string { return v.Skin(page) }},
	{name: ColumnSection, about: "the text on it", label: ofSection(func(s *Section) string { return s.Name })},
	{name: ColumnKind, about: "kind of that text", label: ofSection(func(s *Section) string { return s.Kind })},
	{name: ColumnSet, about: "which set of hours", label: ofSection(func(s *Section) string { return s.Set })},
	{name: ColumnOffice, about: "the office of the day", label: ofSection(func(s *Section) string { return s.Office.String() })},
	{name: FeatureOfficeOrder, about: "place of the office in the day, from Matins 1 to Compline 8", number: (*view).officeOrder},
	{name: FeatureSectionPage, about: "place of the page in its section from 1, lost pages counted", number: func(v *view, page int) float64 { return known(v.Pages[page].SectionPlace) }},
	{name: FeatureSectionPlace, about: "0 on the first page of the section to 1 on the last", number: (*view).sectionPlace},
	{name: ColumnPicture, about: "whether it has a picture", label: func(v *view, page int) string { return yesNo(v.Pages[page].Picture) }},
	{name: FeatureFacing, about: "whether a picture is on the page it faces", label: func(v *view, page int) string { return v.facing(page) }},
	{name: ColumnIncipit, about: "whether a text begins on it", label: func(v *view, page int) string { return yesNo(v.Pages[page].Incipit) }},
	{name: ColumnDecoration, about: "its decoration", label: func(v *view, page int) string { return v.Pages[page].Decoration }},
	{name: ColumnBlank, about: "whether it is blank", label: func(v *view, page int) string { return yesNo(v.Pages[page].Blank) }},
	{name: ColumnLanguage, about: "language of its text", label: func(v *view, page int) string { return v.Pages[page].Language }},
	{name: ColumnSubject, about: "what its picture shows", label: func(v *view, page int) string { return v.Pages[page].Subject }},
	{name: ColumnConjugate, about: "the sheet its leaf belongs to, named by both leaves, such as 13+18; a singleton by its own label", label: func(v *view, page int) string { return v.sheets[page/2] }},
}

// FeatureNames are the columns of [Features] in their order, without the
// scholar's own.
func FeatureNames() []string {
	names := make([]string, len(features))
	for i, f := range features {
		names[i] = f.name
	}
	return names
}

// FeaturesSchema describes the columns of a table of [Features], the scholar's
// own among them.
func FeaturesSchema(pages *table.Table) table.Schema {
	schema := table.Schema{PrimaryKey: []string{ColumnBook, ColumnPage}}
	for _, name := range pages.Names() {
		schema.Fields = append(schema.Fields, featureField(pages.Column(name)))
	}
	return schema
}

func featureField(c *table.Column) table.Field {
	field := table.Field{Name: c.Name, Kind: table.String, Description: "a column of the scholar's own, from pages.csv"}
	for _, f := range features {
		if f.name == c.Name {
			field.Description = f.about
		}
	}
	switch {
	case c.IsNumber():
		field.Kind = table.Number
	case slices.Contains(yesNoFeatures, c.Name):
		field.Kind = table.Boolean
	}
	return field
}

// yesNoFeatures are the features that are yes or no.
var yesNoFeatures = []string{ColumnPicture, FeatureFacing, ColumnIncipit, ColumnBlank}

// Features gives the table of what is known of every page: one row a page of a
// leaf still there, books in the order given and pages in physical order,
// columns as [FeatureNames], then the scholar's own columns of pages.csv. A
// value that is not known or does not apply is missing: the quire of a leaf in
// none, the office outside the hours, the facing picture beside a lost leaf.
//
// opening names a page that faces none by its own label. conjugate names the
// sheet by its two leaves, such as 13+18, and a singleton by its label.
func Features(books []*Book) *table.Table {
	views := make([]*view, len(books))
	total := 0
	for i, b := range books {
		views[i] = newView(b)
		total += len(views[i].present)
	}
	t := &table.Table{}
	for _, f := range features {
		if f.number != nil {
			values := gather(views, total, f.number)
			add(t, table.Numbers(f.name, values))
			continue
		}
		add(t, table.Labels(f.name, gather(views, total, f.label)))
	}
	for _, name := range ownNames(books) {
		add(t, table.Cells(name, gather(views, total, func(v *view, page int) string { return v.Pages[page].Own[name] })))
	}
	return t
}

// add appends a column, whose name and length are this package's own doing.
func add(t *table.Table, c *table.Column) {
	if err := t.Add(c); err != nil {
		panic("codex: " + err.Error())
	}
}

// gather gives a feature of every page of every view.
func gather[T any](views []*view, total int, of func(*view, int) T) []T {
	values := make([]T, 0, total)
	for _, v := range views {
		for _, page := range v.present {
			values = append(values, of(v, page))
		}
	}
	return values
}

// ownNames are the scholar's own columns of the books, in order of appearance.
func ownNames(books []*Book) []string {
	var names []string
	for _, b := range books {
		for _, name := range b.own {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	return names
}

// A view is a book with the labels of its leaves, pages, openings and sheets
// written out once.
type view struct {
	*Book
	present                         []int
	leaves, pages, openings, sheets []string
}

func newView(b *Book) *view {
	v := &view{Book: b, present: b.Present(), leaves: make([]string, len(b.Leaves)), sheets: make([]string, len(b.Leaves)),
		pages: make([]string, len(b.Pages)), openings: make([]string, len(b.Pages))}
	for i := range b.Leaves {
		v.leaves[i] = b.Leaves[i].Label.String()
		v.pages[2*i], v.pages[2*i+1] = v.leaves[i]+Recto.letter(), v.leaves[i]+Verso.letter()
	}
	for i := range b.Leaves {
		v.sheets[i] = v.sheet(i)
	}
	for page := range b.Pages {
		switch other, ok := b.Opening(page); {
		case !ok:
			v.openings[page] = v.pages[page]
		case other > page:
			v.openings[page] = v.pages[page] + "–" + v.pages[other]
		default:
			v.openings[page] = v.openings[other]
		}
	}
	return v
}

// sheet names the sheet of a leaf; empty where it is not known.
func (v *view) sheet(leaf int) string {
	mate := v.Leaves[leaf].Conjugate
	switch {
	case mate < 0 && v.Leaves[leaf].Singleton:
		return v.leaves[leaf]
	case mate < 0:
		return ""
	}
	return v.leafOrLost(min(leaf, mate)) + "+" + v.leafOrLost(max(leaf, mate))
}

func (v *view) leafOrLost(leaf int) string {
	if v.leaves[leaf] == "" {
		return "lost"
	}
	return v.leaves[leaf]
}

func (v *view) quire(page int) string {
	if q := v.Leaves[page/2].Quire; q >= 0 {
		return v.Quires[q].Label
	}
	return ""
}

func (v *view) quireLeaves(page int) float64 {
	if q := v.Leaves[page/2].Quire; q >= 0 {
		return float64(len(v.Quires[q].Leaves))
	}
	return math.NaN()
}

func ofSection(of func(*Section) string) func(*view, int) string {
	return func(v *view, page int) string {
		if s := v.Section(page); s != nil {
			return of(s)
		}
		return ""
	}
}

func (v *view) officeOrder(page int) float64 {
	if s := v.Section(page); s != nil {
		return known(s.Office.Order())
	}
	return math.NaN()
}

func (v *view) sectionPlace(page int) float64 {
	if s := v.Section(page); s != nil {
		return share(v.Pages[page].SectionPlace-1, s.Length)
	}
	return math.NaN()
}

// share is how far the step i from 0 is along n steps: 0 at the first, 1 at
// the last, 0 where there is one only.
func share(i, n int) float64 {
	if n <= 1 {
		return 0
	}
	return float64(i) / float64(n-1)
}

// known is a count from 1, missing where it is 0.
func known(count int) float64 {
	if count == 0 {
		return math.NaN()
	}
	return float64(count)
}

func yesNo(is bool) string {
	if is {
		return "yes"
	}
	return "no"
}
