package table

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// A Kind is a field's type in the Frictionless Table Schema.
type Kind string

// The kinds of field that our tables use.
const (
	String  Kind = "string"
	Number  Kind = "number"
	Integer Kind = "integer"
	Boolean Kind = "boolean" // written yes or no
	Date    Kind = "date"    // ISO 8601, 2026-03-09
	Time    Kind = "time"    // ISO 8601, 14:05 or 14:05:30
)

// A Field describes one column of a table.
type Field struct {
	Name        string   `json:"name"`
	Kind        Kind     `json:"type"`
	Format      string   `json:"format,omitempty"`
	Title       string   `json:"title,omitempty"`
	Description string   `json:"description,omitempty"`
	TrueValues  []string `json:"trueValues,omitempty"`
	FalseValues []string `json:"falseValues,omitempty"`
	Constraints *Limits  `json:"constraints,omitempty"`
}

// Limits are a field's constraints, named as the Table Schema names them.
type Limits struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Enum     []string `json:"enum,omitempty"`
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
}

// A Schema is a Frictionless Table Schema
// (https://specs.frictionlessdata.io/table-schema/, version 1): what a table's
// columns are. Columns that it does not name are the scholar's own and pass.
type Schema struct {
	Fields        []Field  `json:"fields"`
	PrimaryKey    []string `json:"primaryKey,omitempty"`
	MissingValues []string `json:"missingValues"`
	// ForeignKeys are columns whose values stand in another table of the same package.
	ForeignKeys []ForeignKey `json:"foreignKeys,omitempty"`
}

// A ForeignKey is a column whose values are those of a column of another table.
type ForeignKey struct {
	Fields    string    `json:"fields"`
	Reference Reference `json:"reference"`
}

// A Reference is a column of a table by the name of its resource.
type Reference struct {
	Resource string `json:"resource"`
	Fields   string `json:"fields"`
}

// Of is the schema of a table as it stands: the fields of which it has columns.
func (s Schema) Of(t *Table) Schema {
	s.Fields = slices.DeleteFunc(slices.Clone(s.Fields), func(f Field) bool { return t.Column(f.Name) == nil })
	if slices.ContainsFunc(s.PrimaryKey, func(key string) bool { return t.Column(key) == nil }) {
		s.PrimaryKey = nil
	}
	return s
}

// JSON is the schema as the descriptor file beside a table holds it.
func (s Schema) JSON() ([]byte, error) {
	if s.MissingValues == nil {
		s.MissingValues = []string{""}
	}
	fields := slices.Clone(s.Fields)
	for i, f := range fields {
		switch f.Kind {
		case Boolean:
			fields[i].TrueValues, fields[i].FalseValues = []string{"yes"}, []string{"no"}
		case Time:
			fields[i].Format = "any"
		}
	}
	s.Fields = fields
	out, err := json.MarshalIndent(s, "", "  ")
	return append(out, '\n'), err
}

// SchemaPath is where the schema of the table at path stands: beside it, the
// extension .csv replaced by .schema.json.
func SchemaPath(path string) string {
	return strings.TrimSuffix(path, ".csv") + ".schema.json"
}

// Check reports every cell of t that is not as the schema says, every required
// column that is missing, and every repeated key. It tells whether the table
// has all required columns, without which its rows cannot be understood.
func (s Schema) Check(t *Table, ps *Problems) bool {
	complete := true
	for _, f := range s.Fields {
		c := t.Column(f.Name)
		if c == nil {
			if f.required() {
				ps.Add(Problem{File: t.File, Line: 1, Column: f.Name, Value: strings.Join(t.Names(), ","),
					Expected: "a column " + f.Name, Remedy: f.columnRemedy(t)})
				complete = false
			}
			continue
		}
		f.check(t, c, ps)
	}
	if complete {
		s.checkKey(t, ps)
	}
	return complete
}

// columnRemedy tells how to give the table the field's column.
func (f Field) columnRemedy(t *Table) string {
	if near := Nearest(f.Name, t.Names()); near != "" && strings.EqualFold(near, f.Name) {
		return fmt.Sprintf("rename the column “%s” to %s", near, f.Name)
	} else if near != "" {
		return fmt.Sprintf("add it: %s; or rename the column “%s”, if that is it", f.Description, near)
	}
	return "add it: " + f.Description
}

