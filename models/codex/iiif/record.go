package iiif

import (
	"cmp"
	"fmt"
	"regexp"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/table"
)

// Read reads a manifest as the description of a book, given as its text; file
// names it in problems. What was used and left goes to account. It gives nil
// with a problem where the file is no manifest, or where no canvas names a page.
func Read(file string, data []byte, account *catalogue.Account, ps *table.Problems) []catalogue.Record {
	m := ReadManifest(file, data, ps)
	if m == nil {
		return nil
	}
	if m.unprintable > 0 {
		account.Note(0, "the text of the file", "%s left out: controls, and marks that turn the direction of text", catalogue.Count(m.unprintable, "character was", "characters were"))
	}
	r := &reader{Manifest: m, account: account, pages: map[string][]codex.PageLabel{}}
	record := catalogue.Record{Title: m.Label, Labels: r.leaves()}
	if record.Labels == nil {
		ps.Add(table.Problem{File: file, Column: "label", Value: m.Canvases[len(m.Canvases)/2].Label, Expected: "canvases whose labels name pages, such as 12r or f. 12 recto",
			Remedy: "write the label of each canvas in the file; numbers alone do not tell whether they count leaves, pages or images"})
		return nil
	}
	record.Gone = r.gone
	r.describe(&record)
	record.Items = r.texts()
	return []catalogue.Record{record}
}

type reader struct {
	*Manifest
	account *catalogue.Account
	pages   map[string][]codex.PageLabel // by canvas
	adopted map[string][]part            // by the range that they say they are within
	gone    []catalogue.Gap              // leaves that canvases say are lost
}

// leaves lists the leaves in the order of their first images.
func (r *reader) leaves() []codex.Folio {
	var leaves []codex.Folio
	seen := map[codex.PageLabel]int{} // the canvas of a page, from 1
	known := map[codex.Folio]bool{}
	named := 0
	for n := range r.Canvases {
		c := &r.Canvases[n]
		if len(c.Pages) == 0 {
			r.blankCanvas(n, leaves)
			continue
		}
		named++
		if c.ID != "" {
			r.pages[c.ID] = c.Pages
		}
		for _, page := range c.Pages {
			bare := page
			bare.Folio.Supplied = false
			if first := seen[bare]; first > 0 {
				r.account.Note(0, c.what(n), "canvas %d shows that page too", first)
				continue
			}
			seen[bare] = n + 1
			if !known[bare.Folio] {
				known[bare.Folio] = true
				leaves = append(leaves, page.Folio)
			}
		}
	}
	r.account.Use(0, "the labels of the canvases", "%s in the order of their images, from %d of %d canvases", catalogue.Count(len(leaves), "leaf", "leaves"), named, len(r.Canvases))
	r.noteGaps(leaves)
	return leaves
}

// reNumber finds the number of the leaf that a label says is not there.
var reNumber = regexp.MustCompile(`\d+`)

// blankCanvas enters a canvas that shows no page of the book: a leaf that is lost,
// after those before it, or something else.
func (r *reader) blankCanvas(n int, before []codex.Folio) {
	c := &r.Canvases[n]
	if !reLacuna.MatchString(c.Label) {
		r.account.Leave(0, c.what(n), "its label names no page")
		return
	}
	gap := catalogue.Gap{Statement: catalogue.Statement{Text: c.Label}, Leaves: 1}
	if len(before) > 0 {
		gap.After = before[len(before)-1]
	}
	number := reNumber.FindString(c.Label)
	if last := len(r.gone) - 1; last >= 0 && r.gone[last].After == gap.After {
		if reNumber.FindString(r.gone[last].Text) != number {
			r.gone[last].Leaves++
			r.gone[last].Text = c.Label
		}
		return
	}
	r.gone = append(r.gone, gap)
}

// noteGaps tells where numbers are passed over: a leaf may be lost, or may not
// have been photographed.
func (r *reader) noteGaps(leaves []codex.Folio) {
	for i := 1; i < len(leaves); i++ {
		before, after := leaves[i-1], leaves[i]
		if before.Roman == after.Roman && after.Number > before.Number+1 {
			r.account.Note(0, fmt.Sprintf("between leaves %s and %s", before, after), "no image shows the numbers between; enter leaves that are lost in leaves.csv")
		}
	}
}

