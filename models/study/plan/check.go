package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/outcome"
	"thumbed/models/table"
	"thumbed/models/table/document"
)

// A checker looks for what TOML itself cannot tell.
type checker struct {
	path  string
	where document.Where
	ps    *table.Problems
}

// problem adds one, at the line of the key that the parts of at name.
func (c *checker) problem(value any, expected, remedy string, at ...any) {
	shown := ""
	if value != nil {
		shown = fmt.Sprint(value)
	}
	c.ps.Add(c.where.Problem(c.path, shown, expected, remedy, at...))
}

// check checks all that can be checked before other files are read.
func check(path string, f *File, where document.Where, ps *table.Problems) {
	c := &checker{path, where, ps}
	c.sources(f)
	c.question(f)
	c.assumed(f)
	c.layout(f)
	c.columns(f)
	c.measuring(f)
	c.designs(f)
	if f.Sheet != nil {
		c.sheet(f)
	}
}

// given tells whether the file has a section of that name.
func (c *checker) given(section string) bool { return c.where.Line(section) != 0 }

// sources checks where the numbers come from: a pilot, or a model with assumed
// parameters and a layout.
func (c *checker) sources(f *File) {
	pilot := c.given("pilot")
	for _, key := range []string{"model", "assumed"} {
		switch has := c.given(key); {
		case pilot && has:
			c.problem("["+key+"]", "either [pilot] or [model] with [assumed]", "a pilot's model and spreads are taken as they are: delete one of the two", key)
		case !pilot && !has:
			c.problem(nil, "[pilot], or [model] with [assumed]", `name a study that was measured under [pilot], or write the section [`+key+`]`, key)
		}
	}
	if pilot {
		c.pilot(f.Pilot)
		return
	}
	if f.Layout == nil {
		c.problem(nil, "the section [layout]: what a book is like", "write leaves = 120 and below it the texts as [[section]]", "layout")
	}
	if c.given("model") && f.Model.Outcome != "" && !outcome.Of(f.Model.Model).Read() {
		c.problem(f.Model.Outcome, "wear, which is what a campaign measures", `write outcome = "wear"`, "model", "outcome")
	}
}

func (c *checker) pilot(p Pilot) {
	if p.Study == "" {
		c.problem(nil, "the study that was measured", `write study = "../pilot/study.toml"`, "pilot", "study")
	}
	if ways := []string{averaged, asEstimated, cautious}; !slices.Contains(ways, p.Spreads) {
		c.problem(p.Spreads, `"averaged", "as estimated" or "cautious"`, "averaged draws spreads from what the pilot allows; cautious takes the upper end of it for each", "pilot", "spreads")
	}
}

// question leaves words and contrast to the questions' own room, once the pilot
// and the terms of the model are known.
func (c *checker) question(f *File) {
	q := f.Question
	if !(q.Level > 0 && q.Level < 1) {
		c.problem(q.Level, "an error rate between 0 and 1", "write level = 0.05; divide it by the number of questions of the family to plan for the strictest of them", "question", "level")
	}
	if math.IsInf(q.Effect, 0) || math.IsNaN(q.Effect) {
		c.problem(q.Effect, "a number", "state the effect that the power is for", "question", "effect")
	}
}

func (c *checker) assumed(f *File) {
	if !c.given("assumed") {
		return
	}
	a, m := f.Assumed, f.Model.Model
	if !(a.Page > 0) || math.IsInf(a.Page, 0) {
		c.problem(a.Page, "the standard deviation between single pages, above 0", "write page = 0.08, what pages of one text and quire differ by beyond the measuring", "assumed", "page")
	}
	if !(a.Neighbours >= 0 && a.Neighbours < 1) {
		c.problem(a.Neighbours, "a correlation from 0 to below 1", "write neighbours = 0.3", "assumed", "neighbours")
	}
	if m.Residual.Along == "" && a.Neighbours > 0 {
		c.problem(a.Neighbours, "along under [model.residual], where neighbours are alike", `write along = "position" and within = "book" there, or delete neighbours`, "assumed", "neighbours")
	}
	if len(a.Random) != len(m.Random) {
		c.problem(fmt.Sprintf("%d sections", len(a.Random)), fmt.Sprintf("one [[assumed.random]] for each of the model's random terms (%d), in their order", len(m.Random)), "write sd = { intercept = 0.06 } in each", "assumed", "random")
	}
	for k, r := range a.Random {
		if !(r.Correlation > -1 && r.Correlation < 1) {
			c.problem(r.Correlation, "a correlation between −1 and 1", "write correlation = 0.3", "assumed", "random", k, "correlation")
		}
		if len(r.SD) == 0 {
			c.problem(nil, "the standard deviation of each of its terms", "write sd = { intercept = 0.06 }", "assumed", "random", k, "sd")
		}
		for term, sd := range r.SD {
			if !(sd >= 0) || math.IsInf(sd, 0) {
				c.problem(sd, "a standard deviation, 0 or more", "write how much groups differ in "+term, "assumed", "random", k, "sd")
			}
		}
	}
	if len(a.Bends) != len(m.Smooth) {
		c.problem(fmt.Sprintf("%d numbers", len(a.Bends)), fmt.Sprintf("the bends' standard deviation for each curve of the model (%d)", len(m.Smooth)), "write bends = [0.05]", "assumed", "bends")
	}
}

