package hypotheses

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Rests tell what an answer rests on.
type Rests struct {
	Pages  int         `json:"pages"`            // pages in the model
	Of     string      `json:"of,omitempty"`     // what these are, where they are no pages: "look"
	Bounds int         `json:"bounds,omitempty"` // of them, those censored
	With   []With      `json:"with,omitempty"`   // pages of the levels that the question sets against others
	Groups []GroupsOf  `json:"groups"`           // books, days, sections and quires in which they stand
	Out    []FallenOut `json:"out,omitempty"`    // pages that are not in the model, by the reason
	Added  []string    `json:"added,omitempty"`  // groups that the model does not name and that were added for this question
	// Sources are days, observers or instruments of unknown spread that were added
	// likewise, see [confounders].
	Sources []string    `json:"sources,omitempty"`    // days, observers or instruments of unknown spread that were added to the model for this question
	Decide  []DecidedBy `json:"decided_by,omitempty"` // single pages, quires, sections, books and days without which the verdict would be another
	// Sentence says the pages, Decided which single group the verdict hangs on;
	// empty where none does or none was tried.
	Sentence string `json:"sentence"`          // in words, what the answer rests on
	Decided  string `json:"decided,omitempty"` // in words, on which single group the verdict hangs; missing where on none, or where none was tried

	labels wording.Labels // of the study, where they are known
}

// With counts the pages of one level of a column.
type With struct {
	Column string `json:"column"`        // a column of labels
	Level  string `json:"level"`         // one of them
	Pages  int    `json:"pages"`         // pages with it in the model
	Out    int    `json:"out,omitempty"` // pages with it that were measured and are not in the model
}

// GroupsOf counts the groups of one kind.
type GroupsOf struct {
	By     string `json:"by"`             // book, day, section or quire
	Groups int    `json:"groups"`         // those with a page in the model
	With   int    `json:"with,omitempty"` // those with a page of a level asked about in the model
}

// FallenOut counts pages that are not in the model for one reason.
type FallenOut struct {
	Why    string `json:"why"`            // why these pages are not in the model
	Column string `json:"column"`         // the column that is empty
	Pages  int    `json:"pages"`          // pages, each counted once
	With   int    `json:"with,omitempty"` // of them, those of a level asked about
}

// DecidedBy is a group without which the verdict would be another.
type DecidedBy struct {
	By       string  `json:"by"`                              // page, quire, section, book or day
	Group    string  `json:"group"`                           // its label
	Pages    int     `json:"pages"`                           // its pages in the model
	Estimate float64 `json:"estimate" unit:"of the outcome"`  // the effect without it
	Low      float64 `json:"low" unit:"of the outcome"`       // lower end of the interval without it
	High     float64 `json:"high" unit:"of the outcome"`      // upper end of the interval without it
	Verdict  string  `json:"verdict" words:"yes / no / open"` // without it

	label, book string // its label alone, and the book that it is in
}

// groupings are the columns of pages that are told of, the coarsest first, and the
// columns beside them that make their labels one.
var groupings = []struct {
	by     string
	within string
}{{"book", ""}, {"day", ""}, {"section", "book"}, {"quire", "book"}}

// Groupings are the columns of pages that answers are told of where a table has them.
func Groupings() []string {
	var names []string
	for _, g := range groupings {
		names = append(names, g.by)
	}
	return names
}

