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
	form, formed := forms[f.Kind]
	seen := map[string]int{}
	for i := range t.Rows() {
		cell := c.Label(i)
		at := Problem{File: t.File, Line: t.Line(i), Column: f.Name, Value: cell}
		switch {
		case cell == "":
			if f.required() {
				at.Expected, at.Remedy = "a value in every row", "give it: "+f.Description
				ps.Add(at)
			}
			continue
		case f.Kind == Number && c.Numbers == nil && !isNumber(cell):
			ps.Add(NumberProblem(t.File, t.Line(i), f.Name, cell))
			continue
		case formed && !form.is(cell):
			at.Expected, at.Remedy = form.expected, form.advise(cell)
			ps.Add(at)
			continue
		}
		if f.Constraints != nil {
			f.Constraints.check(at, c, i, seen, ps)
		}
	}
}

func (l *Limits) check(at Problem, c *Column, row int, seen map[string]int, ps *Problems) {
	if l.Enum != nil && !slices.Contains(l.Enum, at.Value) {
		at.Expected, at.Remedy = "one of "+strings.Join(l.Enum, ", "), "write one of these"
		if near := Nearest(at.Value, l.Enum); near != "" {
			at.Remedy = "write " + near
		}
		ps.Add(at)
	}
	if l.Unique {
		if line, again := seen[at.Value]; again {
			at.Expected = fmt.Sprintf("each value once (it stands already in line %d)", line)
			at.Remedy = "delete or rename one of the two"
			ps.Add(at)
		} else {
			seen[at.Value] = at.Line
		}
	}
	if l.Minimum == nil && l.Maximum == nil {
		return
	}
	v := c.Number(row)
	if l.Minimum != nil && v < *l.Minimum {
		at.Expected, at.Remedy = fmt.Sprintf("at least %g", *l.Minimum), "check the entry against your notes"
		ps.Add(at)
	}
	if l.Maximum != nil && v > *l.Maximum {
		at.Expected, at.Remedy = fmt.Sprintf("at most %g", *l.Maximum), "check the entry against your notes"
		ps.Add(at)
	}
}

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
	seen := map[string]int{}
	cells := make([]string, len(columns))
	for i := range t.Rows() {
		for k, c := range columns {
			cells[k] = c.Label(i)
		}
		key := strings.Join(cells, "\x00")
		if line, again := seen[key]; again {
			ps.Add(Problem{File: t.File, Line: t.Line(i), Column: strings.Join(s.PrimaryKey, " and "),
				Value:    strings.Join(cells, " "),
				Expected: fmt.Sprintf("each row once (line %d says it already)", line),
				Remedy:   "delete one of the two rows or correct its label"})
			continue
		}
		seen[key] = t.Line(i)
	}
}
