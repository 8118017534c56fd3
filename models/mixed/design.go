package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/table"
	"thumbed/models/wording"
)

const (
	interceptName = "intercept"
	productSign   = " × "
)

// A design is a model laid over a table: the rows that can be used, the outcome
// and the columns of the model matrices, as the likelihood needs them.
type design struct {
	model Model
	file  string
	rows  []int // the table's rows that are used
	n     int   // len(rows)

	outcome []float64 // n, on the model's scale
	fixed   fixedPart
	carried [][]bool // by factor and fixed effect, see [design.carriedBy]
	factors []factor
	errors  residual
	offsets []offsetPart
	notes   []string
	other   *otherPart          // of outcomes that are no measures; nil for measures
	levels  map[string][]string // the levels of every column of labels used as such, the baseline first
}

// A layer reads columns of a table for one model and gathers what is wrong.
type layer struct {
	model     Model
	table     *table.Table
	ps        table.Problems
	labels    map[string]bool // columns that are labels whatever they look like
	rows      []int
	cache     map[string][]column
	groupings map[string]grouping // by single columns, read so far
	used      map[string][]string // levels of the columns of labels read so far
}

// newDesign lays the model over the table. Its error is a [*table.Fault] with
// everything that is wrong with the model for this table; the design beside it
// is then made as far as it could be.
func newDesign(m Model, t *table.Table) (*design, error) {
	l := &layer{model: m, table: t, labels: map[string]bool{}, cache: map[string][]column{}, groupings: map[string]grouping{}, used: map[string][]string{}}
	for name := range m.Levels {
		l.labels[name] = true
	}
	for _, r := range m.Random {
		for _, name := range r.By {
			l.labels[name] = true
		}
	}
	for _, s := range m.Smooth {
		for _, name := range s.By {
			l.labels[name] = true
		}
	}
	for _, s := range m.Residual.structures() {
		s.needs(func(name, role string) {
			if role == "by" {
				l.labels[name] = true
			}
		})
	}
	d := &design{model: m, file: t.File, levels: l.used}
	l.checkColumns()
	if l.ps.Len() == 0 {
		l.chooseRows(d)
	}
	if l.ps.Len() == 0 {
		l.readRows(d)
		l.checkInference()
	}
	return d, l.ps.Err()
}

// readRows reads the rows chosen into the design. What is wrong with the random
// terms does not keep the fixed effects from being looked at, so that both are
// told at once.
func (l *layer) readRows(d *design) {
	if !l.model.IsMeasure() {
		l.readOtherRows(d)
		return
	}
	l.readOutcome(d)
	d.errors.lay(l, d)
	l.readOffsets(d)
	columns := l.fixedColumns(d)
	sound := l.ps.Len() == 0
	l.readFactors(d)
	d.carried = d.carriedBy(columns)
	l.checkParameters(d)
	if sound && l.orthogonalise(d, columns) {
		l.checkSeparation(d, columns)
		for _, s := range d.errors.present {
			s.rescale(d.fixed.scale)
		}
		for k := range d.offsets {
			d.offsets[k].sd /= d.fixed.scale
		}
	}
}

// problem notes something wrong with the model for this table as a whole.
func (l *layer) problem(column, value, expected, remedy string) {
	l.ps.Add(table.Problem{File: l.table.File, Column: column, Value: value, Expected: expected, Remedy: remedy})
}

// needed lists every column that the model names, with the role it plays.
func (m Model) needed() (names []string, role map[string]string) {
	role = map[string]string{}
	add := func(name, what string) {
		if name == "" || name == interceptName {
			return
		}
		if _, known := role[name]; !known {
			names = append(names, name)
		}
		role[name] = what
	}
	for _, t := range m.Fixed {
		for _, name := range t {
			add(name, "fixed")
		}
	}
	for _, r := range m.Random {
		for _, name := range r.Terms {
			add(name, "random")
		}
		for _, name := range r.By {
			add(name, "by")
		}
	}
	for _, s := range m.Smooth {
		add(s.Column, "number")
		for _, name := range s.By {
			add(name, "by")
		}
	}
	for _, s := range m.Residual.structures() {
		s.needs(add)
	}
	m.neededByKind(add)
	return names, role
}

