package tei

import (
	"fmt"
	"regexp"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/table"
)

// Read reads every manuscript description in a TEI file, given as its text;
// file names it in problems. What was used and left goes to account. It gives
// nil with a problem where the file cannot be read or describes no manuscript.
func Read(file string, data []byte, account *catalogue.Account, ps *table.Problems) []catalogue.Record {
	var records []catalogue.Record
	found, unprintable := parse(file, data, ps)
	if unprintable > 0 {
		account.Note(0, "the text of the file", "%s left out: controls, and marks that turn the direction of text", catalogue.Count(unprintable, "character was", "characters were"))
	}
	for _, desc := range found {
		r := reader{account: account}
		records = append(records, r.record(desc))
	}
	return records
}

// A reader reads one description.
type reader struct {
	account *catalogue.Account
	pending []pending
	schemes map[string]int
	written map[string]string // attributes of the ranges of texts, by their words
	lost    []catalogue.Gap   // leaves that the record says are lost
	blank   []codex.Range     // pages that it says are blank
	unread  []catalogue.Entry // of the note on decoration that is being read

	byFolios     bool // whether its collation was read by folios, with what is lost
	bareRecto    bool // whether it writes versos with v and rectos without a letter
	sidesWritten bool // whether it writes r or v behind the numbers of leaves
}

func (r *reader) record(desc *node) catalogue.Record {
	r.schemes, r.written, r.pending, r.lost, r.blank, r.byFolios = map[string]int{}, map[string]string{}, nil, nil, nil, false
	record := catalogue.Record{Line: desc.line, Language: r.mainLanguage(desc)}
	r.identify(desc, &record)
	r.history(desc, &record)
	r.leaves(desc, &record)
	record.Items = r.items(desc)
	record.Pictures = r.pictures(desc)
	desc.each(func(n *node) {
		if !r.byFolios || !n.is("collation") {
			before := len(r.lost)
			r.gone(n.words(), n.line)
			for i := range r.lost[before:] {
				r.lost[before+i].Collated = n.is("collation")
			}
		}
	}, "condition", "collation")
	record.Gone, record.Blank = r.lost, r.blank
	r.bareRecto, r.sidesWritten = sides(desc)
	r.settle(paged(desc) || record.Counts.Paged, &record)
	r.leaveRest(desc)
	return record
}

// sides tells whether a record writes v behind the numbers of leaves, twice at least,
// and r nowhere in what it says of texts, leaves and decoration; and whether it writes
// either.
func sides(desc *node) (bareRecto, written bool) {
	words := ""
	desc.each(func(n *node) { words += n.words() + " " }, "msContents", "physDesc")
	versos, rectos := reVersos.FindAllString(words, fewestVersos), reRectos.MatchString(words)
	return len(versos) == fewestVersos && !rectos, versos != nil || reRecto.MatchString(words)
}

const fewestVersos = 2

var (
	reVersos = regexp.MustCompile(`\b\d{1,4} ?v\b`)
	reRecto  = regexp.MustCompile(`\b\d{1,4} ?r\b`)
	reRectos = regexp.MustCompile(`(?i)\b\d{1,4} ?r[ab]?\b|\brecto\b`)
)

// identify gives the book its name and title: the name that the record gives
// it, and its shelfmark.
func (r *reader) identify(desc *node, record *catalogue.Record) {
	record.ID = desc.attr("id")
	var shelf []string
	if id := desc.find("msIdentifier"); id != nil {
		record.Shelf = shelfmark(id)
		for _, name := range []string{"settlement", "repository"} {
			if part := id.children(name); len(part) > 0 && part[0].words() != "" {
				shelf = append(shelf, part[0].words())
			}
		}
		if record.Shelf != "" {
			shelf = append(shelf, record.Shelf)
		}
		record.Library, record.Register = library(id)
		if names := id.children("msName"); len(names) > 0 {
			record.Title = names[0].words()
		}
		if record.ID == "" || reNoID.MatchString(record.ID) {
			record.ID = record.Shelf
		}
	}
	if heads := desc.children("head"); record.Title == "" && len(heads) > 0 {
		if title := heads[0].find("title"); title != nil {
			record.Title = title.words()
		} else {
			record.Title = heads[0].words("origDate", "origPlace", "locus")
		}
	}
	shelfmark := strings.Join(shelf, ", ")
	switch {
	case record.Title == "":
		record.Title = shelfmark
	case shelfmark != "":
		record.Title += " (" + shelfmark + ")"
	}
}

// reNoID finds names of a description that are the same in every file.
var reNoID = regexp.MustCompile(`^(?i:ms|msdesc|manuscript|cul\w{0,2}|uk)$`)

// shelfmark is the library's own mark of the book: the one that says so, or else
// the first that is no address. Another library's, or an older one, comes last.
func shelfmark(id *node) string {
	var marks []*node
	id.each(func(n *node) { marks = append(marks, n) }, "idno")
	for _, fits := range []func(kind, words string) bool{
		func(kind, words string) bool { return strings.Contains(kind, "shelf") || kind == "signatur" },
		func(kind, words string) bool { return kind != "uri" && !strings.Contains(words, "://") },
	} {
		for _, mark := range marks {
			words := mark.words("idno")
			if words != "" && fits(strings.ToLower(mark.attr("type")), words) {
				return words
			}
		}
	}
	return ""
}

// library is the library that keeps the book, with its town, and its address in a
// register of libraries: its own name for itself, behind that of what it belongs to
// where it is only called a library.
func library(id *node) (name, register string) {
	part := func(name string) string {
		if found := id.children(name); len(found) > 0 {
			if ref := found[0].attr("ref"); strings.HasPrefix(ref, "http") && name != "settlement" {
				register = ref
			}
			return found[0].words()
		}
		return ""
	}
	institution, repository, town := part("institution"), part("repository"), part("settlement")
	switch {
	case repository == "":
		name = institution
	case institution != "" && !strings.Contains(repository, " "):
		name = institution + ", " + repository
	default:
		name = repository
	}
	if name != "" && town != "" && !strings.Contains(name, town) {
		name += ", " + town
	}
	return name, register
}