// ofTexts are the columns that pages have from their text alone.
var ofTexts = []string{codex.ColumnSection, codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice, codex.FeatureOfficeOrder, codex.FeatureSectionPage, codex.FeatureSectionPlace}

func (c *checker) layout(f *File) {
	l := f.Layout
	if l == nil {
		for k := range f.Sections {
			c.problem("[[section]]", "the section [layout] that texts stand in", "write [layout] with leaves = 120", "section", k)
		}
		return
	}
	if l.Leaves < 2 || l.Leaves > 5000 {
		c.problem(l.Leaves, "a number of leaves, from 2 to 5000", "write leaves = 120", "layout", "leaves")
	}
	if l.Quire < 0 || l.Quire > l.Leaves {
		c.problem(l.Quire, "the number of leaves of a quire", "write quire = 8", "layout", "quire")
	}
	if !(l.Pictures >= 0 && l.Pictures <= 1) {
		c.problem(l.Pictures, "a share of the pages from 0 to 1", "write pictures = 0.1", "layout", "pictures")
	}
	if !slices.Contains([]string{"", "hair", "flesh"}, l.Outer) {
		c.problem(l.Outer, "hair or flesh", `write outer = "hair", or leave it out`, "layout", "outer")
	}
	if c.given("model") && len(f.Sections) == 0 {
		needed := f.Model.Needed()
		if i := slices.IndexFunc(needed, func(name string) bool { return slices.Contains(ofTexts, name) }); i >= 0 {
			c.problem(needed[i], "texts in the layout, since the model looks at them", `write each as [[section]] with name = "Lauds", kind = "hours", set, office and pages = 14`, "layout")
		}
	}
	total := 0
	names := map[string]bool{}
	for k, s := range f.Sections {
		total += max(s.Pages, 0)
		if s.Name == "" || names[s.Name] {
			c.problem(s.Name, "a name for each text, once", `write name = "Lauds"`, "section", k, "name")
		}
		names[s.Name] = true
		if s.Pages < 1 || s.Pages > 10_000 {
			c.problem(s.Pages, "a number of pages, from 1 to 10000", "write pages = 14", "section", k, "pages")
		}
		for _, page := range s.Pictures {
			if page < 1 || page > s.Pages {
				c.problem(page, fmt.Sprintf("pages of the text, from 1 to %d", s.Pages), "count from the text's first page", "section", k, "pictures")
			}
		}
	}
	if total > 2*l.Leaves && l.Leaves > 0 {
		c.problem(total, fmt.Sprintf("texts of no more than the book's %d pages in all", 2*l.Leaves), "give the book more leaves, or the texts fewer pages", "section")
	}
}

func (c *checker) columns(f *File) {
	names := map[string]bool{}
	for k, column := range f.Columns {
		if column.Name == "" || names[column.Name] {
			c.problem(column.Name, "a name for each column, once", `write name = "owner"`, "column", k, "name")
		}
		names[column.Name] = true
		if column.Of != "book" && column.Of != "page" {
			c.problem(column.Of, "book or page", `write of = "book" where all pages of a book have the same`, "column", k, "of")
		}
		if column.Of == "page" && f.Layout == nil {
			c.problem(column.Of, "book, where the books are a pilot's", "columns of pages go into the pilot's pages.csv", "column", k, "of")
		}
		if len(column.Labels) < 2 {
			c.problem(strings.Join(column.Labels, ", "), "two labels or more", `write labels = ["lay", "abbey"], the baseline first`, "column", k, "labels")
		}
		if column.Shares == nil {
			for range column.Labels {
				f.Columns[k].Shares = append(f.Columns[k].Shares, 1/float64(len(column.Labels)))
			}
			continue
		}
		sum := 0.0
		for _, share := range column.Shares {
			sum += share
		}
		if len(column.Shares) != len(column.Labels) || slices.ContainsFunc(column.Shares, func(v float64) bool { return !(v > 0) }) || math.Abs(sum-1) > 1e-6 {
			c.problem(fmt.Sprint(column.Shares), "a share above 0 for each label, 1 in all", "write shares = [0.5, 0.5], or leave it out for equal ones", "column", k, "shares")
		}
	}
}

