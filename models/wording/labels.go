package wording

import (
	"strings"
)

// Labels give columns and their levels words of their own in sentences, by
// "column" and by "column=level": the section [labels] of a study or model file.
// What they do not name gets the usual words.
type Labels map[string]string

// product joins the columns of a product term.
const product = " × "

// usual are the words of the columns that every study has.
var usual = Labels{
	"intercept":     "the baseline page",
	"picture":       "pictures",
	"picture=yes":   "a picture on the page",
	"picture=no":    "a page without a picture",
	"facing":        "pictures on the facing page",
	"facing=yes":    "a picture on the facing page",
	"facing=no":     "no picture on the facing page",
	"incipit":       "opening pages of texts",
	"incipit=yes":   "the opening page of a text",
	"incipit=no":    "a later page of a text",
	"blank=yes":     "a blank page",
	"blank=no":      "a page with writing",
	"hair":          "sides of the skin",
	"hair=hair":     "the hair side",
	"hair=flesh":    "the flesh side",
	"side=recto":    "a recto",
	"side=verso":    "a verso",
	"office_order":  "each office later in the day",
	"edge":          "each leaf further from the ends of the book",
	"place":         "the way from the front to the back of the book",
	"section_place": "the way from the beginning to the end of a text",
	"section_page":  "each page further into a text",
	"quire_place":   "the way from the beginning to the end of a quire",
	"quire_leaves":  "each leaf more in a quire",
	"leaf_position": "each leaf further into the book",
	"position":      "each page further into the book",
	"placings":      "each placing more",
	"kind":          "kinds of text",
	"conjugate":     "sheets",
}

// Column is a column's name in words.
func (l Labels) Column(column string) string {
	for _, labels := range []Labels{l, usual} {
		if said := labels[column]; said != "" {
			return said
		}
	}
	return strings.ReplaceAll(column, "_", " ")
}

// Level is a level of a column in words.
func (l Labels) Level(column, level string) string {
	for _, labels := range []Labels{l, usual} {
		if said := labels[column+"="+level]; said != "" {
			return said
		}
	}
	level = strings.ReplaceAll(level, "_", " ")
	switch plain := strings.ReplaceAll(column, "_", " "); {
	case level == "yes":
		return plain
	case level == "no":
		return "no " + plain
	case column == "kind":
		return "the " + level
	default:
		return level + " (" + plain + ")"
	}
}

// grouped are the words of the columns that name groups, several of them.
var grouped = Labels{"book": "books", "section": "texts", "quire": "quires", "opening": "openings", "leaf": "leaves", "conjugate": "sheets",
	"day": "days", "observer": "observers", "instrument": "instruments", "page": "pages"}

// Groups names the groups of columns, the outermost first: "quires within books".
func (l Labels) Groups(columns []string) string {
	var out string
	for _, column := range columns {
		name := grouped[column]
		if name == "" || l[column] != "" {
			name = l.Column(column)
		}
		if out != "" {
			name += " within " + out
		}
		out = name
	}
	return out
}

// Term is a term of a model in words: a column, "column=level", or a product of
// such, of one threshold of grades alone where "at below|above" ends it. Where levels
// names the baseline of a column with more than two levels, the term says against what it
// stands.
func (l Labels) Term(term string, levels map[string][]string) string {
	if at := strings.LastIndex(term, " at "); at > 0 { // one threshold of grades alone
		if below, above, ok := strings.Cut(term[at+len(" at "):], "|"); ok {
			return l.Term(term[:at], levels) + ", between " + below + " and " + above
		}
	}
	factors := strings.Split(term, product)
	for i, factor := range factors {
		column, level, leveled := strings.Cut(factor, "=")
		if !leveled {
			factors[i] = l.Column(column)
			continue
		}
		factors[i] = l.Level(column, level)
		if known := levels[column]; len(known) > 2 {
			factors[i] += " against " + l.Level(column, known[0])
		}
	}
	return strings.Join(factors, ", together with ")
}
