package codex

import (
	"fmt"
	"strings"
)

// Notes are what is to be known of a book before its wear is looked at: the pages
// that texts share, and where hair faces flesh.
func (b *Book) Notes() []string {
	var notes []string
	for _, note := range []string{b.SharedNote(), b.SkinNote()} {
		if note != "" {
			notes = append(notes, note)
		}
	}
	return notes
}

// unlikeOpenings are the openings in which hair faces flesh, against Gregory's
// rule, as indices into Pages of their versos. Sides that follow from the rule
// agree with it, save where a leaf was cut out between: such openings come of sides
// that were stated for a leaf, of leaves turned, moved or cut out, or of an error.
func (b *Book) unlikeOpenings() []int {
	var versos []int
	for page := range b.Pages {
		other, faces := b.Opening(page)
		if !faces || other < page {
			continue
		}
		if one, two := b.Skin(page), b.Skin(other); one != "" && two != "" && one != two {
			versos = append(versos, page)
		}
	}
	return versos
}

// mostUnlike is how many openings a note lists.
const mostUnlike = 12

// SkinNote says in a sentence in which openings hair faces flesh; empty where in
// none.
func (b *Book) SkinNote() string {
	versos := b.unlikeOpenings()
	if len(versos) == 0 {
		return ""
	}
	var named []string
	for _, page := range versos[:min(len(versos), mostUnlike)] {
		named = append(named, b.Pages[page].Label.String()+"–"+b.Pages[page+1].Label.String())
	}
	words := strings.Join(named, ", ")
	if more := len(versos) - len(named); more > 0 {
		words += fmt.Sprintf(" and %d more", more)
	}
	return "Hair faces flesh, against the usual order of a quire, in the openings " + words + ": a leaf may have been cut out, turned or moved there; look at them once more."
}