func (f Field) required() bool { return f.Constraints != nil && f.Constraints.Required }

func (f Field) check(t *Table, c *Column, ps *Problems) {
	faults := f.faultsByRow(c)
	for i := range t.Rows() {
		for _, p := range faults(i) {
			p.File, p.Line = t.File, t.Line(i)
			ps.Add(p)
		}
	}
	if f.Constraints == nil || !f.Constraints.Unique {
		return
	}
	for _, again := range repeats(c) {
		if !c.Missing(again.row) {
			ps.Add(Problem{File: t.File, Line: t.Line(again.row), Column: f.Name, Value: c.Label(again.row),
				Expected: fmt.Sprintf("each value once (it stands already in line %d)", t.Line(again.first)),
				Remedy:   "delete or rename one of the two"})
		}
	}
}

// faultsByRow finds the faults of the cells of a column, and looks at a cell
// that recurs only once where it is kept once.
func (f Field) faultsByRow(c *Column) func(row int) []Problem {
	coded, ok := c.cells.(*coded)
	if !ok || len(coded.levels) > c.Len() {
		return func(row int) []Problem { return f.faults(c.Label(row)) }
	}
	faults := make([][]Problem, len(coded.levels))
	for k, level := range coded.levels {
		faults[k] = f.faults(level)
	}
	return func(row int) []Problem { return faults[coded.codes.at(row)] }
}

// faults are what is wrong with a cell, wherever it stands.
func (f Field) faults(cell string) []Problem {
	at := Problem{Column: f.Name, Value: cell}
	form, formed := forms[f.Kind]
	switch {
	case cell == "" && f.required():
		at.Expected, at.Remedy = "a value in every row", "give it: "+f.Description
	case cell == "":
		return nil
	case f.Kind == Number && !isNumber(cell):
		at = NumberProblem("", 0, f.Name, cell)
	case formed && !form.is(cell):
		at.Expected, at.Remedy = form.expected, form.advise(cell)
	case f.Constraints == nil:
		return nil
	default:
		return f.Constraints.faults(at)
	}
	return []Problem{at}
}

func (l *Limits) faults(at Problem) (faults []Problem) {
	if l.Enum != nil && !slices.Contains(l.Enum, at.Value) {
		at.Expected, at.Remedy = "one of "+strings.Join(l.Enum, ", "), "write one of these"
		if near := Nearest(at.Value, l.Enum); near != "" {
			at.Remedy = "write " + near
		}
		faults = append(faults, at)
	}
	v, ok := parseNumber(at.Value)
	if ok && l.Minimum != nil && v < *l.Minimum {
		at.Expected, at.Remedy = fmt.Sprintf("at least %g", *l.Minimum), "check the entry against your notes"
		faults = append(faults, at)
	}
	if ok && l.Maximum != nil && v > *l.Maximum {
		at.Expected, at.Remedy = fmt.Sprintf("at most %g", *l.Maximum), "check the entry against your notes"
		faults = append(faults, at)
	}
	return faults
}

// checkKey reports rows whose key stands in a row before.
func (s Schema) checkKey(t *Table, ps *Problems) {
	if len(s.PrimaryKey) == 0 {
		return
	}
	columns := make([]*Column, len(s.PrimaryKey))
	for k, name := range s.PrimaryKey {
		if columns[k] = t.Column(name); columns[k] == nil {
			return
		}
	}
	cells := make([]string, len(columns))
	for _, again := range repeats(columns...) {
		for k, c := range columns {
			cells[k] = c.Label(again.row)
		}
		ps.Add(Problem{File: t.File, Line: t.Line(again.row), Column: strings.Join(s.PrimaryKey, " and "),
			Value:    strings.Join(cells, " "),
			Expected: fmt.Sprintf("each row once (line %d says it already)", t.Line(again.first)),
			Remedy:   "delete one of the two rows or correct its label"})
	}
}
