// Package draft answers: which models and questions does a book, as it is described,
// allow to begin with?
//
// It writes a study file with models in force for what the books hold (pictures,
// several texts, a set of hours, two hands), each with the sentence that says what it
// asks, and in comments those for what they do not hold yet. Questions are asked
// afterwards until the scholar seals them.
package draft

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// FileName is what a study file is called.
const FileName = "study.toml"

// A Draft says what a study file is made for.
type Draft struct {
	Title    string
	From     string // of what it was made, in words; empty: nothing to say
	Books    []*codex.Book
	Readings []string // tables of readings
	// Of a study of looks at traces alone:
	Traces []string      // tables of looks
	Looks  *traces.Looks // with the coding book; nil where it is one of readings
}

// fewestPages are how many pages a label must stand on, in every book that the model
// speaks of, for a question on it to be in force (common practice, no source).
const fewestPages = 4

// Text writes the study file.
func (d Draft) Text() string {
	w := writer{features: codex.Features(d.Books), several: len(d.Books) > 1}
	w.line("# A study to begin from%s.", d.from())
	w.line("# thumbed check says what is still missing; thumbed help run, what comes of it.")
	w.line("")
	w.line("title = %s", strconv.Quote(d.Title))
	w.line("")
	w.line("[tables]")
	for _, name := range []string{"books", "leaves", "pages", "sections", "instruments"} {
		if name == "instruments" && d.Looks != nil {
			continue
		}
		w.line("%-11s = %q", name, name+".csv")
	}
	if d.Looks != nil {
		w.line("%-11s = [%s]", "traces", quoted(d.Traces))
		w.looks(d.Looks)
		return w.String()
	}
	w.line("%-11s = [%s]", "readings", quoted(d.Readings))
	w.line("")
	w.line("[measuring]")
	w.line("drift = \"either\"   # how the readings of the tile correct each day: as an offset or a scale where you")
	w.line("                   # know which of the two changes in your instrument; either holds both; or none")
	w.line("")
	w.line("# thumbed sheet makes the order of placings, to print and to fill in. What it is")
	w.line("# asked on the command line can stand here: take the signs # away.")
	w.mark = "# "
	w.line("[sheet]")
	w.line("hours     = 12   # of measuring, over all dates")
	w.line("dates     = [\"2026-06-01\", \"2026-06-02\"]")
	w.line("observers = [\"HB\", \"KL\"]   # who take the days in turn")
	w.line("[sheet.must]    # measured in any case: pages, texts, kinds; so too [sheet.may] and [sheet.never]")
	kinds := w.labels(codex.ColumnKind, nil)
	w.line("kinds = [%s]", quoted(kinds[:min(1, len(kinds))]))
	w.mark = ""
	w.line("")
	w.line("# The models and questions below were chosen by what the books hold, before any")
	w.line("# wear was looked at. They count as asked afterwards until you have gone through")
	w.line("# them, written asked = \"before\" where that is true, and sealed them (thumbed seal).")
	w.pictures()
	w.texts()
	w.offices()
	w.hands()
	return w.String()
}

func (d Draft) from() string {
	if d.From == "" {
		return ""
	}
	return ", made of " + strconv.Quote(d.From)
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, word := range words {
		out[i] = strconv.Quote(word)
	}
	return strings.Join(out, ", ")
}

// A writer writes the lines of a study file.
type writer struct {
	strings.Builder
	features *table.Table
	several  bool   // whether there is more than one book
	mark     string // what each line begins with: a comment's sign, or nothing
}

func (w *writer) line(format string, args ...any) {
	w.WriteString(strings.TrimRight(w.mark+fmt.Sprintf(format, args...), " ") + "\n")
}

// A model is a model with its question, as they are written.
type model struct {
	name, about string
	reason      string // why it is only a comment; empty: it is in force
	told        string // what else is to be known of it; empty: nothing
	fixed       []string
	only        string // which rows, in TOML
	levels      map[string][]string
	random      [][]string // groups; in each the intercept varies
	slope       string     // a term whose effect may differ from book to book
	each        bool       // fitted book by book
	question    question
}

