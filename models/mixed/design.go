package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/table"
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
	columns []column // of the fixed effects, before [fixedPart]
	factors []factor
	errors  residual
	offsets []offsetPart
	notes   []string
	other   *otherPart          // of outcomes that are no measures; nil for measures
	levels  map[string][]string // the levels of every column of labels used as such, the baseline first
}

// A factor is one way of naming groups, with everything that varies between
// them: all random terms that share their by columns.
type factor struct {
	by     []string
	groups []string  // labels of the groups
	code   []int32   // n: the group of each row
	k      int       // columns that vary between groups
	z      []column  // k columns, each divided by its unit
	units  []float64 // the root mean square of each column before
	blocks []varying // its random terms, or its one smooth

	// where the factor is a smooth's bends
	spline *spline
	smooth int       // the model's smooth
	x      []float64 // n: the smooth's column
}

// varying is one random term inside a factor: its columns and whether they may
// be correlated.
type varying struct {
	random      int // the model's random term; −1 for a smooth's bends
	first, size int
	correlated  bool
	// shared tells that one variance serves all columns, as for the
	// coefficients of a smooth.
	shared bool
}

// A column is one column of a model matrix. Values nil stands for ones.
type column struct {
	name   string
	values []float64
}

// unit is the length that a factor's column has been scaled by, see
// [layer.scaleColumns].
func (f *factor) unit(k int) float64 { return f.units[k] }

func (c column) at(i int) float64 {
	if c.values == nil {
		return 1
	}
	return c.values[i]
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
	d.columns = columns
	sound := l.ps.Len() == 0
	l.readFactors(d)
	l.checkParameters(d)
	if sound && l.orthogonalise(d, columns) {
		l.checkSeparation(d, columns)
		d.errors.scaleKnown(d.fixed.scale)
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
			"no row is complete"+missingWords(names, missing))
		return
	}
	if out > 0 {
		d.notes = append(d.notes, fmt.Sprintf("%d of %s left out because a value is missing%s.", out, count(t.Rows(), "row was", "rows were"), missingWords(names, missing)))
	}
}

