package table_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/table"
)

func bound(v float64) *float64 { return &v }

// plan is an invented table of measuring days.
var plan = table.Schema{
	PrimaryKey: []string{"book", "day"},
	Fields: []table.Field{
		{Name: "book", Kind: table.String, Description: "the book", Constraints: &table.Limits{Required: true}},
		{Name: "day", Kind: table.Date, Description: "the measuring day", Constraints: &table.Limits{Required: true}},
		{Name: "start", Kind: table.Time, Description: "when it began"},
		{Name: "pages", Kind: table.Integer, Description: "pages to measure", Constraints: &table.Limits{Minimum: bound(1), Maximum: bound(400)}},
		{Name: "floor", Kind: table.Number, Description: "lowest density"},
		{Name: "dark", Kind: table.Boolean, Description: "whether the room was darkened"},
		{Name: "mode", Kind: table.String, Description: "how", Constraints: &table.Limits{Enum: []string{"fixed", "darkest"}}},
		{Name: "sheet", Kind: table.String, Description: "the record sheet", Constraints: &table.Limits{Unique: true}},
	},
}

func check(text string) (complete bool, problems string) {
	var ps table.Problems
	t := table.Read("plan.csv", []byte(text), &ps)
	complete = plan.Check(t, &ps)
	if err := ps.Err(); err != nil {
		problems = err.Error()
	}
	return complete, problems
}

func TestSchemaSound(t *testing.T) {
	for _, text := range []string{
		"book,day\nhazel,2026-03-09\n",
		"book,day\n",
		"day,book,own\n2024-02-29,hazel,anything\n2026-03-09,hazel,0\n",
		"book,day,start,pages,floor,dark,mode,sheet\nhazel,2026-03-09,14:05,12,0.01,yes,fixed,a\nhazel,2026-03-10,23:59:59,,,,,\nhazel,2026-03-11,00:00,400,1e-2,no,darkest,b\n",
	} {
		if complete, problems := check(text); !complete || problems != "" {
			t.Errorf("%q: complete %v, %s", text, complete, problems)
		}
	}
}

// One cell at a time is wrong; the message is told whole, but for the place.
func TestSchemaCells(t *testing.T) {
	for _, test := range []struct{ column, cell, want string }{
		{"book", "", `found nothing; expected a value in every row; give it: the book.`},
		{"day", "9.3.2026", `found "9.3.2026"; expected a date such as 2026-03-09; write 2026-03-09, if the day stands first.`},
		{"day", "31/12/2026", `found "31/12/2026"; expected a date such as 2026-03-09; write 2026-12-31, if the day stands first.`},
		{"day", "2026-3-9", `found "2026-3-9"; expected a date such as 2026-03-09; write 2026-03-09.`},
		{"day", "2026-02-30", `found "2026-02-30"; expected a date such as 2026-03-09; write year-month-day (ISO 8601).`},
		{"day", "2026-02-29", `found "2026-02-29"; expected a date such as 2026-03-09; write year-month-day (ISO 8601).`},
		{"day", "9 March", `found "9 March"; expected a date such as 2026-03-09; write year-month-day (ISO 8601).`},
		{"day", "46090", `found "46090"; expected a date such as 2026-03-09; write year-month-day (ISO 8601).`},
		{"start", "9:05", `found "9:05"; expected a time of day such as 14:05; write 09:05.`},
		{"start", "14.05", `found "14.05"; expected a time of day such as 14:05; write 14:05.`},
		{"start", "2:05 PM", `found "2:05 PM"; expected a time of day such as 14:05; write 14:05.`},
		{"start", "24:00", `found "24:00"; expected a time of day such as 14:05; write hours:minutes on the 24-hour clock.`},
		{"start", "12:60", `found "12:60"; expected a time of day such as 14:05; write hours:minutes on the 24-hour clock.`},
		{"start", "12:30:61", `found "12:30:61"; expected a time of day such as 14:05; write hours:minutes on the 24-hour clock.`},
		{"start", "12-30", `found "12-30"; expected a time of day such as 14:05; write hours:minutes on the 24-hour clock.`},
		{"pages", "12.5", `found "12.5"; expected a whole number; write digits only.`},
		{"pages", "twelve", `found "twelve"; expected a whole number; write digits only.`},
		{"pages", "0", `found "0"; expected at least 1; check the entry against your notes.`},
		{"pages", "401", `found "401"; expected at most 400; check the entry against your notes.`},
		{"floor", "0,01", `found "0,01"; expected a number with a decimal point; write 0.01.`},
		{"floor", "NaN", `found "NaN"; expected a number with a decimal point; leave the cell empty where there is no value.`},
		{"dark", "Yes", `found "Yes"; expected yes or no; write yes.`},
		{"dark", "FALSE", `found "FALSE"; expected yes or no; write no.`},
		{"dark", "half", `found "half"; expected yes or no; write yes or no, or leave the cell empty.`},
		{"mode", "Fixed", `found "Fixed"; expected one of fixed, darkest; write fixed.`},
		{"mode", "darkes", `found "darkes"; expected one of fixed, darkest; write darkest.`},
		{"mode", "any", `found "any"; expected one of fixed, darkest; write one of these.`},
		{"sheet", "a", `found "a"; expected each value once (it stands already in line 2); delete or rename one of the two.`},
	} {
		t.Run(test.column+" "+test.cell, func(t *testing.T) {
			sound := map[string]string{"book": "hazel", "day": "2026-03-10", "start": "", "pages": "", "floor": "", "dark": "", "mode": "", "sheet": ""}
			sound[test.column] = test.cell
			var names, row []string
			for _, f := range plan.Fields {
				names = append(names, f.Name)
				row = append(row, `"`+sound[f.Name]+`"`)
			}
			complete, problems := check(strings.Join(names, ",") + "\nhazel,2026-03-09,10:00,1,0,yes,fixed,a\n" + strings.Join(row, ",") + "\n")
			if want := "plan.csv, line 3, column " + test.column + ": " + test.want; !complete || problems != want {
				t.Error(cmp.Diff(want, problems))
			}
		})
	}
}