// A question is a question of a model, as it is written.
type question struct {
	words, term, direction string
	smallest               float64 // density
}

func (w *writer) model(m model) {
	w.line("")
	w.mark = "# "
	w.line("%s", m.about)
	if m.reason == "" {
		w.mark = ""
	} else {
		w.line("%s", m.reason)
		w.line("")
	}
	if m.told != "" {
		w.WriteString("# " + m.told + "\n")
	}
	w.line("[[model]]")
	w.line("name    = %q", m.name)
	w.line("about   = %q", m.about)
	if m.each && w.several {
		w.line("each    = \"book\"")
	}
	if m.only != "" {
		w.line("only    = %s", m.only)
	}
	w.line("outcome = \"wear\"")
	w.line("fixed   = [%s]", quoted(m.fixed))
	w.line("[model.levels]")
	for _, column := range m.fixed {
		if levels := m.levels[column]; levels != nil {
			w.line("%s = [%s]   # the first is what the others are held against", column, quoted(levels))
		}
	}
	for _, by := range m.random {
		w.group(by, "")
	}
	if m.slope != "" && w.several {
		w.group([]string{codex.ColumnBook}, m.slope)
	}
	w.line("[model.residual]")
	w.line("limits = \"limit\"   # pages at the instrument's floor or ceiling are bounds")
	w.line("")
	w.line("[[question]]")
	w.line("words     = %q", m.question.words)
	w.line("model     = %q", m.name)
	w.line("contrast  = { %q = 1 }", m.question.term)
	w.line("direction = %q", m.question.direction)
	w.line("smallest  = %g   # density: the smallest difference that would matter to you", m.question.smallest)
	w.line("asked     = \"after\"")
	w.mark = ""
}

// group writes a random term: groups inside each book, where there are several.
func (w *writer) group(by []string, slope string) {
	w.line("[[model.random]]")
	if len(by) == 1 {
		w.line("by    = %q", by[0])
	} else {
		w.line("by    = [%s]", quoted(by))
	}
	if slope == "" {
		w.line("terms = [\"intercept\"]")
		return
	}
	w.line("terms = [\"intercept\", %q]", slope)
	w.line("correlated = false")
}

// groups are those of the columns that have several labels and are told of the pages of
// every book, inside each book where there are several.
func (w *writer) groups(each bool, columns ...string) (out [][]string) {
	for _, column := range columns {
		if len(w.labels(column, nil)) < 2 || !w.toldOf(column) {
			continue
		}
		if w.several && !each {
			out = append(out, []string{codex.ColumnBook, column})
		} else {
			out = append(out, []string{column})
		}
	}
	return out
}

// toldOf tells whether a column has a label on at least half of the pages with a text of
// every book: a model leaves out the pages that have none (common practice, no source).
func (w *writer) toldOf(column string) bool {
	c, book, section := w.features.Column(column), w.features.Column(codex.ColumnBook), w.features.Column(codex.ColumnSection)
	pages, told := map[string]int{}, map[string]int{}
	for i := range w.features.Rows() {
		if section.Label(i) == "" {
			continue
		}
		pages[book.Label(i)]++
		if c.Label(i) != "" {
			told[book.Label(i)]++
		}
	}
	for id, n := range pages {
		if 2*told[id] < n {
			return false
		}
	}
	return true
}

// labels are those of a column that stand on enough pages of the rows, the most
// frequent first.
func (w *writer) labels(column string, rows func(row int) bool) []string {
	c := w.features.Column(column)
	if c == nil {
		return nil
	}
	count := map[string]int{}
	var labels []string
	for i := range w.features.Rows() {
		label := c.Label(i)
		if label == "" || rows != nil && !rows(i) {
			continue
		}
		if count[label] == 0 {
			labels = append(labels, label)
		}
		count[label]++
	}
	labels = slices.DeleteFunc(labels, func(label string) bool { return count[label] < fewestPages })
	slices.SortStableFunc(labels, func(a, b string) int { return count[b] - count[a] })
	return labels
}

