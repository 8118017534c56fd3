package study

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// intercept is the term that every model has and no column holds.
const intercept = "intercept"

// A modelCheck looks whether the columns and labels that the models name are
// in the study's data, before anything is computed.
type modelCheck struct {
	*fileCheck
	features *table.Table
	wear     []string // columns of wear, which are not computed yet
}

// checkModels checks every model against the tables of the books.
func (s *Study) checkModels(ps *table.Problems) {
	features := codex.Features(s.Books)
	if s.Looks != nil {
		if err := addColumns(features, s.Looks.PageColumns(features)); err != nil {
			return // the coding book's names are told
		}
	}
	s.checkModelsOn(features, ps)
}

// checkModelsOn checks every model against the features of pages; where there are
// none yet, their columns alone.
func (s *Study) checkModelsOn(features *table.Table, ps *table.Problems) {
	c := modelCheck{
		fileCheck: &fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps},
		features:  features,
	}
	for _, f := range readings.WearSchema().Fields {
		c.wear = append(c.wear, f.Name)
	}
	ofTraces := c
	if s.Looks != nil {
		if looks, err := s.Looks.Table(features); err == nil {
			ofTraces.features = looks
		}
	}
	of := map[string]modelCheck{}
	for i := range s.Models {
		m := &s.Models[i]
		of[m.Name] = c
		if !m.IsMeasure() {
			of[m.Name] = ofTraces
			if !c.traceOutcome(i, m, s.File.Traces) {
				continue
			}
		}
		check := of[m.Name]
		check.model(i, m)
	}
	for i := range s.Questions {
		c := c
		if own, known := of[s.Questions[i].Model]; known {
			c = own
		}
		for _, term := range slices.Sorted(maps.Keys(s.Questions[i].Contrast)) {
			c.term(term, []any{"question", i, "contrast"})
		}
	}
}

// product parts the columns of a product in the name of a fixed effect.
const product = " × "

// term reports the name of a fixed effect that no model of these data can have:
// one of a column that is none, or of a label that no page has. Whether the
// question's own model has it is seen when that is fitted.
func (c *modelCheck) term(name string, at []any) {
	for _, factor := range strings.Split(name, product) {
		column, label, labelled := strings.Cut(factor, "=")
		if labelled {
			c.labels(column, []string{label}, at)
		} else {
			c.column(column, at)
		}
	}
}

func (c *modelCheck) model(i int, m *Model) {
	at := func(key ...any) []any { return append([]any{"model", i}, key...) }
	if m.IsMeasure() && c.column(m.Outcome, at("outcome")) {
		c.number(m.Outcome, at("outcome"))
	}
	for _, name := range slices.Sorted(maps.Keys(m.Errors)) {
		c.column(name, at("errors"))
		c.column(m.Errors[name], at("errors"))
	}
	c.column(m.Exposure, at("exposure"))
	for _, term := range m.Fixed {
		for _, name := range term {
			c.column(name, at("fixed"))
		}
	}
	for k, r := range m.Random {
		for _, name := range r.By {
			c.column(name, at("random", k, "by"))
		}
		for _, name := range r.Terms {
			c.column(name, at("random", k, "terms"))
		}
	}
	for k, curve := range m.Smooth {
		c.column(curve.Column, at("smooth", k, "column"))
		for _, name := range curve.By {
			c.column(name, at("smooth", k, "by"))
		}
	}
	r := m.Residual
	for _, named := range [][2]string{{"known_sd", r.KnownSD}, {"along", r.Along}, {"within", r.Within}, {"limits", r.Limits}, {"levels", r.Levels}} {
		c.column(named[1], at("residual", named[0]))
	}
	for _, name := range slices.Sorted(maps.Keys(m.Only)) {
		c.labels(name, m.Only[name], at("only"))
	}
	for _, name := range slices.Sorted(maps.Keys(m.Levels)) {
		c.labels(name, m.Levels[name], at("levels", name))
	}
}

// column reports a name that is no column of the data.
func (c *modelCheck) column(name string, at []any) bool {
	if name == "" || name == intercept || slices.Contains(c.wear, name) || c.features.Column(name) != nil {
		return true
	}
	names := append(c.features.Names(), c.wear...)
	expected := "a column of the data: " + strings.Join(names, ", ")
	remedy := "columns of your own go into pages.csv"
	if near := table.Nearest(name, names); near != "" {
		expected, remedy = "a column of the data", fmt.Sprintf("perhaps %s was meant", near)
	}
	c.problem(name, expected, remedy, at...)
	return false
}

// number reports a column that is to be explained and holds no numbers.
func (c *modelCheck) number(name string, at []any) {
	label := name == "limit"
	if column := c.features.Column(name); column != nil {
		label = !column.IsNumber()
	}
	if label {
		c.problem(name, "a column of numbers to explain", `write outcome = "wear", or name another column of numbers`, at...)
	}
}

// labels reports labels that no page has.
func (c *modelCheck) labels(name string, labels []string, at []any) {
	if !c.column(name, at) {
		return
	}
	column := c.features.Column(name)
	if column == nil || column.Len() == 0 {
		return // a column of wear, or of pages not read yet: its labels are not known
	}
	found, _ := column.Levels()
	for _, label := range labels {
		if slices.Contains(found, label) {
			continue
		}
		remedy := "correct its spelling, or leave it out"
		if near := table.Nearest(label, found); near != "" {
			remedy = fmt.Sprintf("perhaps %q was meant", near)
		}
		c.problem(label, fmt.Sprintf("a label that some page has in the column %s: %s", name, some(found)), remedy, at...)
	}
}

// some lists the first few labels of a column.
func some(labels []string) string {
	const few = 12
	if len(labels) > few {
		return strings.Join(labels[:few], ", ") + ", …"
	}
	return strings.Join(labels, ", ")
}