func TestSchemaColumns(t *testing.T) {
	for text, want := range map[string]string{
		"Book,day\nhazel,2026-03-09\n":   `plan.csv, line 1, column book: found "Book,day"; expected a column book; rename the column “Book” to book.`,
		"book,date\nhazel,2026-03-09\n":  `plan.csv, line 1, column day: found "book,date"; expected a column day; add it: the measuring day.`,
		"book,days\nhazel,2026-03-09\n":  `plan.csv, line 1, column day: found "book,days"; expected a column day; add it: the measuring day; or rename the column “days”, if that is it.`,
		"shelf,floor\nhazel,2026-03-0\n": "plan.csv, line 1, column book: found \"shelf,floor\"; expected a column book; add it: the book.\nplan.csv, line 1, column day: found \"shelf,floor\"; expected a column day; add it: the measuring day.\nplan.csv, line 2, column floor: found \"2026-03-0\"; expected a number with a decimal point; write the number alone, or leave the cell empty where there is none.",
	} {
		if complete, problems := check(text); complete || problems != want {
			t.Error(cmp.Diff(want, problems))
		}
	}
}

func TestSchemaKey(t *testing.T) {
	_, problems := check("book,day\nhazel,2026-03-09\nrowan,2026-03-09\nhazel,2026-03-09\nhazel,2026-03-09\n")
	want := `plan.csv, line 4, column book and day: found "hazel 2026-03-09"; expected each row once (line 2 says it already); delete one of the two rows or correct its label.
plan.csv, line 5, column book and day: found "hazel 2026-03-09"; expected each row once (line 2 says it already); delete one of the two rows or correct its label.`
	if diff := cmp.Diff(want, problems); diff != "" {
		t.Error(diff)
	}
}

// The descriptor is as the Table Schema specification, version 1, has it:
// fields with name and type; trueValues and falseValues on booleans; format
// "any" on times written with and without seconds; missingValues as a list of
// strings; constraints by their names.
func TestSchemaJSON(t *testing.T) {
	out, err := plan.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	fields := got["fields"].([]any)
	for i, want := range []map[string]any{
		{"name": "book", "type": "string", "description": "the book", "constraints": map[string]any{"required": true}},
		{"name": "day", "type": "date", "description": "the measuring day", "constraints": map[string]any{"required": true}},
		{"name": "start", "type": "time", "format": "any", "description": "when it began"},
		{"name": "pages", "type": "integer", "description": "pages to measure", "constraints": map[string]any{"minimum": 1.0, "maximum": 400.0}},
		{"name": "floor", "type": "number", "description": "lowest density"},
		{"name": "dark", "type": "boolean", "description": "whether the room was darkened", "trueValues": []any{"yes"}, "falseValues": []any{"no"}},
		{"name": "mode", "type": "string", "description": "how", "constraints": map[string]any{"enum": []any{"fixed", "darkest"}}},
		{"name": "sheet", "type": "string", "description": "the record sheet", "constraints": map[string]any{"unique": true}},
	} {
		if diff := cmp.Diff(want, fields[i]); diff != "" {
			t.Errorf("field %d: %s", i, diff)
		}
	}
	if diff := cmp.Diff([]any{""}, got["missingValues"]); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]any{"book", "day"}, got["primaryKey"]); diff != "" {
		t.Error(diff)
	}
	if plan.Fields[5].TrueValues != nil {
		t.Error("writing the schema changed it")
	}
}

func TestSchemaPath(t *testing.T) {
	if got := table.SchemaPath("tables/readings-2026.csv"); got != "tables/readings-2026.schema.json" {
		t.Error(got)
	}
}
