package traces

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Trace is one entry of the coding book.
type Trace struct {
	Name   string   `toml:"name" json:"name"`                             // what traces.csv calls it
	About  string   `toml:"about" json:"about"`                           // what it is, in words
	Kind   string   `toml:"kind" json:"kind"`                             // "grades", "yes or no" or "counts"
	Grades []Grade  `toml:"grades,omitempty" json:"grades,omitempty"`     // in rising order; the first is that nothing is there
	One    string   `toml:"one,omitempty" json:"one,omitempty"`           // what counts as one; counts only
	Per    string   `toml:"exposure,omitempty" json:"exposure,omitempty"` // what a count's exposure is, with its unit; empty where there is none
	On     string   `toml:"on,omitempty" json:"on,omitempty"`             // "pages" (also when empty) or "pictures": which pages are looked at
	Parts  []string `toml:"parts,omitempty" json:"parts,omitempty"`       // of the page that are looked at; empty: the page as a whole
}

// A Grade is one grade with what must be seen for it.
type Grade struct {
	Name  string `toml:"name" json:"name"`   // what it is called
	About string `toml:"about" json:"about"` // what must be seen for it
}

// Pages on which a trace is looked for.
const (
	OnPages    = "pages"
	OnPictures = "pictures"
)

// Levels are the trace's values in rising order, the first being that nothing is
// there; nil for counts.
func (t *Trace) Levels() []string {
	switch t.Kind {
	case mixed.YesNo:
		return []string{"no", "yes"}
	case mixed.Grades:
		var out []string
		for _, g := range t.Grades {
			out = append(out, g.Name)
		}
		return out
	}
	return nil
}

// Column is the column of traces.csv that a trace of the kind is written in.
func (t *Trace) Column() string {
	switch t.Kind {
	case mixed.Grades:
		return "grade"
	case mixed.Counts:
		return "count"
	}
	return "present"
}

// lookedForOn tells whether the trace is looked for on a page.
func (t *Trace) lookedForOn(p *codex.Page) bool { return t.On != OnPictures || p.Picture }

// PartsOfPage are the parts of a page that are looked at; where that is the page as a
// whole, one without a name.
func (t *Trace) PartsOfPage() []string {
	if len(t.Parts) == 0 {
		return []string{""}
	}
	return t.Parts
}

// An Item is a trace to be looked for on a page, or on a part of it.
type Item struct {
	Trace *Trace
	Part  string // empty where the page is looked at as a whole
}

// Items are what a coding book asks to be looked at on a page, in its order.
func Items(coding []Trace, p *codex.Page) []Item {
	var out []Item
	for i := range coding {
		if t := &coding[i]; t.lookedForOn(p) {
			for _, part := range t.PartsOfPage() {
				out = append(out, Item{t, part})
			}
		}
	}
	return out
}

// nameForm is what a trace may be called, since tables have a column of that name.
var nameForm = regexp.MustCompile(`^[\pL][\pL\pN _-]*$`)

// CheckBook gives what is wrong with a coding book, each with the number of the entry
// from 0 and its key in Column. taken are names that columns of pages bear already.
func CheckBook(book []Trace, taken []string) (at []int, ps []table.Problem) {
	seen := map[string]bool{}
	for i, t := range book {
		add := func(key, value, expected, remedy string) {
			at, ps = append(at, i), append(ps, table.Problem{Column: key, Value: value, Expected: expected, Remedy: remedy})
		}
		switch {
		case !nameForm.MatchString(t.Name):
			add("name", t.Name, "a name of letters, digits, spaces and hyphens", `write name = "rubbing"`)
		case seen[t.Name]:
			add("name", t.Name, "each trace once", "give one of the two another name")
		case slices.Contains(taken, t.Name) || slices.Contains(ownColumns, t.Name):
			add("name", t.Name, "a name that no column of pages or looks bears", "write "+t.Name+" trace, or any other name")
		}
		seen[t.Name] = true
		if strings.TrimSpace(t.About) == "" {
			add("about", "", "what the trace is, in words that another observer can code by", `write about = "paint rubbed or kissed away"`)
		}
		if t.On != "" && t.On != OnPages && t.On != OnPictures {
			add("on", t.On, "pages or pictures", `write on = "pictures" where only pages with a picture are looked at`)
		}
		t.checkNames("parts", t.Parts, add)
		t.checkKind(add)
	}
	return at, ps
}

func (t *Trace) checkKind(add func(key, value, expected, remedy string)) {
	if !slices.Contains([]string{mixed.Grades, mixed.YesNo, mixed.Counts}, t.Kind) {
		add("kind", t.Kind, "grades, yes or no, or counts", `write kind = "grades"`)
		return
	}
	if t.Kind != mixed.Grades && len(t.Grades) > 0 {
		add("grades", t.Kind, "grades where the kind is grades alone", `delete grades, or write kind = "grades"`)
	}
	if t.Kind != mixed.Counts && t.One+t.Per != "" {
		add("one", t.One+t.Per, "what counts as one, and an exposure, where the kind is counts alone", `delete one and exposure, or write kind = "counts"`)
	}
	switch t.Kind {
	case mixed.Grades:
		if len(t.Grades) < 2 {
			add("grades", fmt.Sprint(len(t.Grades)), "two grades or more in rising order, the first for nothing there",
				`write grades = [{ name = "intact", about = "…" }, { name = "dulled", about = "…" }]`)
		}
		var names []string
		for _, g := range t.Grades {
			names = append(names, g.Name)
			if strings.TrimSpace(g.About) == "" {
				add("grades", g.Name, "a description of each grade by which it is told from its neighbours", `write { name = "`+g.Name+`", about = "…" }`)
			}
		}
		t.checkNames("grades", names, add)
	case mixed.Counts:
		if strings.TrimSpace(t.One) == "" {
			add("one", "", "what counts as one", `write one = "a drop or run of wax, however large"`)
		}
	}
}

func (t *Trace) checkNames(key string, names []string, add func(key, value, expected, remedy string)) {
	for k, name := range names {
		switch {
		case strings.TrimSpace(name) == "":
			add(key, "", "a name for each", "write its name, or delete it")
		case slices.Contains(names[:k], name):
			add(key, name, "each name once", "delete the repetition")
		}
	}
}
