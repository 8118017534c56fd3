package report

import (
	"fmt"
	"math"

	"thumbed/models/readings"
	"thumbed/models/table"
)

// A sheet is one table of the report with the schema that describes it.
type sheet struct {
	name   string // of its files, without extension
	title  string
	schema table.Schema
	table  *table.Table
}

// A sheetMaker builds a sheet from rows of one kind, column and field together
// so that table and schema cannot part.
type sheetMaker[T any] struct {
	name, title string
	rows        []T
	fields      []table.Field
	columns     []*table.Column
}

func newSheet[T any](name, title string, rows []T) *sheetMaker[T] {
	return &sheetMaker[T]{name: name, title: title, rows: rows}
}

// number adds a column of numbers; a value that is not finite is left empty,
// as the schema's missing value.
func (m *sheetMaker[T]) number(name, about string, value func(T) float64) {
	m.numbers(name, about, table.Number, value)
}

// count adds a column of whole numbers.
func (m *sheetMaker[T]) count(name, about string, value func(T) int) {
	m.numbers(name, about, table.Integer, func(row T) float64 { return float64(value(row)) })
}

func (m *sheetMaker[T]) numbers(name, about string, kind table.Kind, value func(T) float64) {
	values := make([]float64, len(m.rows))
	for i, row := range m.rows {
		values[i] = value(row)
		if math.IsInf(values[i], 0) {
			values[i] = math.NaN()
		}
	}
	m.columns = append(m.columns, table.Numbers(name, values))
	m.fields = append(m.fields, table.Field{Name: name, Kind: kind, Description: about})
}

// label adds a column of text.
func (m *sheetMaker[T]) label(name, about string, value func(T) string) {
	m.labels(name, about, table.String, value)
}

// yesNo adds a column of yes and no.
func (m *sheetMaker[T]) yesNo(name, about string, value func(T) bool) {
	m.labels(name, about, table.Boolean, func(row T) string {
		if value(row) {
			return "yes"
		}
		return "no"
	})
}

func (m *sheetMaker[T]) labels(name, about string, kind table.Kind, value func(T) string) {
	values := make([]string, len(m.rows))
	for i, row := range m.rows {
		values[i] = value(row)
	}
	m.columns = append(m.columns, table.Labels(name, values))
	m.fields = append(m.fields, table.Field{Name: name, Kind: kind, Description: about})
}

// sheet ends the making. Columns are made from one list of rows, so that only
// a name used twice could fail, which is a mistake of this package.
func (m *sheetMaker[T]) sheet(key ...string) sheet {
	t, err := table.New(m.columns...)
	if err != nil {
		panic(fmt.Sprintf("report: sheet %s: %v", m.name, err))
	}
	return sheet{name: m.name, title: m.title, table: t, schema: table.Schema{Fields: m.fields, PrimaryKey: key}}
}

// Tables are all tables of the report by file name without extension.
func (r *Results) Tables() map[string]*table.Table {
	out := map[string]*table.Table{}
	for _, s := range r.sheets() {
		out[s.name] = s.table
	}
	return out
}

// Schemas are the schemas of [Results.Tables], by the same names.
func (r *Results) Schemas() map[string]table.Schema {
	out := map[string]table.Schema{}
	for _, s := range r.sheets() {
		out[s.name] = s.schema
	}
	return out
}

// sheets are the report's tables in the order in which they are listed.
func (r *Results) sheets() []sheet {
	all := []sheet{
		r.sentenceSheet(), r.answerSheet(), r.robustSheet(),
		r.wearSheet(), r.sectionSheet(), r.testSheet(), r.standoutSheet(),
		r.officeSheet(), r.changeSheet(), r.levelSheet(),
		r.sharedPlaceSheet(), r.sharedBookSheet(), r.pairSheet(), r.differenceSheet(), r.habitSheet(), r.habitBookSheet(),
		r.modelSheet(), r.fixedSheet(), r.randomSheet(),
		r.precisionSheet(), r.driftSheet(), r.excludedSheet(),
	}
	if len(r.knownRows()) > 0 {
		all = append(all, r.knownSheet())
	}
	if r.Pages != nil {
		all = append(all, sheet{name: "pages", title: "Every page with its features and its wear, the rows that models are fitted to",
			table: r.Pages, schema: readings.JoinedSchema(r.Pages)})
	}
	return all
}