// restOn finds what the answer to a question of a model rests on, but for the sentence:
// pages are those that the model was meant to be fitted to, with all their columns.
func restOn(q Question, m mixed.Model, pages *table.Table, carriers mixed.Carriers) *Rests {
	used := make([]bool, pages.Rows())
	for _, row := range carriers.Rows {
		used[row] = true
	}
	levels := q.levels(m, pages)
	r := &Rests{Pages: len(carriers.Rows)}
	if limits := pages.Column(m.Residual.Limits); m.Residual.Limits != "" && limits != nil {
		for _, row := range carriers.Rows {
			if !limits.Missing(row) {
				r.Bounds++
			}
		}
	}
	with := make([]bool, pages.Rows())
	outcome := pages.Column(m.Outcome)
	for _, l := range levels {
		w := With{Column: l[0], Level: l[1]}
		c := pages.Column(l[0])
		for row := range pages.Rows() {
			if c.Label(row) != l[1] {
				continue
			}
			with[row] = true
			switch {
			case used[row]:
				w.Pages++
			case !outcome.Missing(row):
				w.Out++
			}
		}
		r.With = append(r.With, w)
	}
	for _, g := range groupings {
		label := groupLabels(pages, g.by, g.within)
		if label == nil {
			continue
		}
		all, asked := map[string]bool{}, map[string]bool{}
		for _, row := range carriers.Rows {
			if l := label(row); l != "" {
				all[l] = true
				asked[l] = asked[l] || with[row]
			}
		}
		of := GroupsOf{By: g.by, Groups: len(all)}
		for _, is := range asked {
			if is {
				of.With++
			}
		}
		r.Groups = append(r.Groups, of)
	}
	r.Out = fallenOut(m, pages, used, with)
	return r
}

// groupLabels gives each row's group; empty where it is in none, nil where the
// table does not have the columns.
func groupLabels(pages *table.Table, by, within string) func(row int) string {
	c, outer := pages.Column(by), pages.Column(within)
	if c == nil || within != "" && outer == nil {
		return nil
	}
	return func(row int) string {
		label := c.Label(row)
		if label != "" && outer != nil {
			label = outer.Label(row) + " " + label
		}
		return label
	}
}

// levels are the levels of columns of labels that the contrast weighs.
func (q Question) levels(m mixed.Model, pages *table.Table) [][2]string {
	var out [][2]string
	columns, _ := asked(q, m)
	for _, name := range sortedTerms(q.Contrast) {
		for part := range strings.SplitSeq(name, product) {
			for _, column := range columns {
				level, is := strings.CutPrefix(part, column+"=")
				if l := [2]string{column, level}; is && pages.Column(column) != nil && !slices.Contains(out, l) {
					out = append(out, l)
				}
			}
		}
	}
	return out
}

// fallenOut counts the pages that are not in the model, each under the first column
// that it lacks, the outcome before all others.
func fallenOut(m mixed.Model, pages *table.Table, used, with []bool) []FallenOut {
	needed := m.Needed()
	columns := append([]string{m.Outcome}, slices.DeleteFunc(slices.Clone(needed), func(name string) bool { return name == m.Outcome })...)
	out := make([]FallenOut, len(columns))
	for row := range pages.Rows() {
		if used[row] {
			continue
		}
		k := slices.IndexFunc(columns, func(name string) bool { return pages.Column(name).Missing(row) })
		if k < 0 {
			continue
		}
		out[k].Pages++
		if with[row] {
			out[k].With++
		}
	}
	for k, name := range columns {
		out[k].Column, out[k].Why = name, lacking(name, m)
	}
	out = slices.DeleteFunc(out, func(f FallenOut) bool { return f.Pages == 0 })
	if len(out) == 0 {
		return nil
	}
	return out
}

// notMeasured says why a page without wear is in no model.
const notMeasured = "not measured"

// lacking says of pages what an empty column means.
func lacking(column string, m mixed.Model) string {
	switch column {
	case traces.ColumnScore: // of a look
		return "that cannot be told"
	case m.Outcome:
		if outcome.Of(m).Measured() {
			return notMeasured
		}
	case "section", "kind", "set", "office", "office_order", "section_page", "section_place":
		return "outside any such text"
	case "quire":
		return "in no quire that is told"
	case "hair":
		return "of a leaf whose outer side is not told"
	}
	return "without a value for " + wording.Labels(nil).Column(column)
}

// of is what is counted.
func (r *Rests) of() string { return cmp.Or(r.Of, "page") }

