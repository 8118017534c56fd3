package catalogue

import (
	"regexp"
	"strings"

	"thumbed/models/codex"
)

// A context is what a text has from the text that it is part of.
type context struct {
	kind, set, language string
}

// describe works out what kind of text it is from its title, and from the text
// that it is part of where that does not tell. First words in the place of a title
// name no hours: those of an antiphon may be of anything.
func (s *sectioner) describe(item *Item, around context) *section {
	made := &section{line: item.Line, name: Short(item.Title, 200), incipit: Short(item.Incipit, 300), language: item.Language}
	title := item.Title
	if item.ByFirstWords {
		title = ""
	}
	office := officeOf(title)
	made.kind = s.kind(item, title, office, around)
	if made.kind == kindHours {
		made.set = setOf(title)
		if around.kind == kindHours && (made.set == "" || kindOf(title) != kindHours) {
			made.set = around.set
		}
		if made.set != "" {
			made.office = office
		}
		if made.office != codex.NoOffice && setOf(made.name) == "" {
			made.name += " " + made.set // Matins alone may be of any hours
		}
	}
	if made.name == "" {
		made.name = Short(item.Incipit, 60)
	}
	if made.name == "" {
		made.name = "untitled " + made.kind
	}
	for _, inherited := range []string{around.language, s.language} {
		if made.language == "" {
			made.language = inherited
		}
	}
	return made
}

// kind is what the title tells, or the first words in its place, or the text that
// it is part of. The day's offices are of the hours, or of the Office of the Dead,
// that they are part of.
func (s *sectioner) kind(item *Item, title string, office codex.Office, around context) string {
	own := kindOf(title)
	if own == "" && item.ByFirstWords {
		if own = kindOf(item.Title); own == kindHours {
			own = ""
		}
	}
	switch {
	case office != codex.NoOffice && own == "" && (around.kind == kindHours || around.kind == kindDead):
		return around.kind
	case own != "":
		return own
	case office != codex.NoOffice && setOf(title) != "":
		return kindHours
	}
	if class := kindOf(item.Class); class != "" {
		return class
	}
	if around.kind != "" {
		return around.kind
	}
	return kindUntold
}

// reHoursOf finds whose hours a title names, in English, Latin, French, German,
// Italian, Spanish and Dutch.
var reHoursOf = regexp.MustCompile(`(?i)\b(?:hours|offices?|heures|horas|ore|horae|hore|officium|getijden|tagzeiten|stunden|ufficio|oficio)\s+(?:of|for|de|du|des|della|del|di|van|von|der)\s+([^,;:.(\[]+)`)

// reWorked parts what is worked into hours from whose hours they are.
var reWorked = regexp.MustCompile(`(?i)\b(?:with|mit|avec|con|met|cum|including|intermixed|use of|preceded|followed|interspersed)\b`)

// setOf gives the set of hours that a title names; empty where it names none. Of
// several the one that comes first counts, and what is worked into it does not.
func setOf(title string) string {
	whole := title
	if at := reWorked.FindStringIndex(title); at != nil && at[0] > 0 {
		title = title[:at[0]]
	}
	for _, words := range []string{title, whole} {
		folded, best, at := fold(words), "", -1
		for _, set := range sets {
			if found := set.words.FindStringIndex(folded); found != nil && (at < 0 || found[0] < at) {
				best, at = set.name, found[0]
			}
		}
		if best != "" {
			return best
		}
	}
	if match := reHoursOf.FindStringSubmatch(title); match != nil && !reWholeBook.MatchString(fold(title)) {
		if name := strings.TrimSpace(match[1]); name != "" && len(name) <= 60 {
			return "of " + name
		}
	}
	return ""
}
