package tei

import (
	"regexp"
	"strings"

	"thumbed/models/codex/catalogue"
)

// Words for pictures in the type of a decoNote, or in its text where it has no
// type, in five languages (common practice, no source). Historiated initials
// are pictures.
var (
	rePicture = regexp.MustCompile(`(?i)miniat|pictur|illustr|histori|full.?page|ganzseit|pleine page|portrait|drawing|zeichnung|dessin|disegno|\bbild|peinture|figur|scene|szene|vignette|painting`)
	reOther   = regexp.MustCompile(`(?i)border|bordure|rand|decorat|initial|line.?fill|rubric|capital|frame|margin|penwork|fleuron|flourish`)
)

// pictures reads the notes on decoration, wherever in the description they
// stand.
func (r *reader) pictures(desc *node) []*catalogue.Picture {
	var notes []*node
	var gather func(*node)
	gather = func(n *node) {
		n.each(func(note *node) {
			if note.find("decoNote") == nil {
				notes = append(notes, note)
				return
			}
			gather(note)
		}, "decoNote")
	}
	gather(desc)
	var found []*catalogue.Picture
	for _, note := range notes {
		found = append(found, r.note(note)...)
	}
	return found
}

// note reads one note: its places, each with the words that follow it where
// there are any, or all of them with the words of the note.
func (r *reader) note(note *node) []*catalogue.Picture {
	kind := strings.TrimSpace(note.attr("type") + " " + note.attr("subtype"))
	whole := subject(note.words("locus", "locusGrp"))
	decoration := decorationOf(kind, whole)
	make := func(line int, words string) *catalogue.Picture {
		if words = subject(words); words == "" {
			words = whole
		}
		if decoration != "" {
			return &catalogue.Picture{Line: line, Decoration: decoration}
		}
		return &catalogue.Picture{Line: line, Subject: catalogue.Short(words, 200)}
	}
	var pictures []*catalogue.Picture
	for _, part := range parted(note) {
		picture := make(part.locus.line, part.words)
		r.await(part.locus.line, "the decoration “"+catalogue.Short(picture.Subject+picture.Decoration, 60)+"”", []*node{part.locus}, &picture.Loci)
		pictures = append(pictures, picture)
	}
	if pictures != nil {
		return pictures
	}
	for _, sentence := range strings.FieldsFunc(note.words(), func(c rune) bool { return c == ';' }) {
		l, words, ok := catalogue.LeadingLocus(sentence)
		if !ok {
			l, words, ok = trailingLocus(sentence)
		}
		if !ok {
			continue
		}
		picture := make(note.line, words)
		r.hold(pending{line: note.line, what: "the decoration “" + catalogue.Short(picture.Subject+picture.Decoration, 60) + "”", locus: l, into: &picture.Loci})
		pictures = append(pictures, picture)
	}
	if pictures == nil && whole != "" {
		pictures = append(pictures, make(note.line, whole)) // without a place: it is left
	}
	return pictures
}

// reOn parts words from the places behind them, which a word such as on or a
// mark must lead up to: what is said to be like fol. 12r does not stand there.
var reOn = regexp.MustCompile(`(?i)^([^.;]*?)(?:\b(?:on|auf|sur|at|op)\b|[:(,])\s*((?:ff?|fols?|foll|bl)\b.*)$`)

// trailingLocus reads the places at the end of a text, and the words before
// them; false where anything follows them.
func trailingLocus(text string) (l catalogue.Locus, words string, ok bool) {
	match := reOn.FindStringSubmatch(strings.TrimSpace(text))
	if match == nil {
		return l, "", false
	}
	l, rest, ok := catalogue.LeadingLocus(match[2])
	return l, strings.TrimSpace(match[1]), ok && strings.Trim(rest, " .,)") == ""
}

// reTrailing are the marks and words that parted the places which were taken
// out of a text.
var reTrailing = regexp.MustCompile(`(?:^[ .,:;()–-]+|(?:[ .,:;&()–-]|\band\b|\bund\b|\bet\b)+$)`)

// subject is a text without what led up to places in it.
func subject(words string) string { return reTrailing.ReplaceAllString(words, "") }

// decorationOf gives the kind of decoration that is no picture; empty for a
// picture.
func decorationOf(kind, words string) string {
	switch {
	case rePicture.MatchString(kind), kind == "" && rePicture.MatchString(words):
		return ""
	case kind != "":
		return kind
	}
	if match := reOther.FindString(words); match != "" {
		return strings.ToLower(match)
	}
	return "decoration"
}

// reLeading are words that lead up to the next place.
var reLeading = regexp.MustCompile(`(?i)(?:^|[ ,;.(])(?:and|on|folios|folio|fols|fol|foll|ff|f|bll|bl|cc|c)\.?$`)

// A part is a locus in a note and the words from it to the next.
type part struct {
	locus *node
	words string
}

// parted gives the loci of a note with the words after each. Words before the
// first are those of all that follow it directly.
func parted(note *node) []part {
	var parts []part
	var walk func(*node)
	walk = func(n *node) {
		if n.name == "locus" {
			parts = append(parts, part{locus: n})
			return
		}
		if last := len(parts) - 1; last >= 0 {
			parts[last].words += n.text
		}
		for _, child := range n.nodes {
			walk(child)
		}
		if last := len(parts) - 1; last >= 0 && n.is(blocks...) {
			parts[last].words += " "
		}
	}
	walk(note)
	for i := range parts {
		words := strings.Join(strings.Fields(parts[i].words), " ")
		parts[i].words = reLeading.ReplaceAllString(words, "")
	}
	// Places in a row, 13r, 25v and 31r, share the words of the last of them.
	for i := len(parts) - 2; i >= 0; i-- {
		if strings.Trim(parts[i].words, " .,;&") == "" || parts[i].words == "and" {
			parts[i].words = parts[i+1].words
		}
	}
	return parts
}