func (r *Rests) sentence() string {
	var said strings.Builder
	fmt.Fprintf(&said, "It rests on %s", wording.Plain(r.Pages, r.of(), r.of()+"s"))
	if in := r.standing(func(g GroupsOf) int { return g.Groups }); in != "" {
		said.WriteString(" in " + in)
	}
	var parts []string
	for _, w := range r.With {
		parts = append(parts, fmt.Sprintf("%d %s", w.Pages, r.withLevel(w.Column, w.Level)))
	}
	if in := r.standing(func(g GroupsOf) int { return g.With }); in != "" && len(r.With) > 0 {
		parts[len(parts)-1] += ", in " + in
	}
	if r.Bounds > 0 {
		parts = append(parts, fmt.Sprintf("%d censored", r.Bounds))
	}
	if len(parts) > 0 {
		fmt.Fprintf(&said, " (%s)", strings.Join(parts, "; "))
	}
	said.WriteString("." + r.fallen())
	if len(r.Added) > 0 {
		fmt.Fprintf(&said, " What is asked about hardly varies inside a %s, so what varies between these was added to the model.", strings.Join(r.Added, " or a "))
	}
	if len(r.Sources) > 0 {
		fmt.Fprintf(&said, " What %ss differ by is not known and was added to the model.", strings.Join(r.Sources, "s and "))
	}
	return said.String()
}

// fallen says which pages are not in the model.
func (r *Rests) fallen() string {
	said := ""
	var measured []string
	total := 0
	for _, f := range r.Out {
		if f.Why == notMeasured {
			said = " Not measured: " + r.pages(f) + "."
			continue
		}
		total += f.Pages
		measured = append(measured, r.pages(f)+" "+f.Why)
	}
	kind := "measured page"
	if r.Of != "" {
		kind = r.Of
	}
	if total > 0 {
		said = fmt.Sprintf(" %s left out: %s.", wording.Plain(total, kind, kind+"s"), strings.Join(measured, ", ")) + said
	}
	return said
}

// pages counts those that fell out for one reason.
func (r *Rests) pages(f FallenOut) string {
	if f.With > 0 && len(r.With) > 0 {
		return fmt.Sprintf("%d (%d %s)", f.Pages, f.With, r.asked())
	}
	return fmt.Sprint(f.Pages)
}

// standing lists counts of groups: "4 books, 44 sections and 9 days".
func (r *Rests) standing(of func(GroupsOf) int) string {
	var parts []string
	for _, g := range r.Groups {
		if n := of(g); n > 0 && !(g.By == "book" && g.Groups == 1) {
			parts = append(parts, wording.Plain(n, g.By, g.By+"s"))
		}
	}
	if n := len(parts); n > 1 {
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1]
	}
	return strings.Join(parts, "")
}

// asked names the levels asked about, for counts of pages.
func (r *Rests) asked() string {
	if len(r.With) == 1 {
		return r.withLevel(r.With[0].Column, r.With[0].Level)
	}
	return "of what is asked about"
}

// withLevel says of pages that a column has a level there.
func (r *Rests) withLevel(column, level string) string {
	switch {
	case r.labels[column+"="+level] != "":
		return "of " + r.labels.Level(column, level)
	case column == "picture" && level == "yes":
		return "with a picture"
	case column == "facing" && level == "yes":
		return "facing a picture"
	case level == "yes":
		return "with " + wording.Labels(nil).Column(column)
	case level == "no":
		return "without " + wording.Labels(nil).Column(column)
	}
	return "of " + wording.Labels(nil).Level(column, level)
}

// between is the share of what carries a contrast that lies between groups: 0 where
// every group has as much for it as against it, 1 where it is the same on all pages
// of each. Pages in no group are each one by themselves.
func between(c mixed.Carriers, group func(row int) string) (share float64, groups int) {
	sum, n := map[string]float64{}, map[string]float64{}
	var order []string
	all, alone := 0.0, 0.0
	for k, row := range c.Rows {
		w := c.Weight[k]
		all += w * w
		g := group(row)
		if g == "" {
			alone += w * w
			continue
		}
		if n[g] == 0 {
			order = append(order, g)
		}
		sum[g] += w
		n[g]++
	}
	between := alone
	for _, g := range order {
		between += sum[g] * sum[g] / n[g]
	}
	if !(all > 0) {
		return math.NaN(), len(order)
	}
	return between / all, len(order)
}