// checkColumns reports columns that the table does not have, numbers that are
// none, and an outcome that explains itself.
func (l *layer) checkColumns() {
	names, role := l.model.needed()
	if l.model.Outcome == "" {
		l.problem("", "", "a model with an outcome", "name the outcome's column")
	}
	for _, name := range names {
		c := l.table.Column(name)
		if c == nil {
			remedy := "the table's columns are " + strings.Join(l.table.Names(), ", ")
			if near := table.Nearest(name, l.table.Names()); near != "" {
				remedy = "did you mean " + near + "?"
			}
			l.problem("", name, "a column of the table", remedy)
			continue
		}
		if role[name] == "number" && !c.IsNumber() {
			l.notNumber(c)
		}
	}
	if len(role) > 0 && slices.ContainsFunc(l.model.Fixed, func(t Term) bool { return slices.Contains(t, l.model.Outcome) }) {
		l.problem(l.model.Outcome, l.model.Outcome, "fixed effects other than the outcome", "the outcome cannot explain itself: take it out of fixed")
	}
	for k, r := range l.model.Random {
		if len(r.By) == 0 || len(r.Terms) == 0 {
			l.problem("", fmt.Sprintf("random term %d", k+1), "a random term with by and terms", `give both, such as by = "book" and terms = ["intercept"]`)
		}
		if slices.Contains(r.Terms, l.model.Outcome) || slices.Contains(r.By, l.model.Outcome) {
			l.problem(l.model.Outcome, l.model.Outcome, "random terms without the outcome", "the outcome cannot explain itself: take it out of random")
		}
		if len(r.By) == 1 && slices.Contains(r.Terms, interceptName) &&
			slices.ContainsFunc(l.model.Fixed, func(t Term) bool { return len(t) == 1 && t[0] == r.By[0] }) {
			l.problem(r.By[0], r.By[0]+" in fixed and as groups of a random intercept", "each column in one of these roles",
				"where each of its labels has a fixed effect, nothing is left to vary: take it out of one of the two")
		}
	}
	l.checkOffsets()
	if name := l.model.Residual.Limits; name != "" && l.table.Column(name) == nil {
		l.problem("", name, "a column of the table", "limits names the column that says which outcomes are only bounds: correct it or delete it")
	}
	if !slices.Contains([]string{"", ByKenwardRoger, satterthwaite}, l.model.DF) {
		l.problem("", l.model.DF, fmt.Sprintf("df %q or %q", ByKenwardRoger, satterthwaite), "correct the word")
	}
	for name := range l.model.Levels {
		if _, used := role[name]; !used && l.table.Column(name) == nil {
			l.problem("", name, "levels of a column of the table", "correct the name under [levels] or delete it")
		}
	}
	if (l.model.Scale != "" && l.model.Scale != "identity" && l.model.Scale != "log") ||
		(l.model.Estimate != "" && l.model.Estimate != "restricted" && l.model.Estimate != "full") {
		l.problem("", l.model.Scale+" "+l.model.Estimate, `scale "identity" or "log", and estimate "restricted" or "full"`, "correct the word")
	}
}

// notNumber reports the cells of a column that keep it from being numbers, or
// that it has no values at all.
func (l *layer) notNumber(c *table.Column) {
	found := 0
	for i := range l.table.Rows() {
		if c.Missing(i) {
			continue
		}
		if v, err := parseNumber(c.Label(i)); err != nil || math.IsNaN(v) {
			l.ps.Add(table.NumberProblem(l.table.File, l.table.Line(i), c.Name, c.Label(i)))
			found++
		}
	}
	if found == 0 {
		l.problem(c.Name, "only empty cells", "numbers", "every row of "+c.Name+" is missing: was the right table given?")
	}
}

// chooseRows keeps the rows in which every column of the model has a value.
func (l *layer) chooseRows(d *design) {
	names, _ := l.model.needed()
	t := l.table
	columns := make([]*table.Column, len(names))
	for k, name := range names {
		columns[k] = t.Column(name)
	}
	missing := map[string]int{}
	out := 0
	d.rows = make([]int, 0, t.Rows())
	for i := range t.Rows() {
		complete := true
		for k, c := range columns {
			if c.Missing(i) {
				missing[names[k]]++
				complete = false
			}
		}
		if complete {
			d.rows = append(d.rows, i)
		} else {
			out++
		}
	}
	d.n = len(d.rows)
	l.rows = d.rows
	if d.n == 0 {
		l.problem("", fmt.Sprintf("%d rows", t.Rows()), "rows with a value in every column of the model ("+strings.Join(names, ", ")+")",
			"no row is complete"+missingWords(names, missing, func(name string) string { return name }))
		return
	}
	if out > 0 {
		d.notes = append(d.notes, fmt.Sprintf("%d of %s left out because a value is missing%s.", out, wording.Plain(t.Rows(), "row was", "rows were"), missingWords(names, missing, l.model.Words)))
	}
}

// missingWords tells how many values are missing in which columns, which it calls so.
func missingWords(names []string, missing map[string]int, called func(name string) string) string {
	var parts []string
	for _, name := range names {
		if missing[name] > 0 {
			parts = append(parts, fmt.Sprintf("%s in %d", called(name), missing[name]))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

// values are a column's numbers in the rows used.
func (l *layer) values(name string) []float64 {
	all := l.table.Column(name).Numbers
	out := make([]float64, len(l.rows))
	for k, i := range l.rows {
		out[k] = all[i]
	}
	return out
}

// readOutcome takes the outcome onto the model's scale.
func (l *layer) readOutcome(d *design) {
	name := l.model.Outcome
	d.outcome = l.values(name)
	constant := true
	for k, v := range d.outcome {
		if v != d.outcome[0] {
			constant = false
		}
		if !l.model.logarithmic() {
			continue
		}
		if v <= 0 {
			l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(l.rows[k]), Column: name, Value: fmt.Sprint(v),
				Expected: "a value above zero, since scale is \"log\"",
				Remedy:   "use scale = \"identity\", or treat values at the floor as limits"})
		}
		d.outcome[k] = math.Log(v)
	}
	if constant && d.n > 0 {
		l.problem(name, fmt.Sprintf("%g in all %d rows", l.values(name)[0], d.n), "an outcome that varies",
			"there is nothing to explain: is this the right column?")
	}
}

// checkParameters reports a table that has no more rows than the model has
// parameters.
func (l *layer) checkParameters(d *design) {
	variances := 1
	for f := range d.factors {
		for _, v := range d.factors[f].blocks {
			variances += len(v.covariances(f))
		}
	}
	variances += len(d.errors.parameters()) - 1 // σ is counted
	if effects := len(d.fixed.names); l.ps.Len() == 0 && variances > 1 && d.n <= effects+variances {
		l.problem(l.model.Outcome, fmt.Sprintf("%s for %s and %s", wording.Plain(d.n, "row", "rows"), wording.Plain(effects, "fixed effect", "fixed effects"), wording.Plain(variances, "variance or correlation", "variances and correlations")),
			"more rows than the model has parameters", "measure more pages, or take terms out of the model")
	}
}