// has tells whether a feature is both there and not there on enough pages of the rows.
func (w *writer) has(column string, rows func(row int) bool) bool {
	labels := w.labels(column, rows)
	return slices.Contains(labels, "yes") && slices.Contains(labels, "no")
}

// beside are the features that are yes or no and stand in a model beside what is asked.
// One that is as good as another on the rows is left out, and that is said.
func (w *writer) beside(rows func(row int) bool, columns ...string) (fixed []string, levels map[string][]string, told string) {
	levels = map[string][]string{}
	for _, column := range columns {
		if !w.has(column, rows) {
			continue
		}
		if as := slices.IndexFunc(fixed, func(other string) bool { return w.alike(column, other, rows) }); as >= 0 {
			told = fmt.Sprintf("%s is left out: on nearly all pages it goes with %s, and what the one does is not distinguishable from what the other does.", column, fixed[as])
			continue
		}
		fixed = append(fixed, column)
		levels[column] = []string{"no", "yes"}
	}
	return fixed, levels, told
}

// alike tells whether two features differ on fewer pages of the rows than a question
// needs, either way.
func (w *writer) alike(a, b string, rows func(row int) bool) bool {
	one, other := w.features.Column(a), w.features.Column(b)
	differ := 0
	for i := range w.features.Rows() {
		if (rows == nil || rows(i)) && one.Label(i) != other.Label(i) {
			differ++
		}
	}
	return differ < fewestPages
}

// pictures asks what a picture adds.
func (w *writer) pictures() {
	m := model{name: "pictures", about: "What a picture adds to the wear of its page, beside the text and the quire it stands in.",
		random: w.groups(false, codex.ColumnSection, codex.ColumnQuire), slope: codex.ColumnPicture,
		question: question{"Are pages with a picture more worn than the text pages around them?", "picture=yes", "more", 0.02}}
	m.fixed, m.levels, m.told = w.beside(nil, codex.ColumnPicture, codex.FeatureFacing, codex.ColumnIncipit)
	if !w.has(codex.ColumnPicture, nil) {
		m.fixed, m.levels = []string{codex.ColumnPicture}, map[string][]string{codex.ColumnPicture: {"no", "yes"}}
		m.reason = fmt.Sprintf("In force once at least %d pages have a picture and %d have none: take the signs # away.", fewestPages, fewestPages)
	}
	w.model(m)
}

// texts asks whether the kind of text that has most pages after the first is worn
// more than that.
func (w *writer) texts() {
	kinds := w.labels(codex.ColumnKind, nil)
	m := model{name: "texts", about: "The wear of one kind of text against another.", each: true,
		random: w.groups(true, codex.ColumnSection, codex.ColumnQuire)}
	if named := slices.DeleteFunc(slices.Clone(kinds), func(kind string) bool { return kind == otherTexts }); len(named) > 1 {
		kinds = named // a text of which no word tells the kind is compared only where there is nothing else
	}
	if at := slices.Index(kinds, "hours"); at > 0 { // the hours are what others are held against, where there are any
		kinds = slices.Insert(slices.Delete(kinds, at, at+1), 0, "hours")
	}
	other := slices.IndexFunc(kinds, func(kind string) bool { return kind == "office of the dead" })
	if len(kinds) < 2 {
		kinds = []string{"hours", "office of the dead"}
		m.reason = "In force once the texts are of two kinds or more: take the signs # away."
	}
	if other < 1 {
		other = 1
	}
	m.question = question{asksMore(kinds[other], kinds[0]), "kind=" + kinds[other], "either", 0.02}
	kind := w.features.Column(codex.ColumnKind)
	books, only := w.booksWith(codex.ColumnKind, kinds[0], kinds[other])
	book := w.features.Column(codex.ColumnBook)
	compared := func(row int) bool {
		return (kind.Label(row) == kinds[0] || kind.Label(row) == kinds[other]) && (len(books) == 0 || slices.Contains(books, book.Label(row)))
	}
	beside, levels, told := w.beside(compared, codex.ColumnPicture, codex.FeatureFacing, codex.ColumnIncipit)
	m.told = told
	m.fixed, m.levels = append([]string{codex.ColumnKind}, beside...), levels
	m.levels[codex.ColumnKind] = []string{kinds[0], kinds[other]}
	m.only = fmt.Sprintf("{ kind = [%s]%s }", quoted(m.levels[codex.ColumnKind]), only)
	if m.reason == "" && w.several && len(books) == 0 {
		m.reason = "No book has both kinds of text that are compared: choose others, and take the signs # away."
	}
	w.model(m)
}