// missingWords tells how many values are missing in which columns.
func missingWords(names []string, missing map[string]int) string {
	var parts []string
	for _, name := range names {
		if missing[name] > 0 {
			parts = append(parts, fmt.Sprintf("%s in %d", strings.ReplaceAll(name, "_", " "), missing[name]))
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

// mostLevels is how many levels a column of labels may have as a fixed effect
// or slope: each makes a column of the model matrix.
const mostLevels = 1000

// features gives the columns that stand for one table column in a model matrix:
// itself where it holds numbers, one indicator for each level but the baseline
// where it holds labels.
func (l *layer) features(name string) []column {
	if known, ok := l.cache[name]; ok {
		return known
	}
	var out []column
	c := l.table.Column(name)
	switch {
	case name == interceptName:
		out = []column{{name: interceptName}}
	case c.IsNumber() && !l.labels[name]:
		out = []column{{name: name, values: l.values(name)}}
	default:
		levels, codes := l.levelCodes(name)
		if len(levels) > mostLevels {
			l.problem(name, fmt.Sprintf("%d different labels, such as %q", len(levels), levels[1]), fmt.Sprintf("at most %d levels of a fixed effect or slope", mostLevels),
				"let them be the groups of a random term instead, or was a column of numbers meant whose cells are not all numbers?")
			levels = levels[:1]
		}
		for k := 1; k < len(levels); k++ {
			indicator := make([]float64, len(codes))
			for i, code := range codes {
				if int(code) == k {
					indicator[i] = 1
				}
			}
			out = append(out, column{name: name + "=" + levels[k], values: indicator})
		}
	}
	l.cache[name] = out
	return out
}

// levelCodes gives the levels of a column of labels, the baseline first, and
// the level of each row used. Labels that the model's levels do not name are
// reported.
func (l *layer) levelCodes(name string) ([]string, []int32) {
	c := l.table.Column(name)
	given, fixed := l.model.Levels[name]
	levels := slices.Clone(given)
	index := map[string]int32{}
	for k, level := range levels {
		index[level] = int32(k)
	}
	seen := make([]bool, len(levels))
	codes := make([]int32, len(l.rows))
	reported := map[string]bool{}
	for k, i := range l.rows {
		label := c.Label(i)
		code, ok := index[label]
		switch {
		case !ok && fixed:
			if !reported[label] {
				remedy := "add it to the levels of " + name + " or correct the row"
				l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(i), Column: name, Value: label,
					Expected: "one of the levels " + strings.Join(given, ", "), Remedy: remedy})
				reported[label] = true
			}
			continue
		case !ok:
			code = int32(len(levels))
			index[label] = code
			levels = append(levels, label)
			seen = append(seen, true)
		}
		seen[code] = true
		codes[k] = code
	}
	for k, level := range levels {
		if !seen[k] && len(reported) == 0 {
			l.problem(name, level, "a level that has rows", fmt.Sprintf("no row of %s says %q: take it out of the levels, or correct its spelling", name, level))
		}
	}
	if len(levels) == 1 {
		l.problem(name, levels[0], "a column with at least two levels", "it is the same in every row used, so that it can explain nothing: take "+name+" out of the model")
	}
	l.used[name] = levels
	return levels, codes
}

// product gives the columns of a term: the products of its columns' features,
// the first column's level varying fastest.
func (l *layer) product(term Term) []column {
	out := []column{{}}
	for _, name := range term {
		var next []column
		for _, f := range l.features(name) {
			for _, so := range out {
				next = append(next, times(so, f))
			}
		}
		out = next
	}
	return out
}

func times(a, b column) column {
	if a.name == "" {
		return b
	}
	out := column{name: a.name + productSign + b.name, values: make([]float64, len(b.values))}
	for i, v := range b.values {
		out.values[i] = v * a.at(i)
	}
	return out
}

// fixedColumns are the columns of the fixed effects, the intercept first.
func (l *layer) fixedColumns(d *design) []column {
	columns := []column{{name: interceptName}}
	for _, term := range l.model.Fixed {
		columns = append(columns, l.product(term)...)
	}
	for _, s := range l.model.Smooth { // each curve's straight line
		if !slices.ContainsFunc(columns, func(c column) bool { return c.name == s.Column }) {
			columns = append(columns, column{name: s.Column, values: l.values(s.Column)})
		}
	}
	for _, c := range columns {
		d.fixed.names = append(d.fixed.names, c.name)
	}
	if d.n <= len(columns) {
		l.problem(l.model.Outcome, count(d.n, "row", "rows"), fmt.Sprintf("more rows than fixed effects (%d)", len(columns)),
			"measure more pages or ask for fewer effects")
	}
	return columns
}

// readFactors gathers the random terms by the columns that name their groups.
func (l *layer) readFactors(d *design) {
	where := map[string]int{}
	for t, r := range l.model.Random {
		key := strings.Join(r.By, "\x00")
		f, known := where[key]
		if !known {
			f = len(d.factors)
			where[key] = f
			g := l.grouped(r.By...)
			d.factors = append(d.factors, factor{by: r.By, groups: g.groups, code: g.code})
		}
		fac := &d.factors[f]
		first := fac.k
		for _, name := range r.Terms {
			for _, c := range l.features(name) {
				if slices.ContainsFunc(fac.z, func(have column) bool { return have.name == c.name }) {
					l.problem("", c.name+" by "+strings.Join(r.By, ", "), "each term once for the same groups", "delete the repetition")
				}
				fac.z = append(fac.z, c)
				fac.k++
			}
		}
		fac.blocks = append(fac.blocks, varying{random: t, first: first, size: fac.k - first, correlated: r.Correlated})
	}
	for f := range d.factors {
		l.checkFactor(d, &d.factors[f])
		for e := range f {
			l.checkTwins(&d.factors[e], &d.factors[f])
		}
	}
	l.readSmooths(d)
	for f := range d.factors {
		d.factors[f].scaleColumns()
	}
}

// scaleColumns brings columns of unlike size to a common one, so that the
// variance parameters are of like size too. The columns are copied. Columns of
// one variance keep their sizes against each other.
func (f *factor) scaleColumns() {
	for k, c := range f.z {
		if c.values == nil {
			f.units = append(f.units, 1)
			continue
		}
		sum := 0.0
		for _, v := range c.values {
			sum += v * v
		}
		unit := math.Sqrt(sum / float64(len(c.values)))
		if unit == 0 {
			unit = 1
		}
		f.units = append(f.units, unit)
		scaled := make([]float64, len(c.values))
		for i, v := range c.values {
			scaled[i] = v / unit
		}
		f.z[k].values = scaled
	}
	if f.spline != nil {
		f.shareUnit()
	}
}

// shareUnit scales all columns by one number instead of each by its own.
func (f *factor) shareUnit() {
	sum := 0.0
	for _, u := range f.units {
		sum += u * u
	}
	unit := math.Sqrt(sum / float64(f.k))
	for k := range f.units {
		for i := range f.z[k].values {
			f.z[k].values[i] *= f.units[k] / unit
		}
		f.units[k] = unit
	}
}

// A grouping is the rows used by the groups that one or several columns name.
type grouping struct {
	groups []string // their labels, in order of first appearance
	code   []int32  // the group of each row used
}

// grouped is the grouping that columns name: of several, each combination of
// their labels that occurs is a group.
func (l *layer) grouped(by ...string) grouping {
	out := l.groupedBy(by[0])
	for _, name := range by[1:] {
		out = out.within(l.groupedBy(name))
	}
	return out
}

// groupedBy is the grouping that one column names.
func (l *layer) groupedBy(name string) grouping {
	if known, ok := l.groupings[name]; ok {
		return known
	}
	levels, codes := l.table.Column(name).Levels()
	out := grouping{code: make([]int32, len(l.rows))}
	number := make([]int32, len(levels)) // of each level's group, from 1; 0 before its first row used
	for k, i := range l.rows {
		at := &number[codes[i]]
		if *at == 0 {
			out.groups = append(out.groups, levels[codes[i]])
			*at = int32(len(out.groups))
		}
		out.code[k] = *at - 1
	}
	l.groupings[name] = out
	return out
}

// within pairs the groups up with those of another grouping. Rows of one group
// mostly follow one another, so that the pair before is tried first.
func (g grouping) within(inner grouping) grouping {
	out := grouping{code: make([]int32, len(g.code))}
	type pair struct{ outer, inner int32 }
	index := map[pair]int32{}
	before, at := pair{-1, -1}, int32(-1)
	for k, outer := range g.code {
		if p := (pair{outer, inner.code[k]}); p != before {
			number, known := index[p]
			if !known {
				number = int32(len(out.groups))
				index[p] = number
				out.groups = append(out.groups, g.groups[p.outer]+" / "+inner.groups[p.inner])
			}
			before, at = p, number
		}
		out.code[k] = at
	}
	return out
}

// checkFactor reports random terms that the table cannot tell.
func (l *layer) checkFactor(d *design, f *factor) {
	by := strings.Join(f.by, " and ")
	q := len(f.groups)
	switch {
	case q == 1:
		l.problem(by, f.groups[0], "at least two groups", "with one group its variance cannot be estimated: take this random term out")
		return
	case q == d.n && l.model.rowsMayBeGroups():
	case q == d.n:
		l.problem(by, fmt.Sprintf("%d groups in %d rows", q, d.n), "groups with several rows",
			"each group has one row, so that its variance cannot be told from the residual's: take this random term out")
		return
	case q*f.k >= d.n && !l.model.rowsMayBeGroups():
		l.problem(by, fmt.Sprintf("%d groups with %d terms each in %d rows", q, f.k, d.n), "more rows than random effects",
			"the terms cannot be told from the residual: take terms out of this random term")
		return
	}
	intercept := slices.ContainsFunc(f.z, func(c column) bool { return c.name == interceptName })
	for _, c := range f.z {
		if c.values == nil || !intercept {
			continue
		}
		if constantWithin(c.values, f.code, q) {
			l.problem(c.name, c.name+" by "+by, "a term that varies inside the groups of "+by,
				"it is the same in all rows of each group, so that it cannot vary between them: take it out of this random term")
		}
	}
}

// checkTwins reports terms that vary between groups which two columns name alike.
func (l *layer) checkTwins(a, b *factor) {
	if !sameGroups(a.code, b.code, len(a.groups), len(b.groups)) {
		return
	}
	one, other := strings.Join(a.by, " and "), strings.Join(b.by, " and ")
	for _, c := range b.z {
		if slices.ContainsFunc(a.z, func(have column) bool { return have.name == c.name }) {
			l.problem(other, c.name+" by "+one+" and by "+other, "random terms that can be told apart",
				one+" and "+other+" name the same groups of rows, so that their variances are one: take one of the two terms out")
		}
	}
}

// sameGroups tells whether two codes of the same rows differ in the numbers of the
// groups alone.
func sameGroups(a, b []int32, groups, others int) bool {
	if groups != others {
		return false
	}
	of := make([]int32, groups)
	for i := range of {
		of[i] = -1
	}
	for i, g := range a {
		if of[g] < 0 {
			of[g] = b[i]
		}
		if of[g] != b[i] {
			return false
		}
	}
	return true
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
		l.problem(l.model.Outcome, fmt.Sprintf("%s for %s and %s", count(d.n, "row", "rows"), count(effects, "fixed effect", "fixed effects"), count(variances, "variance or correlation", "variances and correlations")),
			"more rows than the model has parameters", "measure more pages, or take terms out of the model")
	}
}

// constantWithin tells whether a column has one value in each group.
func constantWithin(values []float64, code []int32, groups int) bool {
	first := make([]float64, groups)
	seen := make([]bool, groups)
	for i, g := range code {
		if !seen[g] {
			seen[g], first[g] = true, values[i]
		} else if values[i] != first[g] {
			return false
		}
	}
	return true
}
