package mixed

import (
	"encoding/binary"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/table"
)

// A Layout is a model laid over a table as far as models of every kind of outcome
// have it: which rows are used, the columns of the fixed effects, the groups of the
// random terms. It is for engines of outcomes that are no measures.
type Layout struct {
	Model   Model
	Rows    []int    // the table's rows that are used
	Fixed   []Column // the intercept first
	Zero    []Column // of the zero inflation, the intercept first; nil where there is none
	Factors []Factor
	Notes   []string
	Levels  map[string][]string // of every column of labels used as such
	// Differs tells of each column of Fixed whether its effect may differ by
	// threshold.
	Differs []bool

	// The outcome: codes of its levels, or numbers.
	OutcomeLevels []string
	Codes         []int32
	Outcome       []float64
	Trials        []float64 // nil where each row is one
	Exposure      []float64 // nil where there is none

	table *table.Table
	d     *design
}

// A Column is one column of a model matrix; Values nil stands for ones.
type Column struct {
	Name   string
	Values []float64
}

// A Factor is one way of naming groups, with everything that varies between them.
type Factor struct {
	By     []string
	Groups []string
	Code   []int32 // the group of each row used
	Z      []Column
	Units  []float64 // that the columns were divided by
	Blocks []Varying
}

// At is the factor with some rows alone, in the order in which they are named.
func (f Factor) At(rows []int32) Factor {
	out := f
	out.Code = make([]int32, len(rows))
	for i, at := range rows {
		out.Code[i] = f.Code[at]
	}
	out.Z = make([]Column, len(f.Z))
	for c, from := range f.Z {
		out.Z[c].Name = from.Name
		if from.Values == nil {
			continue
		}
		out.Z[c].Values = make([]float64, len(rows))
		for i, at := range rows {
			out.Z[c].Values[i] = from.Values[at]
		}
	}
	return out
}

// Varying is one random term inside a factor: its columns, and whether they may be
// correlated.
type Varying struct {
	Random      int // the model's random term
	First, Size int
	Correlated  bool
}

// otherPart is what a design holds of an outcome that is no measure.
type otherPart struct {
	columns, zero []column
	differs       []bool
	levels        []string
	codes         []int32
	trials        []float64
	exposure      []float64
}

// LayOut lays a model of an outcome that is no measure over a table. Its error is a
// [*table.Fault] with everything that is wrong with the model for this table.
func (m Model) LayOut(t *table.Table) (*Layout, error) {
	d, err := newDesign(m, t)
	if err != nil {
		return nil, err
	}
	o := d.other
	out := &Layout{Model: d.model, Rows: d.rows, Fixed: exported(o.columns), Zero: exported(o.zero), Notes: d.notes, Levels: d.levels,
		Differs: o.differs, OutcomeLevels: o.levels, Codes: o.codes, Outcome: d.outcome, Trials: o.trials, Exposure: o.exposure, table: t, d: d}
	for _, f := range d.factors {
		to := Factor{By: f.by, Groups: f.groups, Code: f.code, Z: exported(f.z), Units: f.units}
		for _, b := range f.blocks {
			to.Blocks = append(to.Blocks, Varying{Random: b.random, First: b.first, Size: b.size, Correlated: b.correlated})
		}
		out.Factors = append(out.Factors, to)
	}
	return out, nil
}

func exported(columns []column) []Column {
	var out []Column
	for _, c := range columns {
		out = append(out, Column{Name: c.name, Values: c.values})
	}
	return out
}

// File is the table's.
func (l *Layout) File() string { return l.table.File }

// Problem is a problem at a used row of the table, or of a column as a whole where
// row is below zero.
func (l *Layout) Problem(row int, column, value, expected, remedy string) table.Problem {
	p := table.Problem{File: l.table.File, Column: column, Value: value, Expected: expected, Remedy: remedy}
	if row >= 0 {
		p.Line = l.table.Line(l.Rows[row])
	}
	return p
}

// neededByKind adds the columns that the kind of outcome needs.
func (m Model) neededByKind(add func(name, role string)) {
	terms := slices.Concat(m.ByThreshold, m.ZeroInflation)
	for _, term := range terms {
		for _, name := range term {
			add(name, "fixed")
		}
	}
	add(m.Trials, "number")
	add(m.Exposure, "number")
	if m.IsMeasure() || m.Kind == Counts || m.Trials != "" {
		add(m.Outcome, "number")
		return
	}
	add(m.Outcome, "label")
}

// rowsMayBeGroups tells whether a random term may have a group for each row: the
// spread of such outcomes is known, so that what exceeds it can be told.
func (m Model) rowsMayBeGroups() bool { return m.Kind == Counts || m.Trials != "" }

// readOtherRows reads the rows chosen where the outcome is no measure.
func (l *layer) readOtherRows(d *design) {
	d.other = &otherPart{}
	l.readOtherOutcome(d)
	for _, term := range l.model.ByThreshold {
		if !slices.ContainsFunc(l.model.Fixed, func(t Term) bool { return slices.Equal(t, term) }) {
			l.model.Fixed = append(slices.Clone(l.model.Fixed), term)
		}
	}
	d.model.Fixed = l.model.Fixed
	o := d.other
	o.columns = l.fixedColumns(d)
	o.differs = []bool{false}
	for _, term := range l.model.Fixed {
		differs := slices.ContainsFunc(l.model.ByThreshold, func(t Term) bool { return slices.Equal(t, term) })
		for range l.product(term) {
			o.differs = append(o.differs, differs)
		}
	}
	if !l.model.ZeroInflation.IsZero() {
		o.zero = []column{{name: interceptName}}
		for _, term := range l.model.ZeroInflation {
			o.zero = append(o.zero, l.product(term)...)
		}
	}
	sound := l.ps.Len() == 0
	l.readFactors(d)
	if sound {
		l.checkColumnsApart(d.n, o.columns)
		l.checkColumnsApart(d.n, o.zero)
	}
}