// history reads when and where the book was made, and for whom.
func (r *reader) history(desc *node, record *catalogue.Record) {
	if place := desc.find("origPlace"); place != nil {
		record.Place = place.words()
		r.account.Use(place.line, "the place of origin", "%s", record.Place)
	}
	if date := desc.find("origDate"); date != nil {
		record.Date = dateWords(date)
		r.account.Use(date.line, "the date of origin", "%s", record.Date)
	}
	var owners []string
	desc.each(func(name *node) {
		if role := strings.ToLower(name.attr("role")); strings.Contains(role, "own") || role == "fmo" || role == "patron" {
			owners = append(owners, name.words())
			r.account.Use(name.line, "the owner", "%s", name.words())
		}
	}, "persName", "name", "orgName")
	record.Owner = catalogue.Joined(owners)
}

// calendars are names of calendars in the attributes of a date, and how years of
// theirs are marked (common practice, no source).
var calendars = []struct {
	name *regexp.Regexp
	mark string
}{
	{regexp.MustCompile(`(?i)hijri|islamic|hegira|muslim`), "AH"},
	{regexp.MustCompile(`(?i)seleuc|greek|alexander`), "of the Greeks"},
	{regexp.MustCompile(`(?i)mundi|hebrew|jewish`), "AM"},
	{regexp.MustCompile(`(?i)ethiop|incarnation|amata`), "of the Ethiopian calendar"},
	{regexp.MustCompile(`(?i)martyr|diocletian|coptic`), "of the Martyrs"},
	{regexp.MustCompile(`(?i)armenian`), "of the Armenian era"},
}

// dateWords is a date in words, or made of its attributes where it has none. Years
// of another calendar than ours are marked as such.
func dateWords(date *node) string {
	mark := ""
	for _, c := range calendars {
		if c.name.MatchString(date.attr("calendar") + " " + date.attr("datingMethod") + " " + date.attr("when-custom")) {
			mark = c.mark
			break
		}
	}
	words := date.words()
	if words == "" {
		words = span(date, "")
	} else if mark != "" && !reEra.MatchString(words) {
		words += " " + mark
	}
	if custom := span(date, "-custom"); custom != "" && date.words() == "" {
		ours := words
		words = strings.TrimSpace(custom + " " + mark)
		if ours != "" {
			words += " (" + ours + ")"
		}
	}
	return words
}

// reEra finds a word in a date that tells the calendar.
var reEra = regexp.MustCompile(`(?i)\p{L}{4,}|\bA\.?[HDMG]\b|\bCE\b`)

// span is the date that the attributes give, from its first day to its last.
func span(date *node, of string) string {
	if when := date.attr("when" + of); when != "" {
		return when
	}
	from, to := date.attr("notBefore"+of), date.attr("notAfter"+of)
	if from == "" && to == "" {
		from, to = date.attr("from"+of), date.attr("to"+of)
	}
	return strings.Trim(from+"–"+to, "–")
}

// mainLanguage is the language of the whole book; empty where it has others, which
// are left to be told text by text.
func (r *reader) mainLanguage(desc *node) string {
	contents := desc.find("msContents")
	if contents == nil {
		return ""
	}
	languages := contents.children("textLang")
	if len(languages) == 0 {
		return ""
	}
	language, told := languageOf(languages[0]), 0
	desc.each(func(*node) { told++ }, "textLang")
	if words := languages[0].words(); language == "" && words != "" && told == len(languages) { // and no text has its own
		r.account.Leave(languages[0].line, "the language “"+catalogue.Short(words, 60)+"”", "the record does not tell which texts are in which; enter it in sections.csv or pages.csv")
	}
	return language
}

func languageOf(lang *node) string {
	if lang.attr("otherLangs") != "" {
		return ""
	}
	if code := lang.attr("mainLang"); code != "" {
		return catalogue.LanguageName(code)
	}
	if words := lang.words(); len(strings.Fields(words)) == 1 {
		return words
	}
	return ""
}

var rePaginated = regexp.MustCompile(`(?i)\b(paginat|paginé|paginiert|paginier|paginaz|numbered by page)`)

// paged tells whether the book is numbered by pages and not by leaves.
func paged(desc *node) bool {
	foliation := desc.find("foliation")
	return foliation != nil && rePaginated.MatchString(foliation.words()) && !strings.Contains(strings.ToLower(foliation.words()), "foli")
}

// unused are the parts of a description that a study of wear has no table for.
var unused = map[string]string{
	"scriptDesc": "hands and scripts", "handDesc": "hands", "musicNotation": "music", "layoutDesc": "the layout",
	"bindingDesc": "the binding", "sealDesc": "seals", "accMat": "accompanying material", "additions": "additions",
	"condition": "the condition", "provenance": "the provenance", "acquisition": "the acquisition", "additional": "administrative notes",
	"summary": "the summary of contents", "typeDesc": "types",
}

// leaveRest enters the parts of the description that were not used.
func (r *reader) leaveRest(desc *node) {
	var names []string
	for name := range unused {
		names = append(names, name)
	}
	desc.each(func(part *node) {
		words := part.words()
		if words == "" || part.is("condition") && len(r.lost) > 0 {
			return
		}
		r.account.Leave(part.line, fmt.Sprintf("%s (%s)", unused[part.name], part.name), "not used: “%s”", catalogue.Short(words, 120))
	}, names...)
}
