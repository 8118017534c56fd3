package profile

import (
	"fmt"
	"math"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// texts compare the wear of a book's sections by a mixed model of its pages: a mean
// for each section, quires about them, neighbouring pages alike, pages scattered,
// and the errors of measuring, shared ones too.
type texts struct {
	fit  *mixed.Fit // nil where the model could not be fitted
	base string     // the section that the others are told from
}

// Columns of the table that texts are compared on.
const (
	columnText  = "text"
	columnQuire = "quire"
	columnAt    = "position"
)

// leastQuires is how many quires a scatter between quires can be told from.
const leastQuires = 3

// compareTexts fits the model to the pages of sections; wear is the study's.
func compareTexts(b *codex.Book, book int, wear []readings.Wear, shared []readings.Source) *texts {
	section := map[int]int{}
	for i := len(b.Sections) - 1; i >= 0; i-- { // a page on which two sections meet counts in the first
		for _, page := range b.Sections[i].Pages {
			section[page] = i
		}
	}
	var value, se, at []float64
	var limit, text, quire []string
	whole := &readings.Result{Shared: shared}
	offset := map[string][]string{}
	for i := range wear {
		w := &wear[i]
		s, in := section[w.Page]
		if w.Book != book || !in {
			continue
		}
		value, se, at = append(value, w.Density), append(se, math.Max(w.SE, math.Sqrt(leastVariance))), append(at, float64(b.Pages[w.Page].Position))
		limit, text = append(limit, string(w.Limit)), append(text, textName(s))
		quire = append(quire, quireName(b, w.Page))
		for _, source := range shared {
			offset[source.By] = append(offset[source.By], whole.Loads(w, source.By))
		}
	}
	columns := []*table.Column{
		table.Numbers("wear", value), table.Numbers("wear_se", se), table.Numbers(columnAt, at),
		table.Labels("limit", limit), table.Labels(columnText, text), table.Labels(columnQuire, quire),
	}
	model := mixed.Model{
		Outcome: "wear", Fixed: []mixed.Term{{columnText}},
		Residual: mixed.Residual{KnownSD: "wear_se", Along: columnAt, Limits: "limit"},
	}
	for _, source := range shared {
		columns = append(columns, table.Labels(source.Column(), offset[source.By]))
	}
	model.Residual.Offsets = Offsets(shared)
	rows, err := table.New(columns...)
	if err != nil || rows.Rows() == 0 {
		return &texts{}
	}
	names, _ := rows.Column(columnText).Levels()
	if len(names) < 2 {
		return &texts{}
	}
	model.Levels = map[string][]string{columnText: names}
	if quires, _ := rows.Column(columnQuire).Levels(); len(quires) >= leastQuires && len(quires) < rows.Rows()/2 {
		model.Random = []mixed.Random{{By: []string{columnQuire}, Terms: []string{"intercept"}}}
	}
	t := &texts{base: names[0]}
	if t.fit, err = model.Fit(rows); err != nil || !t.fit.Converged {
		model.Residual.Along = "" // few pages may not tell how alike neighbours are
		if t.fit, err = model.Fit(rows); err != nil || !t.fit.Converged {
			return &texts{}
		}
	}
	return t
}

// Offsets are the errors that pages share as a model states them: those of known
// spread, the degrees of freedom 0 where that is exact.
func Offsets(shared []readings.Source) []mixed.Offset {
	var out []mixed.Offset
	for _, source := range shared {
		if source.Known && source.SD > 0 {
			o := mixed.Offset{By: source.Column(), SD: source.SD}
			if !math.IsInf(source.DF, 1) {
				o.DF = source.DF
			}
			out = append(out, o)
		}
	}
	return out
}

// quireName names the quire of a page; all pages of no known quire are of one.
func quireName(b *codex.Book, page int) string {
	if leaf := b.Pages[page].Leaf; leaf >= 0 && leaf < len(b.Leaves) {
		return fmt.Sprintf("quire %d", b.Leaves[leaf].Quire+1)
	}
	return "none"
}

func textName(section int) string { return fmt.Sprintf("text %d", section+1) }

// A gap is by how much the first section is worn more than another.
type gap struct{ estimate, se, df float64 }

// below gives the gaps of sections to the first of them, as far as the model tells.
func (t *texts) below(order []Area) map[int]gap {
	out := map[int]gap{}
	if t.fit == nil || len(order) == 0 {
		return out
	}
	for _, a := range order[1:] {
		weights := map[string]float64{}
		for s, w := range map[int]float64{order[0].Section: 1, a.Section: -1} {
			if name := textName(s); name != t.base {
				weights[columnText+"="+name] = w
			}
		}
		if c, err := t.fit.Contrast("difference", weights); err == nil {
			out[a.Section] = gap{c.Estimate, c.SE, c.DF}
		}
	}
	return out
}