// labelsSeen are the first few labels of a column, and whether it has numbers with
// decimals.
func (l *layer) labelsSeen(name string) (seen []string, measured bool) {
	const most = 6
	for _, i := range l.rows {
		label := l.table.Column(name).Label(i)
		if v, err := strconv.ParseFloat(label, 64); err == nil && v != math.Trunc(v) {
			measured = true
		}
		if !slices.Contains(seen, label) && len(seen) <= most {
			seen = append(seen, label)
		}
	}
	if len(seen) > most {
		seen[most] = "…"
	}
	return seen, measured
}

// readOtherOutcome reads an outcome that is no measure, as codes of its levels or
// as numbers.
func (l *layer) readOtherOutcome(d *design) {
	m := l.model
	o := d.other
	if m.Trials != "" {
		o.trials = l.values(m.Trials)
	}
	if m.Exposure != "" {
		o.exposure = l.values(m.Exposure)
	}
	if m.Kind == Counts || m.Trials != "" {
		d.outcome = l.values(m.Outcome)
		return
	}
	if _, given := m.Levels[m.Outcome]; !given {
		seen, measured := l.labelsSeen(m.Outcome)
		remedy := "write below [levels] " + m.Outcome + ` = ["…", "…"], the lowest first`
		if measured {
			remedy = m.Outcome + ` holds numbers with decimals: take kind = "measure"`
		}
		l.problem(m.Outcome, strings.Join(seen, ", "), "its levels in rising order, since kind is "+`"`+m.Kind+`"`, remedy)
		return
	}
	o.levels, o.codes = l.levelCodes(m.Outcome)
}

// checkColumnsApart reports columns that others determine.
func (l *layer) checkColumnsApart(n int, columns []column) {
	p := len(columns)
	if p == 0 {
		return
	}
	names := make([]string, p)
	// equal rows weigh once: the triangle of distinct rows has the same rank
	x := make([]float64, 0, 1024*p)
	seen := map[string]bool{}
	row := make([]float64, p)
	key := make([]byte, 8*p)
	for i := range n {
		for j, c := range columns {
			row[j] = c.at(i)
		}
		putFloats(key, row)
		if !seen[string(key)] {
			seen[string(key)] = true
			x = append(x, row...)
		}
	}
	for j, c := range columns {
		names[j] = c.name
	}
	l.checkRank(names, triangle(x, make([]float64, len(x)/p), len(x)/p, p), p)
}

// putFloats writes numbers as bytes, for keys of maps; −0 counts as 0.
func putFloats(out []byte, values []float64) {
	for j, v := range values {
		binary.LittleEndian.PutUint64(out[8*j:], math.Float64bits(v+0))
	}
}

// Fixed effects and random terms of places other than the rows used are encoded from
// features: the numbers that stand for a column, as a row of the table gives them or
// as a caller puts them in their place.

// Features gives the features of a used row, with those of some columns replaced by
// labels or numbers written out.
func (l *Layout) Features(row int, instead map[string]string) func(column string) []float64 {
	of := l.d.rowFeatures(l.table, l.Rows[row])
	return func(column string) []float64 {
		value, replaced := instead[column]
		if !replaced {
			return of(column)
		}
		if levels, label := l.Levels[column]; label {
			return indicators(levels, value)
		}
		v, err := parseNumber(value)
		if err != nil {
			v = math.NaN()
		}
		return []float64{v}
	}
}

// FixedRow is a row of Fixed for features.
func (l *Layout) FixedRow(of func(column string) []float64) []float64 { return l.d.fixedRowOf(of) }

// ZeroRow is a row of Zero for features.
func (l *Layout) ZeroRow(of func(column string) []float64) []float64 {
	row := []float64{1}
	for _, term := range l.Model.ZeroInflation {
		row = append(row, productOf(term, of)...)
	}
	return row
}

// RandomRow is a row of a factor's columns for features, each in its unit.
func (l *Layout) RandomRow(factor int, of func(column string) []float64) []float64 {
	return l.d.randomRowOf(factor, of)
}

// Unread are the rows of the table, from 0, that have no outcome and all that a
// prediction needs; it fails where there is none.
func (l *Layout) Unread() ([]int, error) { return l.d.unread(l.table) }

// ColumnsOf is the number of columns that a fixed term has.
func (l *Layout) ColumnsOf(term Term) int { return l.d.columnsOf(term) }

// Combinations are all combinations of some columns' levels, the first column's
// varying slowest.
func (l *Layout) Combinations(columns []string) [][]string { return l.d.combinations(columns) }

// RowFeatures gives the features of any row of the table.
func (l *Layout) RowFeatures(row int) func(column string) []float64 {
	return l.d.rowFeatures(l.table, row)
}

// GroupsOf are the groups of any row of the table by factor, −1 where the fit does not
// know it.
func (l *Layout) GroupsOf(row int) []int {
	out := make([]int, len(l.d.factors))
	for k := range out {
		fac := &l.d.factors[k]
		out[k] = fac.groupOf(l.table, row, fac.groupIndex())
	}
	return out
}
