package iiif

import (
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// reSided finds a leaf with its side inside a longer label, such as “MS. Alder
// 7, fol. 012 recto”. Roman numbers need the side written out, since short
// words look like them.
var reSided = regexp.MustCompile(`(?i)(?:^|[\s,;:_(|/–-])((?:ff?|fols?|folio|bl|blatt|c|carta)?\.? ?(?:\[?\d{1,5} ?(?:bis|ter)?[a-z*]??\]? ?(?:recto|verso|r|v|ʳ|ᵛ)|[ivxl]{1,7} (?:recto|verso)))\b`)

// reAfter finds a side that a comma or a bracket parts from its leaf: f. 13
// (recto).
var reAfter = regexp.MustCompile(`(?i)(\d) ?[,(] ?(recto|verso|r|v)\b\)?`)

// rePage finds the number of a page at the end of a longer label, such as Image
// 168 / Page 166, in several languages.
var rePage = regexp.MustCompile(`(?i)(?:^|[\s,;:(/|\[–-])((?:pages?|pgs?|pp?|seiten?|s|páginas?|paginas?|pagine|sid[ao]|side|blz)\.? ?\[?\d{1,5}\]?)[)\]]?$`)

// reLoose finds words for leaves and pages that the book's own numbers do not
// count: flyleaves and pastedowns, in several languages.
var reLoose = regexp.MustCompile(`(?i)fly.?lea|end.?lea|paste.?down|contregarde|\bgardes?\b|vorsatz|nachsatz|spiegel|guardia|schutblad|cover|deckel|\bplat\b`)

// reSecond finds a second page in brackets behind the first, the number in an
// older foliation: 2r (31r).
var reSecond = regexp.MustCompile(`^(.*\d ?[rv]) ?\((?:olim |alt |old )?[^()]*\d ?[rv]\)$`)

// reMedium finds labels of recordings and the like, whose sides are not those of
// leaves.
var reMedium = regexp.MustCompile(`(?i)\b(?:tape|cassette|reel|dis[ck]|track|bande|tonband|nastro)\b`)

// reLacuna finds that there is no leaf: Lacune (32r), Fehlstelle, in several
// languages (common practice, no source).
var reLacuna = regexp.MustCompile(`(?i)\b(?:lacun[ae]|missing|wanting|lost|fehlt|fehlend\w*|fehlstelle|manquant\w*|mancante|mancanti|falta\w*|ontbreekt)\b`)

// reUnsided finds an opening whose recto is told by its number alone: f. 033v - 034, as
// libraries in France label their images.
var reUnsided = regexp.MustCompile(`(?i)(\d{1,5}) ?(?:verso|v|ᵛ) ?[-–/|] ?(?:ff?\.? ?|fols?\.? ?)?(\d{1,5})$`)

// reUnder are the marks that names of files have for spaces.
var reUnder = regexp.MustCompile(`[_]+`)

// pagesOf gives the pages that a canvas's label names: f. 12r, 12r, fol. 012
// recto, p. 23, or two of an opening, 12v–13r. A number alone may count leaves,
// pages or images, and names none; nor does that of a flyleaf, but in roman.
func pagesOf(label string) []codex.PageLabel {
	if reMedium.MatchString(label) || reLacuna.MatchString(label) {
		return nil
	}
	label = reSecond.ReplaceAllString(strings.TrimSpace(label), "$1")
	label = reAfter.ReplaceAllString(strings.TrimSpace(reUnder.ReplaceAllString(label, " ")), "$1 $2")
	if found := reUnsided.FindStringSubmatch(label); found != nil {
		verso, _ := strconv.Atoi(found[1]) // figures, by the pattern
		if recto, _ := strconv.Atoi(found[2]); recto == verso+1 {
			label += "r"
		}
	}
	if page, err := codex.ParsePage(label); err == nil {
		return []codex.PageLabel{page}
	}
	if l, ok := catalogue.ParseLocus(label); ok {
		if pages := view(l); pages != nil {
			return pages
		}
	}
	if match := rePage.FindStringSubmatch(label); match != nil {
		if l, ok := catalogue.ParseLocus(strings.Trim(strings.NewReplacer("[", "", "]", "").Replace(match[1]), " ")); ok && l.Paged {
			return view(l)
		}
	}
	found := reSided.FindAllStringSubmatch(label, 3)
	var pages []codex.PageLabel
	for _, match := range found {
		page, err := codex.ParsePage(match[1])
		if err != nil {
			return nil
		}
		pages = append(pages, page)
	}
	if reLoose.MatchString(label) && !(len(pages) == 1 && pages[0].Folio.Roman) {
		return nil
	}
	if len(pages) == 1 || len(pages) == 2 && faces(pages[0], pages[1]) {
		return pages
	}
	return nil
}

// view gives the pages of a place that one image can show: a page, or a verso
// and the recto after it.
func view(l catalogue.Locus) []codex.PageLabel {
	if len(l.Ranges) != 1 {
		return nil
	}
	from, to := l.Ranges[0].From, l.Ranges[0].To
	switch {
	case from == to:
		return []codex.PageLabel{from}
	case faces(from, to):
		return []codex.PageLabel{from, to}
	}
	return nil
}

// faces tells whether two pages are a verso and a recto of another leaf.
func faces(first, second codex.PageLabel) bool {
	return first.Side == codex.Verso && second.Side == codex.Recto && first.Folio != second.Folio
}