// otherTexts is the kind of a text of which no word tells the kind.
const otherTexts = "text"

// asksMore asks whether one kind of text is worn more than another.
func asksMore(kind, than string) string {
	switch {
	case than == otherTexts:
		return fmt.Sprintf("Is the text “%s” more worn than texts of no told kind?", kind)
	case kind == otherTexts:
		return fmt.Sprintf("Are texts of no told kind more worn than “%s”?", than)
	}
	return fmt.Sprintf("Is the text “%s” more worn than “%s”?", kind, than)
}

// booksWith are the books that have each label on enough pages, and what names them
// under only where others have not.
func (w *writer) booksWith(column string, labels ...string) (books []string, only string) {
	book := w.features.Column(codex.ColumnBook)
	all := w.labels(codex.ColumnBook, nil)
	for _, id := range all {
		there := w.labels(column, func(row int) bool { return book.Label(row) == id })
		if !slices.ContainsFunc(labels, func(label string) bool { return !slices.Contains(there, label) }) {
			books = append(books, id)
		}
	}
	if w.several && 0 < len(books) && len(books) < len(all) {
		only = fmt.Sprintf(", book = [%s]", quoted(books))
	}
	return books, only
}

// fewestOffices is of how many offices a set of hours must be whole enough for a fall
// along the day to be asked about (common practice, no source).
const fewestOffices = 4

// offices asks whether wear falls from office to office.
func (w *writer) offices() {
	set := w.features.Column(codex.ColumnSet)
	m := model{name: "offices", about: "The change of wear from each office of the day to the next.", each: true,
		random:   w.groups(true, codex.ColumnQuire),
		question: question{"Does wear fall from each office to the next?", codex.FeatureOfficeOrder, "less", 0.01}}
	m.reason = fmt.Sprintf("In force once a set of hours has at least %d offices of %d pages: take the signs # away, and name the set.", fewestOffices, fewestPages)
	of := "of the Virgin"
	for _, name := range w.labels(codex.ColumnSet, nil) {
		if len(w.labels(codex.ColumnOffice, func(row int) bool { return set.Label(row) == name })) >= fewestOffices {
			m.reason, of = "", name
			break
		}
	}
	books, only := w.booksWith(codex.ColumnSet, of)
	book := w.features.Column(codex.ColumnBook)
	beside, levels, _ := w.beside(func(row int) bool {
		return set.Label(row) == of && (len(books) == 0 || slices.Contains(books, book.Label(row)))
	}, codex.ColumnPicture)
	m.fixed, m.levels = append([]string{codex.FeatureOfficeOrder}, beside...), levels
	m.only = fmt.Sprintf("{ set = [%q]%s }", of, only)
	w.model(m)
}

// hands asks whether the pages that two scribes wrote are worn alike. Which scribe
// wrote a page stands in a column hand of pages.csv.
func (w *writer) hands() {
	const column = "hand"
	hands := w.labels(column, nil)
	m := model{name: "hands", about: "The wear of the pages that each scribe wrote, which your column hand of pages.csv tells.", each: true,
		random: w.groups(true, codex.ColumnSection, codex.ColumnQuire)}
	if len(hands) < 2 {
		hands = []string{"A", "B"}
		m.reason = "In force once pages.csv has a column hand with two labels: take the signs # away."
	}
	beside, levels, _ := w.beside(nil, codex.ColumnPicture)
	m.fixed, m.levels = append([]string{column}, beside...), levels
	m.levels[column] = hands
	m.question = question{fmt.Sprintf("Are the pages by hand %s worn otherwise than those by hand %s?", hands[1], hands[0]), column + "=" + hands[1], "either", 0.02}
	w.model(m)
}