// fields are words for what a manifest's metadata tells, in several languages
// (common practice, no source).
var fields = []struct {
	name  string
	label *regexp.Regexp
}{
	{"extent", regexp.MustCompile(`(?i)^(?:umfang|extent|étendue|estensione|omvang|extensión|physical description|description matérielle|blattzahl)$`)},
	{"origin", regexp.MustCompile(`(?i)^(?:entstehung|origin and date|origine|origine e data|ontstaan|place and date|ort und zeit)$`)},
	{"owner", regexp.MustCompile(`(?i)^(former )?owners?$|besitzer|possess`)},
	{"date", regexp.MustCompile(`(?i)^date|entstehungszeit|created date|datierung|datum|datazione|^data$|date of origin|période|period`)},
	{"place", regexp.MustCompile(`(?i)place of origin|^place|publication place|origin place|entstehungsort|herkunft|^lieu|^luogo|^origin$`)},
	{"material", regexp.MustCompile(`(?i)^material|^support|beschreibstoff|matériau|materia`)},
	{"language", regexp.MustCompile(`(?i)^language|^sprache|^langue|^lingua`)},
	{"collation", regexp.MustCompile(`(?i)^collation|^lagen|^fascicol`)},
	{"library", regexp.MustCompile(`(?i)^(?:repository|library|holding (?:institution|library)|institution|(?:current )?location|bibliothek|bibliothèque|biblioteca|bibliotheek|aufbewahrungsort|lieu de conservation)$`)},
	{"shelfmark", regexp.MustCompile(`(?i)^shelf.?mark|^signatur|^cote$|^segnatura|^call number`)},
}

// describe reads the metadata, and who provides the images (version 3), which is the
// library.
func (r *reader) describe(record *catalogue.Record) {
	if providers := list(r.raw["provider"]); len(providers) == 1 {
		if o, ok := providers[0].(object); ok {
			record.Library = words(o["label"])
			if strings.HasPrefix(id(o), "http") {
				record.Register = id(o)
			}
			r.account.Use(0, "the provider", "the library, %s", record.Library)
		}
	}
	for _, p := range r.metadata {
		name := ""
		for _, f := range fields {
			if f.label.MatchString(p.label) {
				name = f.name
				break
			}
		}
		at := catalogue.Statement{Text: p.value}
		switch name {
		case "extent":
			r.countLeaves(p.value, record)
			continue
		case "origin":
			record.Place, record.Date = parted(p.value, record.Place, record.Date)
		case "owner":
			record.Owner = catalogue.Joined([]string{record.Owner, p.value})
		case "date":
			record.Date = p.value
		case "place":
			record.Place = p.value
		case "material":
			record.Material = at
			continue // told when it is read
		case "language":
			if !strings.ContainsAny(p.value, ";,") {
				record.Language = catalogue.LanguageName(p.value)
			}
		case "collation":
			record.Collations = append(record.Collations, at)
			continue
		case "library":
			record.Library = cmp.Or(record.Library, p.value)
		case "shelfmark":
			record.ID, record.Shelf = p.value, p.value
		default:
			r.account.Leave(0, "the metadata “"+short(p.label)+"”", "not used: “%s”", catalogue.Short(p.value, 120))
			continue
		}
		r.account.Use(0, "the metadata “"+short(p.label)+"”", "%s, %s", name, catalogue.Short(p.value, 60))
	}
}

// reLeaves finds a count of leaves in several languages.
var reLeaves = regexp.MustCompile(`(?i)\b(\d{1,5}) ?(?:bl\b|bll\b|blatt|blätter|leaves|leaf|ff?\b|fol|folios|feuillets?|carte|cc?\b|hojas|bladen)`)

// countLeaves holds the leaves that the metadata count against those that canvases
// show.
func (r *reader) countLeaves(words string, record *catalogue.Record) {
	found := reLeaves.FindStringSubmatch(words)
	if found == nil {
		r.account.Leave(0, "the extent “"+short(words)+"”", "no count of leaves can be read in it; the canvases show %d", len(record.Labels))
		return
	}
	if found[1] == fmt.Sprint(len(record.Labels)) {
		r.account.Use(0, "the extent “"+short(words)+"”", "as many leaves as the canvases show")
		return
	}
	r.account.Note(0, "the extent “"+short(words)+"”", "the canvases show %d; the leaves are those that they show", len(record.Labels))
}

// parted tells a place from a date in one statement of both: Köln, um 1450. What is
// known already stays.
func parted(words, place, date string) (string, string) {
	at := strings.LastIndexAny(words, ",;")
	switch {
	case at >= 0 && reNumber.MatchString(words[at:]):
		return cmp.Or(place, strings.TrimSpace(words[:at])), cmp.Or(date, strings.TrimSpace(words[at+1:]))
	case reNumber.MatchString(words):
		return place, cmp.Or(date, words)
	}
	return cmp.Or(place, words), date
}
