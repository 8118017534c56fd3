package report

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/wording"
)

// folio writes a page as a reference: "f. 12r".
func folio(b *codex.Book, page int) string {
	return "f." + wording.NoBreak + pageLabel(b, page)
}

func pageLabel(b *codex.Book, page int) string {
	return b.Pages[page].Label.String()
}

// setName is a set of hours as the text calls it: "Hours of the Virgin".
func setName(set string) string {
	if set == "" {
		return "Hours"
	}
	return "Hours " + set
}

// sectionName is a section's full name. An office says of which hours it is,
// unless its own name does.
func sectionName(s codex.Section) string {
	if s.Office == codex.NoOffice || s.Set == "" || strings.Contains(s.Name, s.Set) {
		return s.Name
	}
	return s.Name + " (" + setName(s.Set) + ")"
}

// shortName is a section's name on a figure, where the set of hours is drawn
// beside it.
func shortName(s codex.Section) string {
	name := s.Name
	if s.Office != codex.NoOffice {
		name = s.Office.String()
	}
	return wording.Clipped(name, 24)
}

// officeAbbreviation is an office's name where there is little room.
func officeAbbreviation(office codex.Office) string {
	name := office.String()
	if len(name) <= 4 {
		return name
	}
	return name[:3]
}