func (c *checker) measuring(f *File) {
	m := f.Measuring
	for _, n := range []struct {
		key   string
		value *float64
	}{{"on_page", m.OnPage}, {"on_zero", m.OnZero}, {"ground_spread", m.GroundSpread}, {"between_observers", m.Between},
		{"between_days", m.BetweenDays}, {"drift", m.Drift}, {"scale", m.Scale}, {"resolution", m.Resolution}, {"seconds_a_placing", m.Placing}, {"seconds_a_turn", m.Turn}, {"hours_a_day", m.Day}} {
		if n.value != nil && (!(*n.value >= 0) || math.IsInf(*n.value, 0)) {
			c.problem(*n.value, "a number, 0 or more", "correct the value", "measuring", n.key)
		}
	}
	for _, n := range []struct {
		key   string
		value *int
		least int
	}{{"zeros", m.Zeros, 1}, {"observers", m.Observers, 1}, {"tiles_a_day", m.Tiles, 0}} {
		if n.value != nil && *n.value < n.least {
			c.problem(*n.value, fmt.Sprintf("a whole number, %d or more", n.least), "correct the value", "measuring", n.key)
		}
	}
	if c.given("pilot") {
		return
	}
	if m.OnPage == nil {
		c.problem(nil, "the standard deviation of one placing", "write on_page = 0.011, from ten placings on one spot", "measuring", "on_page")
	}
	if m.Instrument != "" {
		c.problem(m.Instrument, "no instrument's name where there is no pilot to know it", "write its floor, ceiling and resolution instead", "measuring", "instrument")
	}
}

func (c *checker) designs(f *File) {
	d := f.Designs
	if !c.given("designs") {
		c.problem(nil, "the section [designs]: which numbers to try", "write books = [2, 4, 8], pages = [60, 120] and placings = [1, 3] below it", "designs")
		return
	}
	for _, n := range []struct {
		key    string
		values []int
		most   int
	}{{"books", d.Books, 2000}, {"pages", d.Pages, 10_000}, {"placings", d.Placings, 1000}} {
		if len(n.values) == 0 {
			c.problem(nil, "one number or more to try", fmt.Sprintf("write %s = [2, 4]", n.key), "designs", n.key)
		}
		seen := map[int]bool{}
		for _, v := range n.values {
			if v < 1 || v > n.most || seen[v] {
				c.problem(v, fmt.Sprintf("numbers from 1 to %d, each once", n.most), "correct the list", "designs", n.key)
			}
			seen[v] = true
		}
	}
	if d.Replicates < 20 || d.Replicates > 1_000_000 {
		c.problem(d.Replicates, "campaigns to draw of each design, from 20 to 1000000", "write replicates = 400", "designs", "replicates")
	}
	for _, column := range sortedKeys(d.Keep) {
		if len(d.Keep[column]) == 0 {
			c.problem("", "one label or more", "name the labels to measure first", "designs", "keep", column)
		}
	}
	if a := f.Aim; !(a.Power >= 0 && a.Power < 1) {
		c.problem(a.Power, "a power between 0 and 1", "write power = 0.8", "aim", "power")
	}
	if a := f.Aim; !(a.Width >= 0) || math.IsInf(a.Width, 0) {
		c.problem(a.Width, "a width of the interval, above 0", "write width = 0.04", "aim", "width")
	}
}

// sheet checks what the measuring sheet is made for.
func (c *checker) sheet(f *File) {
	s := f.Sheet
	problem := func(value any, expected, remedy, key string) { c.problem(value, expected, remedy, "sheet", key) }
	if s.Pages < 1 || s.Pages > 100_000 {
		problem(s.Pages, "a whole number, 1 or more", "write pages = 60, of each book", "pages")
	}
	s.Check(problem)
	if s.Visits < 1 || s.Visits > s.Placings || s.Visits > s.Sweeps {
		problem(s.Visits, fmt.Sprintf("visits to a page of no more than its placings (%d) and a day's sweeps (%d)", s.Placings, s.Sweeps), "give it fewer visits, or more sweeps", "visits")
	}
}
